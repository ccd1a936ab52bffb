"""The steps of the trade as a graph without cycles, made from the tables for one configuration."""

from collections.abc import Iterable, Mapping
from functools import cache
from graphlib import CycleError, TopologicalSorter
from typing import Any, Final, Literal

from msgspec import UNSET, Struct, UnsetType
from msgspec.structs import replace

from coldwright.contract import Defect, load_table, say
from coldwright.contract.language import marked as _
from coldwright.contract.quantities import Duration, GaugePressure, Volume
from coldwright.contract.sentences import Words
from coldwright_basis.instants import NANO
from coldwright_basis.trade_words import words_of
from coldwright_readiness.shared.configuration import practice_of, rated_voltage, warm_up_duration
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.words import filled

PROCEDURE_STEPS = load_table("coldwright_readiness", "procedure_steps")
PROCEDURE_EXTRAS = load_table("coldwright_readiness", "procedure_extras")
SECOND_START_STEPS = load_table("coldwright_readiness", "second_start_steps")
RESET_EVENTS = load_table("coldwright_readiness", "reset_events")

Role = Literal["electrician", "technician", "lift_team", "none"]
MINUTE: Final = 60 * NANO
_MOVED_FROM: Final = "level_and_chock"


class Step(Struct, frozen=True, gc=False):
    """One step; `duration` in nanoseconds."""

    id: str
    title: str
    role: Role
    duration: int
    depends_on: tuple[str, ...]
    look_at: str
    acceptance: Words
    why: str
    hazard: str
    evidence_kinds: tuple[str, ...]
    undone_by: tuple[str, ...] = ()


def procedure_steps(
    configuration: Configuration,
    lasting: Mapping[str, int],
    liquid: Mapping[str, Words] | None = None,
    extras: Mapping[str, Words] | None = None,
) -> tuple[Step, ...]:
    """Steps in the order of the table. `lasting` gives the times that are not minutes of the table, `liquid` the words
    of what goes in: see `mixture_words`; `extras` what is asked for beside the usual steps, with its words.
    """
    asked = {} if extras is None else extras
    full = {row["id"]: row for row in _with_extras(asked)}
    if configuration.second_start:
        rows: Iterable[dict[str, Any]] = ({**full.get(r["id"], {}), **r} for r in SECOND_START_STEPS.rows)
    else:
        rows = full.values()
    there = _there(configuration)
    present = [row for row in rows if there[row.get("only_with")]]
    ids = {row["id"] for row in present}
    words = {**_words(configuration), **(mixture_words() if liquid is None else liquid), **asked}
    words["start_generator"] = (
        _("Start the set")
        if "set_brought" in asked
        else _("Ground the generator, check oil and fuel, start it")
        if practice_of(configuration) == "nec"
        else _("Earth the generator, check oil and fuel, start it")
    )
    undone = _undone_by(configuration.pump_mode == "own_pump")
    return tuple(_step(row, configuration, ids, lasting, words, undone) for row in present)


def _with_extras(asked: Mapping[str, Words]) -> Iterable[dict[str, Any]]:
    """Rows of the table, each step that is asked for beside them before the first that waits for it."""
    rows = [dict(row) for row in PROCEDURE_STEPS.rows]
    for extra in PROCEDURE_EXTRAS.rows:
        if extra["only_with"] not in asked:
            continue
        waiting = [row for row in rows if row["id"] in extra["before"]]
        for row in waiting:
            row["depends_on"] = [*row["depends_on"], extra["id"]]
        own = {name: value for name, value in extra.items() if name not in ("only_with", "before")}
        rows.insert(min(map(rows.index, waiting)), own)
    return rows


def _there(c: Configuration) -> dict[str | None, bool]:
    """Whether that is there which a step is only done with."""
    return {
        None: True,
        "own_pump": c.pump_mode == "own_pump",
        "generator": c.supply_source == "generator",
        "antifreeze": c.fluid_kind != "water",
        "several_compressors": c.compressors > 1,
    }


def _step(
    row: dict[str, Any],
    c: Configuration,
    ids: set[str],
    lasting: Mapping[str, int],
    words: Mapping[str, Words],
    undone: Mapping[str, tuple[str, ...]],
) -> Step:
    own_pump = c.pump_mode == "own_pump"
    depends_on = [*row["depends_on"], *(row.get("also_with_own_pump", ()) if own_pump else ())]
    if "lasts" in row:
        duration = lasting[row["lasts"]]
    else:
        minutes = row["minutes"]
        duration = (minutes[c.lifted_by] if isinstance(minutes, dict) else minutes) * MINUTE
    return Step(
        id=row["id"],
        title=filled(row["title"], words),
        role=row["role"] if own_pump else row.get("role_with_site_pump", row["role"]),
        duration=duration,
        depends_on=tuple(d for d in depends_on if d in ids),
        look_at=filled(row["look_at"], words),
        acceptance=say(row["acceptance"], **words) if "{" in row["acceptance"] else row["acceptance"],
        why=row["why"],
        hazard=row["hazard"],
        evidence_kinds=tuple(row["evidence_kinds"]),
        undone_by=undone.get(row["id"], ()),
    )


