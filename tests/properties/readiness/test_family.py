"""What holds for the whole readiness family: stamps, tables, light discovery."""

import subprocess
import sys
from datetime import UTC, datetime, timedelta, timezone

import msgspec
import pytest
from hypothesis import given as forall
from hypothesis import strategies as st

import coldwright_readiness
from coldwright.contract.quantities import Duration
from coldwright_basis.instants import NANO, in_words, instant, show, span
from coldwright_readiness.shared.steps import PROCEDURE_STEPS, RESET_EVENTS, SECOND_START_STEPS
from coldwright_readiness.startup.advice.choice import ORDER_OF_ACTION
from coldwright_readiness.startup.limits import RULES

CALCULATORS = coldwright_readiness.plugin.calculators


@forall(
    st.datetimes(datetime(1901, 1, 1), datetime(2199, 1, 1)),  # noqa: DTZ001 - the offset is drawn apart
    st.integers(-1439, 1439),
)
def test_stamps_against_the_standard_library(moment, offset):
    aware = moment.replace(tzinfo=timezone(timedelta(minutes=offset)))
    exact = instant(aware.isoformat())
    utc = aware.astimezone(UTC)
    assert exact == (utc - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(microseconds=1) * 1000
    assert instant(show(exact)) == exact
    assert datetime.fromisoformat(show(exact)) == utc


def test_stamps_are_exact():
    assert show(instant("2026-05-04T10:00:00.123456789+02:00")) == "2026-05-04T08:00:00.123456789Z"
    assert show(instant("2026-05-04t08:00:00.500z")) == "2026-05-04T08:00:00.5Z"
    assert show(instant("2026-05-04T08:00:00.000-00:00")) == "2026-05-04T08:00:00Z"
    assert span(Duration(0.1, "min")) == 6 * NANO
    assert span(Duration(1.0, "d")) == 86400 * NANO
    assert in_words(3700 * NANO) == "1 h 1 min 40 s"
    with pytest.raises(ValueError, match="time stamp"):
        instant("soon")


def test_tables_fit_together():
    steps = {row["id"] for row in PROCEDURE_STEPS.rows}
    second = {row["id"] for row in SECOND_START_STEPS.rows}
    assert second - steps == {"check_static_pressure"}
    for row in (*PROCEDURE_STEPS.rows, *SECOND_START_STEPS.rows):
        assert set(row["depends_on"]) <= steps | second
    for event in RESET_EVENTS.rows:
        assert {*event["undone"], *event["undone_with_own_pump"]} <= steps | second
    for rule, row in RULES.items():
        assert row["cleared_by"]
        assert row["basis"]
        assert ("fact" in row) == rule.startswith("R")
        if "clear_by" in row:
            assert row["clear_by"] in steps
    forbidding = {"I3", "I4", "I10", "I12", "I13", "I14", "I15", "I16", "repeated_trips", "closed"}
    assert set(ORDER_OF_ACTION) == {*(r for r in RULES if r.startswith("R")), *forbidding}


def test_references_of_the_rules_are_known():
    known = {r.id for c in CALCULATORS for r in c.references}
    cited = {reference for row in RULES.values() for reference in row["references"]}
    assert cited - known == set()


@pytest.mark.parametrize("calculator", CALCULATORS, ids=lambda c: c.id)
def test_schema_is_complete(calculator):
    schemas, components = msgspec.json.schema_components([calculator.given, calculator.results])
    assert len(schemas) == 2
    for name, component in components.items():
        for field, schema in component.get("properties", {}).items():
            assert "description" in schema or "$ref" in schema or field == "kind", f"{name}.{field}"


def test_discovery_is_light():
    code = (
        "import sys, coldwright_readiness; "
        "print([m for m in ('numpy', 'scipy', 'fluids', 'CoolProp', 'pint', 'shapely') if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
