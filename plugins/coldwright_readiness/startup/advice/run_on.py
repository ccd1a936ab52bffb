"""What to do at a machine that runs: read what is near its limit, then what is overdue, else watch it."""

from coldwright_basis.instants import show, whole
from coldwright_readiness.startup.advice.action import NO_ORDER, TECHNICIAN, Action, Template, seen, shortened
from coldwright_readiness.startup.advice.readings import READ_NOW, readings_of, spoken
from coldwright_readiness.startup.advice.stop import named
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.verdict import Verdict
from coldwright_readiness.startup.watching import FLOW_AFTER_A_MOVE


def run_on(e: Evidence, v: Verdict) -> Action:
    names = named(v.runs.compressors)
    if v.runs.asks:
        ask = v.runs.asks[0]
        kind, data = _reading(e, ask.subject)
        last = max(ask.records, key=lambda r: (r.latest, r.id))
        why = (
            f"Out of limits or out of place: {ask.subject}, at {show(last.at)}. Another such reading, or none by "
            f"{show(whole(ask.due))}, is a reason to stop the machine."
        )
        return Action(
            "cold_water",
            why,
            f"Read again at once: {ask.subject}.",
            f"Read again at once: {ask.subject}",
            ask.subject,
            (Template(kind, data),),
            TECHNICIAN,
        )
    if v.closed is not None:
        are = "is" if len(v.runs.compressors) == 1 else "are"
        why = f"This start was closed at {show(v.closed.at)}, and {names} {are} on by the record."
        do = (
            f"See whether {names} {'runs' if are == 'is' else 'run'}. If not, record that, and the source as off. If so, whoever "
            f"closed this start takes that back. {NO_ORDER}"
        )
        off = [seen("compressor", id=name, state="off") for name in v.runs.compressors]
        return Action("handover", why, do, f"Closed, yet {names} on: see what runs", names, tuple(off), TECHNICIAN)
    overdue = _overdue(v)
    if overdue:
        what = spoken(overdue)
        return Action(
            "cold_water",
            f"{what[0].upper()}{what[1:]}: the last record is too old; nothing on record is against it.",
            f"Read again now: {what}. Watch {names}: amps, oil, sound; and that the water gets cold. {NO_ORDER}",
            shortened(f"Overdue, read now: {what}"),
            names,
            tuple(t for rule in _overdue_rules(v) for t in readings_of(e, rule)),
            TECHNICIAN,
        )
    are = "is" if len(v.runs.compressors) == 1 else "are"
    why = f"{names[0].upper()}{names[1:]} {are} on, and nothing on record is against it."
    do = f"Watch {names}: amps, oil, sound; that the flow stays; and that the water gets cold. {NO_ORDER}"
    return Action(
        "cold_water",
        why,
        do,
        f"Watch {names}: flow, oil, amps, water",
        names,
        (seen("flow_switch", state="made"), seen("evaporator_pressure_drop"), seen("water_temperature")),
        TECHNICIAN,
    )


def _overdue_rules(v: Verdict) -> tuple[str, ...]:
    """Rules whose last reading is too old, the most pressing first."""
    late = {f.rule for f in v.facts.values() if f.status == "stale"}
    return tuple(rule for rule in READ_NOW if rule in late)


def _overdue(v: Verdict) -> tuple[str, ...]:
    return tuple(READ_NOW[rule][0] for rule in _overdue_rules(v))


def _reading(e: Evidence, subject: str) -> tuple[str, dict[str, object]]:
    kinds: dict[str, tuple[str, dict[str, object]]] = {
        "flow switch": ("flow_switch", {"state": "made"}),
        FLOW_AFTER_A_MOVE: ("flow_switch", {"state": "made"}),
        "evaporator drop": ("evaporator_pressure_drop", {}),
        "flow": ("flow", {}),
        "line voltages": ("line_voltage", {}),
        "people": ("area_clear", {"clear": True}),
        "rotation": ("phase_indicator", {"rotation": "correct"}),
        "mixture": ("antifreeze_reading", {}),
    }
    if subject in kinds:
        return kinds[subject]
    if subject.endswith("temperature"):
        return "water_temperature", {}
    if subject.endswith("valve"):  # any other that is out of its place stops the machine at once
        return "valve_position", {"valve": "fill", "position": e.limits.valves["fill"]}
    if subject.startswith("hose"):
        return "hose_connection", {"end": subject.removeprefix("hose at ").replace(" ", "_")}
    return "alarm", {"code": subject.removeprefix("alarm "), "state": "cleared"}