def _words(c: Configuration) -> dict[str, Words]:
    """Values of the configuration, as the texts of the steps show them."""
    volts = rated_voltage(c).value

    def pressure(p: GaugePressure) -> Words:
        return say("{pressure:.4g}", pressure=p.as_unit("kPa"))

    return {
        **words_of(practice_of(c)),
        "rated_voltage": f"{volts:.4g} V",
        "voltage_low": f"{0.9 * volts:.4g} V",
        "voltage_high": f"{1.1 * volts:.4g} V",
        "unbalance_limit": f"{100 * c.voltage_unbalance_limit:.3g} %",
        "warm_up": say("{duration}", duration=_in_hours(warm_up_duration(c))),
        "fill_minimum": pressure(c.fill_pressure_minimum),
        "fill_maximum": pressure(c.fill_pressure_maximum),
        "set_point_minimum": say("{least:.4g}", least=c.set_point_minimum_water.as_unit("degC")),
        "freeze_margin": say("{margin:.3g}", margin=c.freeze_margin.as_unit("delta_degC")),
        **_venting_again(c),
    }


def _in_hours(duration: Duration) -> Duration:
    """As it is said: whole hours as hours."""
    return duration.as_unit("h") if duration.to("min") % 60 == 0 else duration


def _venting_again(c: Configuration) -> dict[str, str]:
    """The pump stands while air is let out, and the pressure is back before it turns again: a start accepts no other
    order. A pump of the site that cannot stop is vented while it runs.
    """
    if not c.site_pump_stops:
        return {
            "stop_then_vent": _("Vent the high point twice, 10 min apart"),
            "vented_how": "Steady liquid at the highest vent both times.",
            "prove_again": _("Bring the pressure back, prove the flow again, look for leaks"),
            "at_rest": "on",
        }
    own = c.pump_mode == "own_pump"
    return {
        "stop_then_vent": _("Stop the pump, then vent the casing and high point again")
        if own
        else _("Stop the pump, then vent the high point again"),
        "vented_how": f"Pump off; steady liquid at the highest vent{', and at the pump casing' if own else ''}.",
        "prove_again": _("Bring the pressure back, start the pump, prove the flow again, look for leaks"),
        "at_rest": "off",
    }


def mixture_words(concentrate: Volume | UnsetType = UNSET, water: Volume | UnsetType = UNSET) -> dict[str, Words]:
    """What goes into the loop, as the texts of the steps show it."""
    if concentrate is UNSET or water is UNSET:
        return {"charge": "The quantity from the fluid calculation", "water": ""}
    concentrate, water = concentrate.as_unit("L"), water.as_unit("L")
    return {
        "charge": say("{concentrate:.0f} concentrate, then {water:.0f} water", concentrate=concentrate, water=water),
        "water": say("{water:.0f} of water after the concentrate. ", water=water),
    }


@cache
def _undone_by(own_pump: bool) -> dict[str, tuple[str, ...]]:
    """Reset events by the step that they undo, as the tables have them."""
    by_step: dict[str, list[str]] = {}
    for event in RESET_EVENTS.rows:
        undone = [*event["undone"], *(event["undone_with_own_pump"] if own_pump else ())]
        if event["id"] == "V10":
            undone = sorted({_MOVED_FROM} | followers(_MOVED_FROM))
        for step in undone:
            by_step.setdefault(step, []).append(event["id"])
    return {step: tuple(events) for step, events in by_step.items()}


def followers(step: str) -> set[str]:
    """Every step of the full table that cannot be before `step` is."""
    found: set[str] = set()
    for row in PROCEDURE_STEPS.rows:
        if any(d == step or d in found for d in (*row["depends_on"], *row.get("also_with_own_pump", ()))):
            found.add(row["id"])
    return found


def in_order(steps: Iterable[Step]) -> list[Step]:
    """The steps so that each comes after what it depends on, as tables have them mostly; a cycle is a defect of the table."""
    by_id: dict[str, Step] = {}
    sorted_already = True
    for step in steps:
        sorted_already = sorted_already and by_id.keys() >= set(step.depends_on)
        by_id[step.id] = step
    if sorted_already:
        return list(by_id.values())
    try:
        return [by_id[i] for i in TopologicalSorter({s.id: s.depends_on for s in by_id.values()}).static_order()]
    except (CycleError, KeyError) as error:
        raise Defect(f"the table of steps has a cycle or a loose end: {error.args}") from None


def with_durations(steps: tuple[Step, ...], durations: Mapping[str, int]) -> tuple[Step, ...]:
    """The steps with some durations of the caller's."""
    return tuple(replace(s, duration=durations[s.id]) if s.id in durations else s for s in steps)
