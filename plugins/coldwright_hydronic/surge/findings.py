"""Findings and cautions of `hydronic.surge`."""

from math import ceil, inf
from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, finding
from coldwright_hydronic.shared.cautions import HOSE_UNDER_PRESSURE, LOCAL_CODE, NEVER_LOOSEN_UNDER_PRESSURE, NO_STRAIN
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.law import Event, safe_closure_time
from coldwright_hydronic.surge.liquid import ATMOSPHERE

FINDINGS: Final = (
    finding("peak_over_working", "stop", "The peak is above the working pressure with its allowance."),
    finding("local_peak_over_working", "stop", "The peak in one stiff segment is above it."),
    finding("peak_near_working", "check", "The peak is above 0.8 of the working pressure."),
    finding("column_separates", "stop", "The trough reaches the vapour pressure: the column parts and slams."),
    finding("trough_below_atmosphere", "check", "The trough is below atmosphere: lay-flat hose collapses."),
    finding("stiff_segment", "check", "A stiff segment on a soft line: its local rise is far higher."),
    finding("no_credit_for_gas", "check", "Free gas lowers the wave speed; no credit may be taken for it."),
    finding("valve_practice", "note", "How valves and pumps should be worked."),
)

NEAR_WORKING = 0.8

STIFF_RATIO = 2.0
"""Wave speeds this far apart in one line mean a stiff pipe on a soft hose."""

SLOWEST_QUARTER_TURN = 5.0


def judge(given: SurgeGiven, notes: Notes, event: Event, gas_free: Event, vapor: float) -> None:
    """Everything that a person should know of this event. No credit is taken for gas: the worse of the two is judged.

    Gas slows the wave, so that a closure that is slow without it can be fast with it.
    """
    worse = max(gas_free, event, key=lambda e: e.worst_rise)
    if given.static_pressure is not UNSET:
        static = given.static_pressure.si
        limit = (
            inf if given.working_pressure is UNSET else given.working_pressure.si * (1 + given.surge_allowance_fraction)
        )
        safe = safe_closure_time((gas_free, event), limit - static, static - (vapor - ATMOSPHERE))
        _judge_peak(given, notes, worse, safe, static)
        _judge_trough(notes, max(gas_free, event, key=lambda e: e.rise), safe, static, vapor)
    stiffest, softest = max(event.wave_speeds), min(event.wave_speeds)
    if stiffest >= STIFF_RATIO * softest:
        i = event.wave_speeds.index(stiffest)
        j = event.wave_speeds.index(softest)
        notes.check(
            "stiff_segment",
            f"{given.segments[i].name}: {event.local_rises[i] / 1e3:.0f} kPa if stopped at once, against "
            f"{event.local_rises[j] / 1e3:.0f} kPa in {given.segments[j].name}.",
            why="A stiff pipe carries a fast wave: its own rise is far above that of the soft line",
            resolve="Check the parts of the stiff segment against its own rise, or put the valve on the soft line.",
            field=f"/segments/{i}",
            references=("joukowsky_michaud",),
        )
    if event is not gas_free:
        notes.check(
            "no_credit_for_gas",
            f"With {given.free_gas_fraction:g} of free gas the wave runs at {event.wave_speed:.0f} instead of "
            f"{gas_free.wave_speed:.0f} m/s. Without gas the rise is {gas_free.rise / 1e3:.0f} kPa, with it "
            f"{event.rise / 1e3:.0f} kPa: the findings use the worse.",
            why="Gas gathers in pockets, and a pocket can raise the surge when the pump starts",
            resolve="Vent every high point before the pump starts.",
            field="/free_gas_fraction",
            references=("hydronic_practice",),
        )
    notes.note(
        "valve_practice",
        f"Take at least {SLOWEST_QUARTER_TURN:g} s over a quarter-turn valve, start the pump against a partly closed "
        "discharge valve, and fit slow actuators.",
        references=("hydronic_practice",),
    )
    notes.caution(HOSE_UNDER_PRESSURE, NO_STRAIN, NEVER_LOOSEN_UNDER_PRESSURE, LOCAL_CODE)


def _judge_peak(given: SurgeGiven, notes: Notes, event: Event, safe: float | None, static: float) -> None:
    if given.working_pressure is UNSET:
        return
    working = given.working_pressure.si
    limit = working * (1 + given.surge_allowance_fraction)
    peak = static + event.rise
    resolve = _slower(safe)
    if peak > limit:
        notes.stop(
            "peak_over_working",
            f"The peak is {peak / 1e3:.0f} kPa, {(peak - limit) / 1e3:.0f} kPa above the {limit / 1e3:.0f} kPa that the "
            "parts may take.",
            why="Hose and couplings burst or part",
            resolve=resolve,
            field="/closure_time",
            references=("joukowsky_michaud",),
        )
    elif event.fast and static + max(event.local_rises) > limit:
        i = event.local_rises.index(max(event.local_rises))
        notes.stop(
            "local_peak_over_working",
            f"In {given.segments[i].name} the peak is {(static + event.local_rises[i]) / 1e3:.0f} kPa, above the "
            f"{limit / 1e3:.0f} kPa that the parts may take.",
            why="Before the wave has reached the softer segments, this one takes its own full rise",
            resolve=resolve,
            field=f"/segments/{i}",
            references=("joukowsky_michaud",),
        )
    elif static + event.worst_rise > NEAR_WORKING * working:
        notes.check(
            "peak_near_working",
            f"The peak is {(static + event.worst_rise) / 1e3:.0f} kPa, over {NEAR_WORKING:g} of the working pressure of "
            f"{working / 1e3:.0f} kPa.",
            why="The method knows neither worn hose nor a valve that snaps in its last quarter",
            resolve="Close more slowly, or take parts of a higher rating.",
            field="/closure_time",
            references=("hydronic_practice",),
        )


def _slower(safe: float | None) -> str:
    if safe is None:
        return "The pressure before the event already uses up the rating: take parts of a higher rating."
    return f"Close in {_seconds(safe)} s or more, take less flow, or take parts of a higher rating."


def _seconds(time: float) -> str:
    """Never rounded below the time."""
    return f"{ceil(time * 100) / 100:.2f}"


def _judge_trough(notes: Notes, event: Event, safe: float | None, static: float, vapor: float) -> None:
    trough = event.trough(static, vapor, ATMOSPHERE)
    floor = vapor - ATMOSPHERE
    if trough <= floor:
        raised = f"aise the pressure before the event above {(floor + event.rise) / 1e3:.0f} kPa."
        notes.stop(
            "column_separates",
            f"The trough reaches the vapour pressure ({trough / 1e3:.1f} kPa gauge).",
            why="The column parts, and when it closes again the peak can be above the one worked out here",
            resolve="R" + raised if safe is None else f"Close in {_seconds(safe)} s or more, or r{raised}",
            field="/static_pressure",
            references=("joukowsky_michaud",),
        )
    if trough < 0:
        notes.check(
            "trough_below_atmosphere",
            f"The trough is {trough / 1e3:.1f} kPa gauge.",
            why="Lay-flat hose collapses, and couplings draw air in",
            resolve=f"Raise the pressure before the event above {event.rise / 1e3:.0f} kPa, or close more slowly.",
            field="/static_pressure",
            references=("hydronic_practice",),
        )
