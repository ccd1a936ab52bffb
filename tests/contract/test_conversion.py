"""Every pair of the conversion table against pint, and the spellings against what the API promises."""

import json

import pint
import pytest
from conversion_from_pint import EXPRESSIONS, INTERNATIONAL_TABLE_BTU, KINDS, TARGET, table

from coldwright.contract.quantities import type_of_kind

PAIRS = [
    (kind, one, other)
    for kind, (_, _, _, spellings) in KINDS.items()
    if kind != "sound_level"  # both spellings are the same number
    for one in spellings.split()
    for other in spellings.split()
]


@pytest.fixture(scope="module")
def units() -> "pint.UnitRegistry[float]":
    return pint.UnitRegistry()


def test_the_committed_table_is_what_pint_makes() -> None:
    assert json.loads(TARGET.read_text("utf-8")) == json.loads(json.dumps(table()))


@pytest.mark.parametrize(("kind", "one", "other"), PAIRS)
def test_pair_against_pint(units: "pint.UnitRegistry[float]", kind: str, one: str, other: str) -> None:
    quantity = type_of_kind[kind].of(17.25, one)
    there = EXPRESSIONS.get(other, other)
    if kind == "temperature":
        expected = units.Quantity(17.25, EXPRESSIONS.get(one, one)).to(there).magnitude
    else:
        expected = (17.25 * units.parse_expression(EXPRESSIONS.get(one, one))).to(
            units.parse_expression(there).units
        ).magnitude / units.parse_expression(there).magnitude
    assert quantity.to(other) == pytest.approx(expected, rel=1e-12)


@pytest.mark.check
@pytest.mark.parametrize(
    ("kind", "unit", "si", "source"),
    [
        (
            "power",
            "hp",
            745.69987158227,
            "NIST SP 811:2008, Table B.8, horsepower (550 ft.lbf/s): 7.456999 E+02 W; from memory",
        ),
        ("length", "ft", 0.3048, "NIST SP 811:2008, Table B.8, foot; from memory"),
        ("volume", "gal", 3.785411784e-3, "NIST SP 811:2008, Table B.8, gallon (U.S.); from memory"),
        ("mass", "lb", 0.45359237, "NIST SP 811:2008, Table B.8, pound; from memory"),
        (
            "pressure_difference",
            "ft_water",
            2989.067,
            "NIST SP 811:2008, Table B.8, foot of water, conventional; from memory",
        ),
        ("power", "ton", 3516.853, "NIST SP 811:2008, Table B.8, ton of refrigeration (12 000 Btu_IT/h); from memory"),
    ],
)
def test_factor_against_published(kind: str, unit: str, si: float, source: str) -> None:
    assert type_of_kind[kind].of(1.0, unit).si == pytest.approx(si, rel=1e-6), source


def test_a_ton_rests_on_the_international_table_btu() -> None:
    assert "1055.05585262" in INTERNATIONAL_TABLE_BTU
    assert type_of_kind["power"].of(1, "ton").to("Btu/h") == pytest.approx(12_000, rel=1e-14)


def test_kinds_and_table_name_each_other() -> None:
    assert set(type_of_kind) == set(KINDS)
    for kind, (si, metric, us, spellings) in KINDS.items():
        quantity = type_of_kind[kind]
        assert (quantity.si_unit, quantity.metric_unit, quantity.us_unit) == (si, metric, us)
        assert list(quantity.units) == spellings.split()
