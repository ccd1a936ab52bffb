"""Tables held against each other, against physics, and against a second publication."""

import math
from typing import Any

import pytest

from coldwright.contract import load_table
from coldwright_basis.ratings import rating_at_least, rating_at_most
from coldwright_electrical.feeder.ampacity import (
    PORTABLE_SIZES,
    THREE_CONDUCTOR,
    ambient_factor,
    portable_ampacity,
    raceway_ampacity,
    rubber_ambient_factor,
)
from coldwright_electrical.service.safety_switches import frame_at_least
from coldwright_electrical.shared.impedance import METRIC_SIZES, resistance_at, table_impedance
from coldwright_electrical.shared.protection import disconnection_time, protective_conductor
from coldwright_electrical.shared.sizes import cross_section

pytestmark = pytest.mark.check

PER_KFT = 304.8


def rows(name: str) -> Any:
    return load_table("coldwright_electrical", name).rows


@pytest.mark.parametrize("column", [60, 75, 90])
def test_ambient_factors_follow_the_law_of_heating(column: int) -> None:
    """Table 310.15(B)(1) of an adopted code (seen) is sqrt((Tc - Ta)/(Tc - 30)) at the upper end of each band."""
    for band in rows("ambient_factors"):
        if str(column) in band:
            law = math.sqrt((column - band["up_to"]) / (column - 30))
            assert ambient_factor(band["up_to"], column) == pytest.approx(law, abs=0.0051)


def test_rubber_factors_agree_with_the_60_degree_column() -> None:
    """DIN VDE 0298-4 Table 17 (from memory) and NEC 310.15(B)(1), 60 degC (seen): 0.91 0.82 0.71 0.58 0.41."""
    for ambient, factor in ((35, 0.913), (40, 0.816), (45, 0.707), (50, 0.577), (55, 0.408)):
        assert rubber_ambient_factor(ambient) == pytest.approx(factor, abs=0.0005)
        assert ambient_factor(ambient, 60) == pytest.approx(factor, abs=0.005)


def test_portable_cable_against_the_mine_rule() -> None:
    """30 CFR 18 Appendix I Table 1 (seen): 4/0 AWG, 60 degC, 40 degC ambient: 235 A single, 180 A three-conductor."""
    for conductors, mine in ((0, 235), (THREE_CONDUCTOR, 180)):
        ampacity = portable_ampacity("4/0 AWG", 60, conductors)
        factor = ambient_factor(40, 60)
        assert ampacity is not None
        assert factor is not None
        assert mine <= ampacity * factor <= 1.07 * mine


def test_portable_cable_falls_with_class_and_number_of_conductors() -> None:
    for size in PORTABLE_SIZES:
        for column in (60, 75, 90):
            every = [portable_ampacity(size, column, n) for n in range(3)]
            cells = [c for c in every if c is not None]
            if len(cells) == len(every):
                assert cells == sorted(cells, reverse=True)
        classes = [portable_ampacity(size, column, 0) for column in (60, 75, 90)]
        seen = [c for c in classes if c is not None]
        assert seen == sorted(seen)


def test_raceway_ampacity_rises_with_size_and_class() -> None:
    sizes = [row[0] for row in rows("ampacity_in_raceway")]
    areas = [cross_section(size) for size in sizes]
    assert areas == sorted(areas)
    for column in (60, 75, 90):
        series = [raceway_ampacity(size, column) for size in sizes]
        assert series == sorted(series, key=lambda a: a or 0)


@pytest.mark.parametrize(("size", "circular_mils"), [("14 AWG", 4110), ("1/0 AWG", 105600), ("4/0 AWG", 211600)])
def test_cross_sections(size: str, circular_mils: float) -> None:
    """NEC Chapter 9 Table 8, from memory; the law of the gauge is that of ASTM B258."""
    assert cross_section(size) == pytest.approx(circular_mils * 5.067e-4, rel=0.002)


def test_alternating_and_direct_resistance_agree() -> None:
    """Chapter 9 Tables 9 (seen) and 8 (as reproduced): ac is dc and a little more, within the printed two digits."""
    for size, dc in rows("dc_resistance"):
        row = table_impedance(size)
        if row is not None:
            assert row.resistance * PER_KFT == pytest.approx(dc, rel=0.045)


