"""What a fault current means for the machine, the device and the cable."""

from typing import Final

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, Reference, finding, say
from coldwright.contract.quantities import Current, Duration
from coldwright_basis.compare import above, at_least, below
from coldwright_basis.trade_words import word
from coldwright_electrical.fault_current.given import FaultCurrentGiven
from coldwright_electrical.fault_current.path import FAULT_FACTORS, Segment, Source, unused_fields
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL
from coldwright_electrical.shared.protection import (
    EQUIPMENT_GROUND,
    PROTECTIVE_CONDUCTOR,
    equipment_ground,
    protective_conductor,
)
from coldwright_electrical.shared.references import COMMON_PRACTICE, NEC
from coldwright_electrical.shared.sizes import cross_section

NEC_110_10 = Reference(
    id="nec_110_10",
    title=NEC,
    edition="2005: 110.10; 2017 and 2020: 440.4(B); 2023 numbering of the rest",
    clause="110.9; 110.10; 440.4(B); 440.10; 250.4(A)(5)",
    provenance="seen_reproduced",
    remark="110.10 and 440.4(B) as discussed in magazine articles, one of 2005; the rest from memory.",
)

PLAN_REVIEW_SHEET = Reference(
    id="point_to_point_sheet",
    title="Point-to-point method of fault current, a public plan-review sheet",
    clause="f = sqrt3 L I / (C n V), M = 1/(1 + f)",
    provenance="seen",
    remark="It adds magnitudes and not vectors, so it understates the current. A cross-check only.",
)

REFERENCES: Final = (NEC_110_10, PLAN_REVIEW_SHEET)


FINDINGS: Final = (
    finding("above_machine_rating", "stop", "The fault current is above the machine's short-circuit rating."),
    finding("above_interrupting_rating", "stop", "The fault current is above what the device can break."),
    finding("earth_fault_not_cleared", "stop", "The device does not clear an earth fault at the machine."),
    finding("machine_unmarked", "check", "The machine has no short-circuit rating."),
    finding("near_machine_rating", "check", "The fault current is within 10 % of the machine's rating."),
    finding("source_assumed", "check", "Data of the source were assumed."),
    finding("generator_fault_by_magnetic_trip", "check", "The set may be too weak to trip the breaker on a fault."),
    finding("ground_undersized", "check", "The ground conductor is smaller than the table asks."),
    finding("withstand_short", "check", "The conductor may not stand the fault for the time allowed."),
    finding("fuse_curve_assumed", "check", "The fuse's operating current was read from a table of gG fuses."),
    finding("fuse_curve_missing", "check", "The fuse's operating current is not known."),
    finding(FREQUENCY_UNUSUAL, "check", "Frequency and practice do not usually go together."),
    finding("earth_fault_not_asked", "note", "Without every ground conductor the earth fault is not worked out."),
    finding("source_field_unused", "note", "Fields that belong to another kind of source were not used."),
    finding("tn_only", "note", "The earth fault is judged for TN supplies only."),
    finding("arc_flash", "note", "The fault level also sets the arc-flash hazard."),
)


def judge_machine(given: FaultCurrentGiven, notes: Notes, current: float) -> str:
    """Verdict against the machine's rating: ok, exceeds, unknown."""
    if isinstance(given.machine_short_circuit_rating, UnsetType):
        screen = float(FAULT_FACTORS.rows["unmarked_machine_rating"])
        side = "above" if above(current, screen) else "within"
        notes.check(
            "machine_unmarked",
            say(
                "The machine's plate shows no short-circuit rating. The current, {current:.5g}, is "
                "{side} the {screen:g} that unmarked equipment is built for.",
                current=Current.of(current, "A"),
                side=side,
                screen=Current.of(screen, "A"),
            ),
            resolve="Ask the maker for the rating.",
            field="/machine_short_circuit_rating",
            references=(NEC_110_10.id, FAULT_FACTORS.reference.id),
        )
        return "unknown"
    rating = given.machine_short_circuit_rating.to("A")
    if above(current, rating):
        notes.stop(
            "above_machine_rating",
            say(
                "The fault current at the machine, {current:.5g}, is {excess:.4g} above its rating, {rating:g}.",
                current=Current.of(current, "A"),
                excess=Current.of(current - rating, "A"),
                rating=Current.of(rating, "A"),
            ),
            why="A controller can burst. A fuse does not lower the figure unless the plate names its class and size.",
            resolve="Longer or smaller cable, a transformer between, another point of supply, or a machine rated higher.",
            field="/machine_short_circuit_rating",
            references=(NEC_110_10.id,),
        )
        return "exceeds"
    if current > 0.9 * rating:
        notes.check(
            "near_machine_rating",
            say(
                "The fault current, {current:.5g}, is {margin:.1%} below the machine's rating, {rating:g}.",
                current=Current.of(current, "A"),
                margin=1 - current / rating,
                rating=Current.of(rating, "A"),
            ),
            why="A utility that changes its transformer can take it above.",
            resolve="Ask the utility for its greatest current, today and planned.",
            field="/machine_short_circuit_rating",
            references=(COMMON_PRACTICE.id,),
        )
    return "ok"


