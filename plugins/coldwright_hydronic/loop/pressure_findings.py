"""What `hydronic.loop` finds about pressures."""

from msgspec import UNSET

from coldwright.contract import FindingKind, Notes, finding, say
from coldwright.contract.quantities import GaugePressure
from coldwright_basis.compare import above
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.given import LineGiven, LoopGiven
from coldwright_hydronic.loop.power import air_at
from coldwright_hydronic.loop.pressures import ASSUMED_REFERENCE, Reading

PRESSURE_FINDINGS: tuple[FindingKind, ...] = (
    finding("over_working_pressure", "stop", "A pressure above the working pressure of an element."),
    finding("lay_flat_collapses", "stop", "Lay-flat hose at or below the pressure of the air: it collapses."),
    finding(
        "below_air_pressure", "check", "A place at or below the pressure of the air: vents and couplings draw air."
    ),
    finding("liquid_boils", "stop", "A pressure at or below the vapour pressure of the liquid."),
    finding("pressure_reference_assumed", "note", "No pressure was given: 150 kPa at the pump suction is assumed."),
    finding("pressure_reference_not_used", "check", "An open tank sets the pressures; the reference was not used."),
    finding("shut_off_unknown", "note", "With a fixed flow the pressure against a shut valve was not tested."),
)


def shown(pressure: float) -> GaugePressure:
    """A pressure [Pa] as a person reads it."""
    return GaugePressure.from_si(round(pressure, 3), "kPa")


def find_pressures(case: Case, notes: Notes) -> None:
    """Too high, too low, and what was assumed."""
    given = case.given
    if given.open_source is not UNSET and given.pressure_reference is not UNSET:
        notes.check(
            "pressure_reference_not_used",
            "The surface of the open tank sets the pressures; pressure_reference was not used.",
            resolve="Leave pressure_reference out, or leave open_source out for a closed loop.",
            field="/pressure_reference",
        )
    find_assumed_reference(given, notes)
    rated = [r for r in case.readings if r.node.element.working_pressure is not UNSET]
    for reading in rated:
        _working_pressure(case, reading, notes)
    if rated and case.press.shut_off_rise is None:
        notes.note(
            "shut_off_unknown",
            "With a fixed flow the pump is not known, so the pressure against a shut valve was not tested.",
            why="A shut valve puts the shut-off head of the pump on the hose before it.",
            resolve="Give the pump's curve.",
            field="/fixed_flow",
        )
    _low_pressures(case, notes)


def find_assumed_reference(given: LoopGiven, notes: Notes) -> None:
    """All pressures move with the reference, so its absence is reported."""
    if given.open_source is UNSET and given.pressure_reference is UNSET:
        notes.note(
            "pressure_reference_assumed",
            say(
                "No pressure is known in the loop: {assumed} at the pump suction is assumed.",
                assumed=GaugePressure.from_si(ASSUMED_REFERENCE, "kPa"),
            ),
            why="Every pressure of the answer moves with it.",
            resolve="Give pressure_reference: the fill pressure, where the vessel or the fill is connected.",
            field="/pressure_reference",
            references=("hydronic_practice",),
        )


def _working_pressure(case: Case, reading: Reading, notes: Notes) -> None:
    rated = reading.node.element.working_pressure
    if rated is UNSET:
        return
    weight, pump = case.loop.weight, case.given.pump_elevation.si
    lowest = min(reading.node.bottom, reading.node.top) - pump
    standing = case.press.standing_at_pump - weight * lowest
    cases = {
        "with the pump running": max(reading.pressure_in, reading.pressure_out),
        "with the pump stopped": standing,
    }
    if case.press.shut_off_rise is not None:
        cases["with the pump against a shut valve"] = standing + case.press.shut_off_rise
    when, worst = max(cases.items(), key=lambda item: item[1])
    if above(worst, rated.si):
        notes.show("p_max", f"Greatest pressure in {reading.node.element.name}", when, shown(worst))
        notes.stop(
            "over_working_pressure",
            say(
                "{name} sees {pressure} {when}, {excess} above its working pressure of {rated}.",
                name=reading.node.element.name,
                pressure=shown(worst),
                when=when,
                excess=shown(worst - rated.si),
                rated=rated,
            ),
            why="It can burst; a shut valve puts the shut-off head of the pump on everything before it.",
            resolve="A part of a higher rating, less fill pressure, a lower frequency, or a pump of less shut-off head.",
            field=f"{reading.node.pointer}/working_pressure",
        )