def test_direct_resistance_is_that_of_copper() -> None:
    """17.241 nohm m at 20 degC by the IACS, with 2 % for stranding, at 75 degC by 0.00393: 20.97 to 21.4 nohm m."""
    for size, dc in rows("dc_resistance"):
        resistivity = dc / PER_KFT * cross_section(size) * 1e-6
        assert 20.7e-9 <= resistivity <= 21.5e-9, size


def test_flexible_copper_is_that_of_copper() -> None:
    """IEC 60228 class 5 (seen in two reproductions): 18.5 to 19.7 nohm m, with lay and fine wires."""
    for size in METRIC_SIZES:
        row = table_impedance(size)
        assert row is not None
        assert 18.5e-9 <= row.resistance * cross_section(size) * 1e-6 <= 19.7e-9, size


def test_full_load_currents_scale_with_voltage() -> None:
    """Table 430.250 (2008, seen): half the current at twice the voltage; 208 V 10 % above 230 V."""
    for horsepower, at_208, at_230, at_460, at_575 in rows("motor_full_load_current"):
        assert at_460 == pytest.approx(at_230 / 2, rel=0.03), horsepower
        assert at_208 == pytest.approx(at_230 * 1.1, rel=0.03), horsepower
        assert at_575 == pytest.approx(at_230 * 0.4, rel=0.04), horsepower


@pytest.mark.parametrize(
    ("line", "size"),
    [(10, "10 mm2"), (16, "16 mm2"), (25, "16 mm2"), (35, "16 mm2"), (50, "25 mm2"), (120, "70 mm2"), (300, "150 mm2")],
)
def test_protective_conductors(line: int, size: str) -> None:
    """IEC 60364-5-54 Table 54.2, as reproduced."""
    assert protective_conductor(f"{line} mm2") == size


@pytest.mark.parametrize(
    ("volts", "device", "socket", "seconds"),
    [
        (120, 32, False, 0.8),
        (230, 32, False, 0.4),
        (230, 63, False, 5),
        (230, 63, True, 0.4),
        (277, 16, False, 0.2),
        (398, 16, False, 0.2),
        (230, 100, True, 5),
    ],
)
def test_disconnection_times(volts: float, device: float, socket: bool, seconds: float) -> None:
    """IEC 60364-4-41 Table 41.1 and 411.3.2.2, as reproduced; 5 s from memory."""
    assert disconnection_time(volts, device, socket_outlet=socket) == seconds


def test_ratings_stand_on_an_exact_hit() -> None:
    """NEC 240.6(A), as reproduced."""
    assert rating_at_least("nec", 350) == rating_at_most("nec", 350) == 350
    assert (rating_at_most("nec", 349.9), rating_at_least("nec", 350.1)) == (300, 400)
    assert (rating_at_most("nec", 14), rating_at_least("nec", 6001)) == (None, None)
    assert (rating_at_least("iec", 181), frame_at_least(165.1), frame_at_least(1201)) == (200, 200, None)


@pytest.mark.parametrize("size", ["4/0 AWG", "2 AWG", "8 AWG", "95 mm2", "16 mm2"])
@pytest.mark.parametrize("celsius", [-20.0, 20.0, 60.0, 75.0, 90.0, 140.0])
def test_copper_warms_along_a_line_through_its_own_zero(size: str, celsius: float) -> None:
    """The resistance of copper would be nothing at -234.5 degC (IEC 60909-0, IEC 60228, from memory): 0.00393 for each K at
    20 degC, 0.00323 at 75 degC (NEC Chapter 9 Table 8, note 2, from memory).
    """
    row = table_impedance(size)
    assert row is not None
    warmer = (234.5 + celsius) / (234.5 + row.temperature)
    assert resistance_at(row, celsius) == pytest.approx(row.resistance * warmer, rel=1e-3)
    assert {20.0: 0.00393, 75.0: 0.00323}[row.temperature] == pytest.approx(1 / (234.5 + row.temperature), rel=2e-3)
