"""Findings and cautions of `hydronic.surge`."""

from math import ceil, inf
from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Duration, PressureDifference, Velocity
from coldwright.contract.sentences import Words
from coldwright_hydronic.shared.cautions import HOSE_UNDER_PRESSURE, LOCAL_CODE, NEVER_LOOSEN_UNDER_PRESSURE, NO_STRAIN
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.law import Event, safe_closure_time

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
        safe = safe_closure_time((gas_free, event), limit - static, static - (vapor - given.air))
        if safe is not None:
            notes.show("t_s", "Closure that is slow enough", "rounded up to hundredths", _rounded_up(safe))
        _judge_peak(given, notes, worse, safe, static)
        _judge_trough(notes, max(gas_free, event, key=lambda e: e.rise), safe, static, vapor, given.air)
    stiffest, softest = max(event.wave_speeds), min(event.wave_speeds)
    if stiffest >= STIFF_RATIO * softest:
        i = event.wave_speeds.index(stiffest)
        j = event.wave_speeds.index(softest)
        notes.check(
            "stiff_segment",
            say(
                "{name}: {rise:.0f} if stopped at once, against {other_rise:.0f} in {other}.",
                name=given.segments[i].name,
                rise=PressureDifference.from_si(event.local_rises[i], "kPa"),
                other_rise=PressureDifference.from_si(event.local_rises[j], "kPa"),
                other=given.segments[j].name,
            ),
            why="A stiff pipe carries a fast wave: its own rise is far above that of the soft line.",
            resolve="Check the parts of the stiff segment against its own rise, or put the valve on the soft line.",
            field=f"/segments/{i}",
            references=("joukowsky_michaud",),
        )
    if event is not gas_free:
        without_gas = Velocity.of(gas_free.wave_speed, "m/s")
        notes.show("a_0", "Wave speed of the line without gas", "the same with phi = 0", without_gas)
        notes.check(
            "no_credit_for_gas",
            say(
                "With {free_gas_fraction:g} of free gas the wave runs at {with_gas:.0f} instead of "
                "{without_gas:.0f}. Without gas the rise is {rise:.0f}, with it {rise_with_gas:.0f}: "
                "the findings use the worse.",
                free_gas_fraction=given.free_gas_fraction,
                with_gas=Velocity.of(event.wave_speed, "m/s"),
                without_gas=without_gas,
                rise=PressureDifference.from_si(gas_free.rise, "kPa"),
                rise_with_gas=PressureDifference.from_si(event.rise, "kPa"),
            ),
            why="Gas gathers in pockets, and a pocket can raise the surge when the pump starts.",
            resolve="Vent every high point before the pump starts.",
            field="/free_gas_fraction",
            references=("hydronic_practice",),
        )
    notes.note(
        "valve_practice",
        say(
            "Take at least {slowest_quarter_turn:g} over a quarter-turn valve, start the pump against a "
            "partly closed discharge valve, and fit slow actuators.",
            slowest_quarter_turn=Duration.of(SLOWEST_QUARTER_TURN, "s"),
        ),
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
            say(
                "The peak is {peak:.0f}, {excess:.0f} above the {limit:.0f} that the parts may take.",
                peak=PressureDifference.from_si(peak, "kPa"),
                excess=PressureDifference.from_si(peak - limit, "kPa"),
                limit=PressureDifference.from_si(limit, "kPa"),
            ),
            why="Hose and couplings burst or part.",
            resolve=resolve,
            field="/closure_time",
            references=("joukowsky_michaud",),
        )
    elif event.fast and static + max(event.local_rises) > limit:
        i = event.local_rises.index(max(event.local_rises))
        local = PressureDifference.from_si(static + event.local_rises[i], "kPa")
        own = f"{static / 1e3:.5g} kPa + {event.local_rises[i] / 1e3:.5g} kPa"
        notes.show("p_i", f"Peak in {given.segments[i].name}, if stopped at once", own, local)
        notes.stop(
            "local_peak_over_working",
            say(
                "In {name} the peak is {peak:.0f}, above the {limit:.0f} that the parts may take.",
                name=given.segments[i].name,
                peak=local,
                limit=PressureDifference.from_si(limit, "kPa"),
            ),
            why="Before the wave has reached the softer segments, this one takes its own full rise.",
            resolve=resolve,
            field=f"/segments/{i}",
            references=("joukowsky_michaud",),
        )
    elif static + event.worst_rise > NEAR_WORKING * working:
        notes.check(
            "peak_near_working",
            say(
                "The peak is {peak:.0f}, over {near_working:g} of the working pressure of {working:.0f}.",
                peak=PressureDifference.from_si(static + event.worst_rise, "kPa"),
                near_working=NEAR_WORKING,
                working=PressureDifference.from_si(working, "kPa"),
            ),
            why="The method knows neither worn hose nor a valve that snaps in its last quarter.",
            resolve="Close more slowly, or take parts of a higher rating.",
            field="/closure_time",
            references=("hydronic_practice",),
        )


def _slower(safe: float | None) -> Words:
    if safe is None:
        return "The pressure before the event already uses up the rating: take parts of a higher rating."
    return say("Close in {time:.2f} or more, take less flow, or take parts of a higher rating.", time=_rounded_up(safe))


def _rounded_up(time: float) -> Duration:
    """Never rounded below the time."""
    return Duration.of(ceil(time * 100) / 100, "s")


def _judge_trough(notes: Notes, event: Event, safe: float | None, static: float, vapor: float, air: float) -> None:
    trough = event.trough(static, vapor, air)
    floor = vapor - air
    if trough <= floor:
        needed = PressureDifference.from_si(floor + event.rise, "kPa")
        notes.show("p_need", "Pressure before the event that keeps the column whole", "p_vapour - p_air + dp", needed)
        raise_it = say("Raise the pressure before the event above {needed:.0f}.", needed=needed)
        if safe is not None:
            raise_it = say(
                "Close in {time:.2f} or more, or raise the pressure before the event above {needed:.0f}.",
                time=_rounded_up(safe),
                needed=needed,
            )
        notes.stop(
            "column_separates",
            say(
                "The trough reaches the vapour pressure ({trough:.1f} gauge).",
                trough=PressureDifference.from_si(trough, "kPa"),
            ),
            why="The column parts, and when it closes again the peak can be above the one worked out here.",
            resolve=raise_it,
            field="/static_pressure",
            references=("joukowsky_michaud",),
        )
    if trough < 0:
        notes.check(
            "trough_below_atmosphere",
            say("The trough is {trough:.1f} gauge.", trough=PressureDifference.from_si(trough, "kPa")),
            why="Lay-flat hose collapses, and couplings draw air in.",
            resolve=say(
                "Raise the pressure before the event above {rise:.0f}, or close more slowly.",
                rise=PressureDifference.from_si(event.rise, "kPa"),
            ),
            field="/static_pressure",
            references=("hydronic_practice",),
        )