def _parted_at_rest(case: Case, boiling: float, notes: Notes) -> None:
    """A closed loop whose top stands below the vapour pressure with the pump stopped."""
    if case.given.open_source is not UNSET or not case.readings:
        return
    weight, pump = case.loop.weight, case.given.pump_elevation.si
    where = max(case.readings, key=lambda r: max(r.node.bottom, r.node.top))
    standing = case.press.standing_at_pump - weight * (max(where.node.bottom, where.node.top) - pump)
    if standing <= boiling:
        notes.stop(
            "liquid_boils",
            say(
                "With the pump stopped {name} would stand at {pressure}, at or below the vapour pressure of the liquid.",
                name=where.node.element.name,
                pressure=shown(standing),
            ),
            why="The column has parted before the pump starts: the loop is not full, and the start hammers it together.",
            resolve="Raise the fill pressure until the top stands above the pressure of the air.",
            field=where.node.pointer,
            references=("hydronic_first_principles",),
        )


def _low_pressures(case: Case, notes: Notes) -> None:
    weight, pump = case.loop.weight, case.given.pump_elevation.si
    boiling = (case.vapor or 0.0) - air_at(case.given)
    low: list[tuple[float, Reading]] = []
    mouth = _mouth(case)
    for reading in case.readings:
        lowest = reading.pressure_in if reading is mouth else min(reading.pressure_in, reading.pressure_out)
        element = reading.node.element
        if isinstance(element, LineGiven) and element.line_kind == "lay_flat_hose":
            standing = case.press.standing_at_pump - weight * (max(reading.node.bottom, reading.node.top) - pump)
            closed = case.given.open_source is UNSET
            _lay_flat(reading, lowest, standing if closed else lowest, notes)
        if lowest <= 0.0:
            low.append((lowest, reading))
    _parted_at_rest(case, boiling, notes)
    if not low:
        return
    worst, where = min(low, key=lambda item: item[0])
    notes.check(
        "below_air_pressure",
        say(
            "{pressure} in {name}: at or below the pressure of the air.",
            pressure=shown(worst),
            name=where.node.element.name,
        ),
        why="Vents and couplings draw air in instead of letting it out.",
        resolve=say(
            "Raise the fill pressure by {shortfall} and some more, or drop less before this place.",
            shortfall=shown(-worst),
        ),
        field=where.node.pointer,
    )
    if worst <= boiling:
        notes.stop(
            "liquid_boils",
            say(
                "{pressure} in {name} is at or below the vapour pressure of the liquid.",
                pressure=shown(worst),
                name=where.node.element.name,
            ),
            why="The liquid boils and the column parts: these pressures do not exist, and the flow neither.",
            resolve="Raise the fill pressure, or drop less before this place.",
            field=where.node.pointer,
        )


def _mouth(case: Case) -> Reading | None:
    """The last element of an open loop, where its outlet stands at the surface of the tank: no joint that can draw air."""
    source = case.given.open_source
    opens = source is not UNSET and source.surface_gauge_pressure.si >= 0.0
    return case.press.readings[-1] if opens else None


def _lay_flat(reading: Reading, running: float, standing: float, notes: Notes) -> None:
    lowest = min(running, standing)
    if lowest <= 0.0:
        notes.stop(
            "lay_flat_collapses",
            say(
                "{name} is lay-flat hose at {pressure} with the pump {state}.",
                name=reading.node.element.name,
                pressure=shown(lowest),
                state="running" if running <= standing else "stopped",
            ),
            why="It collapses flat, the flow stops and its couplings draw air.",
            resolve=say(
                "Raise the fill pressure by more than {shortfall}, or use lay-flat for the supply alone.",
                shortfall=shown(-lowest),
            ),
            field=reading.node.pointer,
        )