def judge_device(given: FaultCurrentGiven, notes: Notes, current: float) -> None:
    """Interrupting rating at the head of the circuit."""
    if isinstance(given.device, UnsetType) or isinstance(given.device.interrupting_rating, UnsetType):
        return
    rating = given.device.interrupting_rating.to("A")
    if above(current, rating):
        notes.stop(
            "above_interrupting_rating",
            say(
                "The fault current at the device, {current:.5g}, is {excess:.4g} above what it can break, {rating:g}.",
                current=Current.of(current, "A"),
                excess=Current.of(current - rating, "A"),
                rating=Current.of(rating, "A"),
            ),
            why="A device that cannot break a fault explodes.",
            resolve="A device of higher interrupting rating, or a listed combination with one before it.",
            field="/device/interrupting_rating",
            references=(NEC_110_10.id,),
        )


def judge_clearing(
    given: FaultCurrentGiven, notes: Notes, current: float | None, required: float | None
) -> bool | None:
    """Whether the earth fault operates the device in time."""
    fault = word("earth_fault", given.practice)
    if given.practice == "iec":
        notes.note(
            "tn_only",
            "The earth fault is judged for TN. TT asks for a residual-current device, IT for an insulation monitor.",
        )
    if isinstance(given.device, UnsetType):
        return None
    if current is None:
        notes.note(
            "earth_fault_not_asked",
            f"The size of the {word('protective_conductor', given.practice)} is missing in a segment: the {fault} is not "
            "worked out.",
            field="/segments",
        )
    if required is None:
        notes.check(
            "fuse_curve_missing",
            "The current that operates the fuse in time is not known.",
            resolve="Read it off the fuse's curve and give device.operating_current.",
            field="/device/operating_current",
        )
    if current is None or required is None:
        return None
    by_residual_current = given.device.residual_operating_current is not UNSET
    if _trips_magnetically(given) and not by_residual_current and given.source.kind == "generator":
        notes.check(
            "generator_fault_by_magnetic_trip",
            say(
                "The generator may be too weak to trip the breaker on a fault: its magnetic release "
                "needs {required:.5g}.",
                required=Current.of(required, "A"),
            ),
            why="A set's fault current falls to three times its rating or less within 0.3 s.",
            resolve=f"Ask the electrician for {fault.replace(' ', '-')} protection"
            + (" or a residual-current device." if given.practice == "iec" else "."),
            field="/device",
            references=(COMMON_PRACTICE.id,),
        )
    if at_least(current, required):
        return True
    notes.stop(
        "earth_fault_not_cleared",
        say(
            "The {fault} current at the machine is {current:.5g}; the device needs {required:.5g} to act "
            "in time, {shortfall:.4g} more.",
            fault=fault,
            current=Current.of(current, "A"),
            required=Current.of(required, "A"),
            shortfall=Current.of(required - current, "A"),
        ),
        why="Until it clears, everything bonded to the machine may stay live.",
        resolve=f"A larger {word('protective_conductor', given.practice)}, a shorter run, a lower magnetic setting, or "
        f"{fault.replace(' ', '-')} or residual-current protection.",
        field="/device",
        references=(NEC_110_10.id,),
    )
    return False


def _trips_magnetically(given: FaultCurrentGiven) -> bool:
    device = given.device
    if isinstance(device, UnsetType):
        return False
    return device.kind == "circuit_breaker" and isinstance(device.operating_current, UnsetType)


def judge_ground(given: FaultCurrentGiven, notes: Notes, segments: list[Segment]) -> None:
    """Each ground against the table of the practice."""
    for index, segment in enumerate(segments):
        size = segment.given.ground_conductor_size
        if isinstance(size, UnsetType):
            continue
        least: str | None = None
        if given.practice == "iec":
            least, table = protective_conductor(segment.given.conductor_size), PROTECTIVE_CONDUCTOR
        elif not isinstance(given.device, UnsetType):
            least, table = equipment_ground(given.device.rating.to("A")), EQUIPMENT_GROUND
        if least is not None and below(cross_section(size), cross_section(least)):
            notes.check(
                "ground_undersized",
                f"The {word('protective_conductor', given.practice)} of segment {index} is {size}; the table asks for {least}.",
                resolve=f"Run {least} or larger as {word('protective_conductor', given.practice)}.",
                field=f"/segments/{index}/ground_conductor_size",
                references=(table.reference.id,),
            )


def judge_withstand(
    given: FaultCurrentGiven, notes: Notes, withstand: float | None, limit: float | None, *, at_once: bool
) -> None:
    """Heating of the conductors against the time allowed; a magnetic trip that clears needs an instant only."""
    if _trips_magnetically(given) and at_once:
        return
    if withstand is not None and limit is not None and withstand < limit:
        notes.check(
            "withstand_short",
            say(
                "The weakest conductor stands the fault for {withstand:.3g}; up to {limit:g} is allowed to clear it.",
                withstand=Duration.of(withstand, "s"),
                limit=Duration.of(limit, "s"),
            ),
            resolve="Make sure that the device clears sooner, or take larger conductors.",
            field="/segments",
            references=(FAULT_FACTORS.reference.id,),
        )


def note_source(given: FaultCurrentGiven, notes: Notes, source: Source) -> None:
    """What was assumed of the source, and which inputs were ignored."""
    if source.assumed:
        notes.check(
            "source_assumed",
            f"Assumed of the source: {', '.join(source.assumed)}.",
            why="The verdict is as good as these figures.",
            resolve="Ask the utility or the operator of the source.",
            field="/source",
        )
    if unused := unused_fields(given.source):
        notes.note(
            "source_field_unused",
            f"Not used with a source of kind {given.source.kind}: {', '.join(unused)}.",
            field=f"/source/{unused[0]}",
        )
    notes.note(
        "arc_flash",
        "The fault level also sets the arc-flash hazard: a longer, weaker cable can raise it, since the device clears "
        "later.",
        references=(COMMON_PRACTICE.id,),
    )
