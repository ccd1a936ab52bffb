"""A set-up that is changed meanwhile undoes what rests on it, and nothing else; common practice, no source."""

import msgspec
import pytest
from quantity import q
from start_engine.book import ASKED, by_the_book, configurations
from start_engine.book import seen as book_seen
from startup_histories import CONFIGURATION, ask, base, seen

from coldwright.contract import Refused
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.start_change.directions import FACTS, HIGHER_IS_TIGHTER, LOWER_IS_TIGHTER, STRUCTURAL
from coldwright_readiness.startup import startup
from coldwright_readiness.startup.evidence.changes import FIELDS, RESTS_ON

NOTHING_TO_LOOK_AT = {"own_breaker", "oil_heaters", "require_connection_evidence"}
"""Loosened, they ask for less: there is no reading that could be taken again."""
DURATIONS = {"warm_up_duration", "anti_recycle"}


def changed(at, *fields):
    return [{"at": f"2026-05-04T{at}:00Z", "fields": list(fields)}]


def status(records=None, at="09:06", **more):
    return verdict({**ask(records or base(), at), **more})


def verdict(request):
    return evaluate(startup, read(startup.given, msgspec.json.encode(request))).results


def test_every_field_that_can_be_loosened_says_what_rests_on_it():
    loosened = {name for name, _, _ in HIGHER_IS_TIGHTER + LOWER_IS_TIGHTER} | {*STRUCTURAL, *FACTS}
    assert loosened == set(RESTS_ON) | DURATIONS | NOTHING_TO_LOOK_AT
    assert set(FIELDS) == {f.encode_name for f in msgspec.structs.fields(Configuration)}


OF_OTHER_STARTS = {"ground_run_resistance", "transfer_switch", "circuits", "required_freeze_point"}
"""Nothing of a start with water from the site, without proof of the connection, rests on these."""


@pytest.mark.parametrize("field", sorted(set(RESTS_ON) - OF_OTHER_STARTS))
def test_a_change_after_the_evidence_takes_ready_away(field):
    assert status().status == "ready"
    results = status(configuration_changes=changed("09:05", field))
    assert results.status == "blocked"
    undone = {name for name, fact in results.facts.items() if fact.status == "invalidated"}
    assert undone


def test_a_colder_forecast_asks_for_the_mixture_again_and_for_nothing_else():
    configuration = dict(configurations())["site-own_pump-mixture"]
    request = {"configuration": configuration, "evaluated_at": ASKED, "observations": by_the_book(configuration)}
    assert verdict(request).status == "ready"
    request["configuration_changes"] = [{"at": "2026-05-04T09:05:30Z", "fields": ["required_freeze_point"]}]
    assert {block.rule for block in verdict(request).blocks} == {"R13", "R17"}
    again = book_seen("antifreeze_reading", "09:05:50", freeze_point=q(-24, "degC"))
    assert verdict(request | {"observations": [*request["observations"], again]}).status == "ready"


@pytest.mark.parametrize("field", ["oil_heaters", "require_connection_evidence", "lifted_by"])
def test_a_change_on_which_nothing_rests_undoes_nothing(field):
    assert status(configuration_changes=changed("09:05", field)).status == "ready"


def test_a_change_before_the_evidence_undoes_nothing():
    assert status(configuration_changes=changed("00:01", *FIELDS)).status == "ready"


def test_evidence_of_the_very_instant_does_not_count_and_a_reading_taken_again_does():
    changes = changed("09:05", "voltage_unbalance_limit")
    volts = {name: q(480, "V") for name in ("v_ab", "v_bc", "v_ca")}
    tie = [*base(), seen("line_voltage", "09:05", "v-tie", **volts)]
    assert status(tie, configuration_changes=changes).facts["voltage_in_limits"].status == "invalidated"
    later = [*base(), seen("line_voltage", "09:05:01", "v-later", **volts)]
    assert status(later, configuration_changes=changes).status == "ready"


def test_what_speaks_against_a_start_still_does():
    bad = [*base(), seen("flow_switch", "09:04", "lost", state="not_made")]
    results = status(bad, configuration_changes=changed("09:05", "pump_mode"))
    assert results.facts["flow_proven"].status == "failed"


@pytest.mark.parametrize("field", ["warm_up_duration", "anti_recycle"])
def test_a_shortened_duration_counts_from_its_change(field):
    stopped = [
        *base(),
        seen("compressor", "07:00", "on", id="1", state="on"),
        seen("compressor", "07:01", "off", id="1", state="off"),
    ]
    records = stopped if field == "anti_recycle" else base()
    results = status(records, configuration_changes=changed("09:05", field))
    rule = {"warm_up_duration": "R20", "anti_recycle": "anti_recycle"}[field]
    until = {"warm_up_duration": "2026-05-04T10:05:00Z", "anti_recycle": "2026-05-04T09:10:00Z"}[field]
    assert {w.rule: w.until for w in results.waits}[rule] == until


@pytest.mark.parametrize("field", sorted(RESTS_ON))
def test_a_change_on_paper_stops_no_machine_that_runs(field):
    running = [*base(), seen("compressor", "09:06", "on", id="1", state="on")]
    assert status(running, "09:07").status == "running"
    results = status(running, "09:08", configuration_changes=changed("09:07", field))
    assert results.status == "running"


def test_a_machine_started_on_evidence_that_was_undone_is_stopped():
    running = [*base(), seen("compressor", "09:06", "on", id="1", state="on")]
    results = status(running, "09:07", configuration_changes=changed("09:05", "pump_mode"))
    assert results.status == "stop_now"


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"at": "2026-05-04T09:05:00", "fields": ["pump_mode"]}, "#/configuration_changes/0/at"),
        ({"at": "2026-05-04T09:05:00Z", "fields": ["pump"]}, "#/configuration_changes/0/fields/0"),
        ({"at": "2026-05-04T09:05:00Z", "fields": []}, "#/configuration_changes/0/fields"),
    ],
)
def test_a_change_that_is_none_is_refused(change, pointer):
    with pytest.raises(Refused) as refused:
        status(configuration_changes=[change])
    assert [e.pointer for e in refused.value.errors] == [pointer]


def test_the_set_up_is_that_of_the_book():
    assert CONFIGURATION["pump_mode"] == "own_pump"
