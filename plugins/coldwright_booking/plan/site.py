"""Ground and sound."""

from dataclasses import dataclass
from typing import Any, NamedTuple

from msgspec import UNSET

from coldwright.contract.quantities import Length
from coldwright_booking.fleet.given import MachineBody, MachineType
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.machines import Combination, Machines
from coldwright_booking.plan.supply import SupplyPlan
from coldwright_site.ground import ground
from coldwright_site.ground.given import GroundGiven
from coldwright_site.ground.results import GroundResults
from coldwright_site.shared.given import Offset
from coldwright_site.sound import sound
from coldwright_site.sound.given import ReceiverGiven, SoundGiven, SoundSourceGiven
from coldwright_site.sound.results import SoundResults

EAR = Length(1.5, "m")
MIDDLE_OF_SET = Length(1.0, "m")
"""Half the height of a generating set in its canopy (common practice); the stock does not give its size."""
RUNNER = Length(150, "mm")
"""Width of one runner of a skid (common practice)."""


@dataclass(frozen=True)
class SitePlan:
    """What the site asks of the machines."""

    grounds: tuple[tuple[MachineType, Asked[GroundGiven, GroundResults] | Unanswered], ...]
    sound: Asked[SoundGiven, SoundResults] | Unanswered | None
    set_heard: bool
    """Whether the generating set is among the sources of sound."""

    @property
    def asked(self) -> tuple[object, ...]:
        """What was asked of the site, in order."""
        return (*(a for _, a in self.grounds), self.sound)


class SiteNeeds(NamedTuple):
    """What the site takes of the plan."""

    facts: Facts
    machines: Machines
    supply: SupplyPlan | Unanswered | None


def decide(needs: SiteNeeds, desk: Desk) -> SitePlan:
    """Ask for each type, and for all machines together."""
    facts, combination, supply = needs.facts, needs.machines.combination, needs.supply
    sound_asked = _sound(facts, desk, combination, supply)
    machines = [p.machine for p in combination]
    return SitePlan(
        grounds=tuple((m, desk.try_ask(ground, _ground(facts, m))) for m in machines),
        sound=sound_asked,
        set_heard=isinstance(sound_asked, Asked) and bool(_set_as_source(supply)),
    )


SITE = Block("site", SiteNeeds, (ground, sound), decide)


def _ground(facts: Facts, machine: MachineType) -> GroundGiven:
    body, stated = machine.body, facts.order.site.ground
    soil = UNSET if stated is UNSET else stated.soil_class
    allowed = UNSET if stated is UNSET else stated.allowable_bearing_pressure
    return GroundGiven(
        **_contact(body),
        load=body.mass_operating,
        soil_class="clay" if soil is UNSET and allowed is UNSET else soil,
        rules=facts.rules,
        allowable_bearing_pressure=allowed,
        slope=UNSET if stated is UNSET else stated.slope,
        services_known=False if stated is UNSET else stated.services_known,
    )


def _contact(body: MachineBody) -> dict[str, Any]:
    """What presses: feet or wheels as they are given, else the two runners of a skid, not the whole plan of the machine.

    The runners are stated as one strip as wide as both. Across them the weight leans on runners half the machine's width
    apart, which bends the pressure less than on the strip: e' = 2 b e / (3 w) gives the strip the pressure of the runners.
    """
    support = body.support
    if support is not UNSET and support.kind != "skid":
        centre = body.centre_of_gravity
        x = sum(f.x.si for f in support.feet) / len(support.feet)
        y = sum(f.y.si for f in support.feet) / len(support.feet)
        lean = Offset(x=Length.of(x, "m"), y=Length.of(y, "m"))
        if centre is not UNSET:
            lean = Offset(x=centre.x, y=centre.y)
        return {"contact": "feet", "feet": support.feet, "eccentricity": lean}
    runner = RUNNER if support is UNSET or support.runner_width is UNSET else support.runner_width
    strip, lean = 2 * runner.si, _eccentricity(body)
    across = lean.y.si * strip / (3 * max(body.width.si - runner.si, runner.si))
    return {
        "contact": "skid",
        "contact_length": body.length,
        "contact_width": Length.of(strip, "m"),
        "eccentricity": Offset(x=lean.x, y=Length.of(across, "m")),
    }


def _eccentricity(body: MachineBody) -> Offset:
    """Centre of gravity from the middle of the lifting points, which stand for the middle of the skid."""
    picks, centre = body.lifting_points, body.centre_of_gravity
    if len(picks) < 3 or centre is UNSET:
        return Offset(x=Length(0, "m"), y=Length(0, "m"))
    x = centre.x.si - sum(p.x.si for p in picks) / len(picks)
    y = centre.y.si - sum(p.y.si for p in picks) / len(picks)
    return Offset(x=Length.of(x, "m"), y=Length.of(y, "m"))


def _sound(
    facts: Facts, desk: Desk, combination: Combination, supply: SupplyPlan | Unanswered | None
) -> Asked[SoundGiven, SoundResults] | Unanswered | None:
    limits = facts.order.site.sound_limits
    sources = tuple(
        SoundSourceGiven(
            id=f"{p.machine.type} {number + 1}"[:100],
            x=Length(0, "m"),
            y=Length(0, "m"),
            z=Length.of(p.machine.body.height.si / 2, "m"),
            sound_power_level=p.machine.sound_power_level,
            largest_side=p.machine.body.length,
        )
        for p in combination
        if p.machine.sound_power_level is not UNSET
        for number in range(p.count)
    )
    if not limits or len(sources) < sum(p.count for p in combination):
        return None
    receivers = tuple(
        ReceiverGiven(
            id=limit.id or f"place {number + 1}",
            x=limit.distance,
            y=Length(0, "m"),
            z=EAR,
            limit_day=limit.limit_day,
            limit_night=limit.limit_night,
        )
        for number, limit in enumerate(limits)
    )
    sources += _set_as_source(supply)
    return desk.try_ask(sound, SoundGiven(method="simple", sources=sources, receivers=receivers))


def _set_as_source(supply: SupplyPlan | Unanswered | None) -> tuple[SoundSourceGiven, ...]:
    """The generating set of the plan, beside the machines; none where its sound is not given."""
    row = supply.generator_row if isinstance(supply, SupplyPlan) else None
    if row is None or row.sound_power_level is UNSET:
        return ()
    return (
        SoundSourceGiven(
            id=f"{row.item}, generating set"[:100],
            x=Length(0, "m"),
            y=Length(0, "m"),
            z=MIDDLE_OF_SET,
            sound_power_level=row.sound_power_level,
        ),
    )
