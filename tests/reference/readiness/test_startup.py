"""Published checks of `readiness.startup`: the base history and what each event makes of it.

Derived: the rules of the family, worked by hand; the base history has the records by which evidence counts (first run,
second venting, looks at locks, alarms, heaters and water). The unbalance figures are those of articles on NEMA MG 1
(seen). Each history is asked as it is and in shuffled order with duplicates.
"""

import random
from typing import Any

import pytest
from quantity import q
from startup_histories import ask, at, bare, base, connected_by_the_book, seen, volts

from coldwright.contract.quantities import Voltage
from coldwright_readiness.startup.limits import unbalance
from coldwright_readiness.startup.observation_data import LineVoltageData

pytestmark = pytest.mark.check


@pytest.fixture
def verdict(answer_of):
    """The answer, the same for six shuffles with duplicates."""

    def of(history: list[dict[str, Any]], clock: str = "09:06", configuration: dict[str, Any] | None = None):
        answer = answer_of("readiness.startup", ask(history, clock, configuration))
        for seed in range(6):
            rng = random.Random(seed)
            other = [*history, *rng.sample(history, k=len(history) // 3)]
            rng.shuffle(other)
            again = answer_of("readiness.startup", ask(other, clock, configuration))
            assert {**again, "given": 0, "digest": 0} == {**answer, "given": 0, "digest": 0}
        return answer

    return of


def open_facts(answer: dict[str, Any]) -> set[str]:
    return {b["fact"] for b in answer["results"]["blocks"] if "fact" in b}


def codes(answer: dict[str, Any]) -> list[str]:
    return [f["code"] for f in answer["findings"]]


def without_pump() -> list[dict[str, Any]]:
    return [o for o in base() if o["kind"] != "pump_state"]


CASES = {
    "base at 09:04": (base(), "09:04", "wait", "09:05", set()),
    "base without what was added": (
        bare(),
        "09:06",
        "blocked",
        "09:06",
        {"locks_clear", "purged", "strainer_clear", "no_alarm", "oil_heaters_working", "water_warm"},
    ),
    "base at 09:06": (base(), "09:06", "ready", "09:06", set()),
    "supply off and on": (
        [*base(), seen("supply", "08:30", state="off"), seen("supply", "08:31", state="on")],
        "09:06",
        "blocked",
        "09:31",
        {"voltage_in_limits"},
    ),
    "the same, voltage read again": (
        [
            *base(),
            seen("supply", "08:30", state="off"),
            seen("supply", "08:31", state="on"),
            seen("line_voltage", "08:55", **volts(478, 481, 476)),
        ],
        "09:06",
        "wait",
        "09:31",
        set(),
    ),
    "control switch off for 20 s": (
        [
            *base(),
            seen("control_switch", "08:40:00", state="off"),
            seen("control_switch", "08:40:20", state="on"),
        ],
        "09:06",
        "wait",
        "09:40:20",
        set(),
    ),
    "supply off, alive by the phase indicator": (
        [*base(), seen("supply", "08:31", state="off"), seen("phase_indicator", "08:50", rotation="correct")],
        "09:06",
        "blocked",
        "09:50",
        {"voltage_in_limits", "oil_heaters_working"},
    ),
    "off and on at one instant": (
        [*base(), seen("supply", "08:31", "off", state="off"), seen("supply", "08:31", "on", state="on")],
        "09:06",
        "blocked",
        None,
        {"energised", "voltage_in_limits", "oil_warm", "oil_heaters_working"},
    ),
    "pump was never on": (
        [*without_pump(), seen("pump_state", "08:52", pump="machine", state="off")],
        "09:06",
        "blocked",
        "09:06",
        {"pump_running", "flow_proven", "water_warm", "purged", "strainer_clear"},
    ),
    "water topped up": (
        [*base(), seen("fill", "09:03", medium="water", purpose="top_up")],
        "09:06",
        "blocked",
        "09:06",
        {"loop_pressurised"},
    ),
    "bypass opened": (
        [*base(), seen("valve_position", "09:05", valve="pump_bypass", position="open")],
        "09:06",
        "blocked",
        "09:06",
        {"valves_set", "flow_proven"},
    ),
    "leads swapped live": (
        [*base(), seen("leads_swapped", "08:20")],
        "09:06",
        "blocked",
        None,
        {"energised", "phase_correct", "voltage_in_limits", "oil_warm", "oil_heaters_working"},
    ),
    "set point too low": (
        [*base(), seen("set_point", "09:02", value=q(38, "degF"))],
        "09:06",
        "blocked",
        "09:06",
        {"set_point_safe"},
    ),
    "base at 09:20": (base(), "09:20", "blocked", "09:20", {"flow_proven", "people_clear", "no_alarm", "water_warm"}),
}


@pytest.mark.parametrize("case", CASES)
def test_verdict(verdict, case):
    history, clock, status, earliest, unmet = CASES[case]
    answer = verdict(history, clock)
    assert answer["results"]["status"] == status
    assert answer["results"].get("earliest_start") == (None if earliest is None else at(earliest))
    assert open_facts(answer) == unmet


def test_base_warm_up(verdict):
    results = verdict(base(), "09:04")["results"]
    assert results["warm_up_since"] == at("08:05")
    assert results["warm_up_until"] == at("09:05")
    assert results["waits"] == [{"rule": "R20", "until": at("09:05")}]
    assert len(results["facts"]) == 21
    ready = verdict(base())["results"]
    assert ready["warm_up_until"] == at("09:05")
    assert ready["blocks"] == []
    assert ready["waits"] == []


def test_details_of_the_cases(verdict):
    lost = verdict(CASES["supply off and on"][0])["results"]
    off = "supply..08:30"
    assert {"fact": "voltage_in_limits", "by": "supply..08:31", "rule": "V1"} not in lost["invalidated"]
    assert {"fact": "voltage_in_limits", "by": off, "rule": "V1"} in lost["invalidated"]
    assert {"fact": "oil_warm", "by": off, "rule": "V1"} in lost["invalidated"]
    assert lost["facts"]["oil_warm"]["status"] == "waiting"
    inferred = verdict(CASES["supply off, alive by the phase indicator"][0])
    assert inferred["results"]["facts"]["voltage_in_limits"]["status"] == "invalidated"
    no_pump = verdict(CASES["pump was never on"][0])["results"]
    assert [s["rule"] for s in no_pump["impossible"]] == ["I2", "I2", "I2", "I2"]
    topped = verdict(CASES["water topped up"][0])["results"]["facts"]
    assert topped["loop_pressurised"]["status"] == "invalidated"
    assert topped["purged"]["status"] == "established"
    bypass = verdict(CASES["bypass opened"][0])["results"]
    assert bypass["facts"]["valves_set"]["reason"] == "short_circuit"
    assert [b.get("reason") for b in bypass["blocks"]] == ["short_circuit", None]
    swapped = verdict(CASES["leads swapped live"][0])
    assert [s["rule"] for s in swapped["results"]["impossible"]] == ["I4"]
    assert "I4" in codes(swapped)
    late = verdict(base(), "09:20")["results"]
    assert late["stale"] == ["flow_proven", "no_alarm", "people_clear", "water_warm"]


# NEMA MG 1 12.44 as shown in articles (seen; the last one printed as 1.1 %).
@pytest.mark.parametrize(
    ("lines", "expected"),
    [
        ((460, 467, 450), 0.0196),
        ((480, 476, 472), 0.0084),
        ((462, 463, 455), 0.0109),
        # readings of a public thread, 1.9 % and 1.7 % there (seen): 421 and 415.33 V on average
        ((429, 415, 419), 0.0190),
        ((422, 409, 415), 0.0161),
    ],
)
def test_unbalance(lines, expected):
    a, b, c = (Voltage(float(v), "V") for v in lines)
    assert unbalance(LineVoltageData(v_ab=a, v_bc=b, v_ca=c)) == pytest.approx(expected, abs=5e-5)


def test_unbalance_of_the_article_passes(verdict):
    history = [o for o in base() if o["kind"] != "line_voltage"]
    answer = verdict([*history, seen("line_voltage", "08:02", **volts(460, 467, 450))])
    assert answer["results"]["status"] == "ready"


def machine_connected(clock: str, **changed: Any) -> list[dict[str, Any]]:
    rows = connected_by_the_book()
    rows[2] = seen("line_connection", clock, **{**rows[2]["data"], **changed})
    return rows


def test_connecting_is_not_asked_of_a_plain_history(verdict):
    results = verdict(base())["results"]
    assert results["status"] == "ready"
    assert "may_connect" not in results
    assert "may_energise" not in results


def test_connecting_is_asked_where_evidence_is_required(verdict):
    results = verdict(base(), configuration={"require_connection_evidence": True})["results"]
    assert results["status"] == "blocked"
    missing = {b["rule"] for b in results["blocks"] if b["status"] == "missing"}
    assert missing == {"R21", "R22", "R23", "R24", "R25", "R26", "R28"}


def test_connected_by_the_book(verdict):
    answer = verdict([*base(), *connected_by_the_book()])
    results = answer["results"]
    assert results["status"] == "ready"
    assert results["may_energise"] is True
    assert results["may_connect"] is False
    for fact in ("proved_dead", "connection_order", "connectors_mated"):
        assert results["facts"][fact]["status"] == "established"
    unasked = {f["rule"] for f in answer["findings"] if f["code"] == "not_observed"}
    assert {"R24", "R25", "R26"} <= unasked


def test_line_before_ground(verdict):
    order = ["line_1", "ground", "line_2", "line_3"]
    results = verdict([*base(), *machine_connected("07:15", order=order)])["results"]
    assert results["status"] == "blocked"
    assert [(b["rule"], b["status"]) for b in results["blocks"]] == [("R22", "failed")]
    assert results["may_energise"] is False


def test_tester_not_proved_after(verdict):
    rows = connected_by_the_book()
    rows[0]["data"]["tester_proved_after"] = False
    results = verdict([*base(), *rows])["results"]
    assert [(b["rule"], b["status"]) for b in results["blocks"]] == [("R21", "failed")]


def test_connected_live(verdict):
    results = verdict([*base(), *machine_connected("08:30")])["results"]
    assert results["status"] == "blocked"
    assert {b["rule"] for b in results["blocks"]} == {"I13", "R21", "R05", "R06", "R07", "R20", "R29"}
    assert "earliest_start" not in results


def test_heater_that_failed_for_a_while(verdict):
    history = [
        *base(),
        seen("oil_heater", "08:30", compressor="1", working=False),
        seen("oil_heater", "08:40", compressor="1", working=True),
    ]
    results = verdict(history)["results"]
    assert results["status"] == "wait"
    assert results["warm_up_since"] == at("08:40")
    assert results["earliest_start"] == at("09:40")


def test_refrigerant_valves(verdict):
    shut = [*base(), seen("machine_check", "08:50", item="refrigerant_valves_open", ok=False)]
    results = verdict(shut)["results"]
    assert results["status"] == "blocked"
    assert [b["rule"] for b in results["blocks"]] == ["R30"]
    opened = [*shut, seen("machine_check", "08:55", item="refrigerant_valves_open", ok=True)]
    assert verdict(opened)["results"]["status"] == "ready"


def test_hold_after_a_loss(verdict):
    history = [
        seen("control_switch", "08:59", state="on"),
        seen("supply", "09:00", state="on"),
        seen("supply", "13:05", state="off"),
        seen("supply", "13:12", state="on"),
    ]
    results = verdict(history, "14:20")["results"]
    assert results["warm_up_since"] == at("13:12")
    assert results["warm_up_until"] == at("14:12")
