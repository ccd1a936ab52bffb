"""The walk can fail: a canned adviser by the book leads to a fit machine, and bad advice is caught. All data is invented."""

from typing import Any

import pytest
from start_engine import judge
from start_engine.book import Configuration, configurations
from start_walk import TROUBLES, LostError, walk
from start_walk.crew import DangerError

Action = dict[str, Any]
BOOKS = dict(configurations())
NONE = TROUBLES[0]


def t(kind: str, **data: Any) -> dict[str, Any]:
    return {"kind": kind, "data": data}


def by_the_book(configuration: Configuration) -> list[list[dict[str, Any]]]:
    """Which records a careful crew makes one after the other; an empty list is an hour of waiting."""
    own, stops = configuration["pump_mode"] == "own_pump", configuration.get("site_pump_stops", True)
    pump = "machine" if own else "site"
    proof = [t("flow_switch"), t("evaporator_pressure_drop")]
    vents = [*([t("purge", point="pump_casing")] if own else []), t("purge", point="high_point")]
    pumps = {"pump_suction": "open", "pump_discharge": "open", "pump_bypass": "closed"}
    if not own:
        pumps = {"pump_suction": "closed", "pump_discharge": "closed", "pump_bypass": "open"}
    if not configuration.get("pump_fitted", True):
        pumps = {}
    places = pumps | {"supply": "open", "return": "open", "drain": "closed"}
    mixed = (
        [] if configuration["fluid_kind"] == "water" else [t("antifreeze_charge"), t("fill", purpose="repressurise")]
    )
    heaters = range(configuration.get("compressors", 1) if configuration.get("oil_heaters", True) else 0)
    first = [*vents, t("loop_pressure"), t("leak_check"), t("pump_state", pump=pump, state="on"), *proof]
    if not stops:
        first = [t("pump_state", pump=pump, state="on"), *proof, t("loop_pressure"), t("leak_check"), *vents]
    standing = [t("pump_state", pump=pump, state="off"), *[t("unit_level")] * 5, t("flow_switch")]
    again = [*standing, *vents, t("loop_pressure")] if stops else vents
    return [
        [t("unit_level"), t("plate_check")],
        [t("lock", state="applied"), t("proved_dead"), t("insulation_test")],
        [t("line_connection", end="source"), t("line_connection", end="machine"), t("ground", connected=True)],
        [t("earth_continuity"), t("cable_route"), t("transfer_interlock"), t("lock", state="removed")],
        [t("supply", state="on"), t("line_voltage"), t("phase_indicator"), t("control_switch", state="on")],
        [t("hose_connection", end="machine_inlet"), t("hose_connection", end="machine_outlet")],
        [t("valve_position", valve=v, position=p) for v, p in places.items()],
        [t("fill", purpose="first_fill"), t("valve_position", valve="fill", position="closed"), *mixed],
        first,
        [],
        [t("strainer"), *again],
        [t("oil_heater", compressor=str(n + 1)) for n in heaters] + [t("pump_state", pump=pump, state="on")],
        [t("set_point")],
        [t("unit_level")] * 20,
        [t("antifreeze_reading"), *proof, t("water_temperature"), t("lock_check"), t("alarm_check"), t("area_clear")],
    ]


def canned(steps: list[list[dict[str, Any]]]) -> Any:
    """An adviser that knows nothing: one step after the other, judged by the second engine."""
    left = list(steps)

    def ask(request: dict[str, Any]) -> dict[str, Any]:
        status = judge(request["configuration"], request["observations"], request["evaluated_at"]).status
        if status == "ready" or not left:
            return {"status": status if left == [] else "ready", "blocks": [], "next_action": _action([], "done")}
        records = left.pop(0)
        action = _action(records, f"step {len(left)}")
        if not records:
            hour = int(request["evaluated_at"][11:13]) + 1
            action["not_before"] = f"{request['evaluated_at'][:11]}{hour:02d}{request['evaluated_at'][13:]}"
        return {"status": "blocked", "blocks": [], "next_action": action}

    return ask


def _action(records: list[dict[str, Any]], short: str) -> Action:
    return {"step_id": short, "do": short, "short": short, "why": "", "subject": short, "record": records}


@pytest.mark.parametrize("name", list(BOOKS))
def test_a_careful_crew_reaches_a_machine_that_is_fit(name):
    steps = by_the_book(BOOKS[name])
    done = walk(canned(steps), BOOKS[name], NONE)
    assert done.statuses[-1] == "ready", name


def planted(name: str) -> Any:
    return next(trouble for trouble in TROUBLES if trouble.name == name)


@pytest.mark.parametrize("name", [trouble.name for trouble in TROUBLES if trouble.words])
def test_what_nobody_puts_right_is_never_ready(name):
    """The canned adviser names no cure: the machine stays unfit, or its records say so, and the walk fails."""
    configuration = next(c for c in BOOKS.values() if planted(name).applies(c))
    with pytest.raises(AssertionError):
        walk(canned(by_the_book(configuration)), configuration, planted(name))


OWN = BOOKS["site-own_pump-water"]


@pytest.mark.parametrize(
    "steps",
    [
        [[t("supply", state="on")]],
        [
            [t("lock", state="applied")],
            [t("line_connection", end="source"), t("line_connection", end="machine")],
            [t("supply", state="on")],
        ],
        [[t("leads_swapped", where="source")]],
        [[t("lock", state="applied"), t("line_connection", end="source"), t("lock", state="removed")]],
        [[t("pump_state", pump="machine", state="on")]],
    ],
    ids=["onto open lines", "under a lock", "leads without a lock", "lock off before the work is done", "pump dry"],
)
def test_dangerous_advice_is_caught(steps):
    with pytest.raises(DangerError):
        walk(canned(steps), OWN, NONE)


def test_circles_dead_ends_and_long_words_are_caught():
    def circle(request):
        return {"status": "blocked", "blocks": [], "next_action": _action([t("unit_level")], "again")}

    def dead_end(request):
        return {"status": "blocked", "blocks": [], "next_action": _action([], "nothing")}

    def wordy(request):
        return {"status": "blocked", "blocks": [], "next_action": _action([t("unit_level")], "x" * 61)}

    for adviser, words in ((circle, "again and again"), (dead_end, "nothing to record"), (wordy, "61 characters")):
        with pytest.raises(LostError, match=words):
            walk(adviser, OWN, NONE)
