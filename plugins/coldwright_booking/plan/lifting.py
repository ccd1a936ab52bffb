"""What sets the machines down: the lift by crane or fork truck, and what a crane's outriggers press on."""

from dataclasses import dataclass
from math import hypot
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Area, Length, Mass, Speed
from coldwright_basis.compare import whole_at_least
from coldwright_booking.access.given import Access, ForkTruck
from coldwright_booking.fleet.given import MachineType, Mat
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.block import Block
from coldwright_booking.plan.desk import Asked, Desk, Unanswered
from coldwright_booking.plan.machines import Machines
from coldwright_site.ground import ground
from coldwright_site.ground.given import CraneOnGround, GroundGiven
from coldwright_site.ground.results import GroundResults
from coldwright_site.lift import lift
from coldwright_site.lift.given import NO_MASS, LiftGiven
from coldwright_site.lift.results import LiftResults

LEG_SLOPE = 1.7321
"""Height over reach of sling legs at 60 deg from the horizontal (common practice), rounded so that they are no flatter."""
LEAST_HOOK = 0.5
OUTRIGGERS = 4
"""Of a mobile crane (common practice)."""
OFF_THE_DECK = Length(1.5, "m")
"""Height that a fork truck lifts to when it takes a machine off a vehicle: the deck (common practice)."""


@dataclass(frozen=True)
class Outriggers:
    """A crane's outriggers on this ground, and the mats below them."""

    asked: Asked[GroundGiven, GroundResults] | Unanswered
    row: Mat | None
    """Mat of the stock; None where it has none with its sizes."""
    mats: int
    """Pieces below all outriggers; 0 where the load is not known."""


@dataclass(frozen=True)
class Lifting:
    """How the machines leave the vehicle."""

    lifts: tuple[tuple[MachineType, Asked[LiftGiven, LiftResults] | Unanswered], ...]
    """One a type; none where nothing lifts, or where the fork truck is not given."""
    outriggers: Outriggers | None
    """None without a crane, or where its mass is not given."""

    @property
    def wind_limit(self) -> Speed | UnsetType:
        """Gust in which every machine may be lifted; absent where the chart's wind is not given."""
        limits = [a.results.wind_speed_limit for _, a in self.lifts if isinstance(a, Asked)]
        known = [limit for limit in limits if not isinstance(limit, UnsetType)]
        return min(known, key=lambda limit: limit.si) if known else UNSET

    @property
    def asked(self) -> tuple[object, ...]:
        """What was asked, in order."""
        return (*(a for _, a in self.lifts), self.outriggers and self.outriggers.asked)


class LiftingNeeds(NamedTuple):
    """What the lift takes of the plan."""

    facts: Facts
    machines: Machines


def decide(needs: LiftingNeeds, desk: Desk) -> Lifting:
    """Ask for each type."""
    facts, machines = needs.facts, [p.machine for p in needs.machines.combination]
    access = facts.order.access
    if facts.lift == "crane":
        lifts = tuple((m, desk.try_ask(lift, _by_crane(m, access))) for m in machines)
        return Lifting(lifts, _outriggers(facts, desk, lifts))
    if facts.lift == "fork_truck" and access.fork_truck is not UNSET:
        truck = access.fork_truck
        return Lifting(tuple((m, desk.try_ask(lift, _by_fork_truck(m, truck))) for m in machines), None)
    return Lifting((), None)


LIFTING = Block("lifting", LiftingNeeds, (lift, ground), decide)


def _by_crane(machine: MachineType, access: Access) -> LiftGiven:
    body = machine.body
    picks, centre = body.lifting_points, body.centre_of_gravity
    hook: Length | UnsetType = UNSET
    if picks and centre is not UNSET:
        reach = max(hypot(p.x.si - centre.x.si, p.y.si - centre.y.si) for p in picks)
        hook = Length.of(max(p.z.si for p in picks) + max(LEG_SLOPE * reach, LEAST_HOOK), "m")
    known = hook is not UNSET
    return LiftGiven(
        method="crane",
        load_mass=body.mass_operating,
        load_mass_basis="data_plate",
        rigging_mass=NO_MASS if access.rigging_mass is UNSET else access.rigging_mass,
        hook_block_mass=NO_MASS if access.hook_block_mass is UNSET else access.hook_block_mass,
        crane_chart_capacity=access.crane_chart_capacity,
        chart_wind_speed=access.crane_wind_limit,
        expected_gust=access.expected_gust,
        expected_wind=access.expected_wind,
        pick_points=picks if known else (),
        centre_of_gravity=centre if known else UNSET,
        hook_z=hook,
        load_face_area=Area.of(body.length.si * body.height.si, "m2"),
    )


def _by_fork_truck(machine: MachineType, truck: ForkTruck) -> LiftGiven:
    """The forks go under from a long side, the centre of gravity in the middle of the width."""
    body = machine.body
    return LiftGiven(
        method="fork_truck",
        load_mass=body.mass_operating,
        load_mass_basis="data_plate",
        rated_capacity=truck.rated_capacity,
        rated_load_centre=truck.rated_load_centre,
        rated_lift_height=truck.rated_lift_height,
        load_centre=Length.of(body.width.to("m") / 2, "m"),
        lift_height=OFF_THE_DECK,
        fork_length=truck.fork_length,
        load_depth=body.width,
    )


def _outriggers(
    facts: Facts, desk: Desk, lifts: tuple[tuple[MachineType, Asked[LiftGiven, LiftResults] | Unanswered], ...]
) -> Outriggers | None:
    """Below the heaviest hook load, by 0.65 of crane, load and rigging on one foot; None where the crane is not given."""
    crane = facts.order.access.crane_mass
    hooks = [a.results.hook_load.mass.si for _, a in lifts if isinstance(a, Asked) and a.results.hook_load is not UNSET]
    if crane is UNSET or not hooks:
        return None
    stated = facts.order.site.ground
    soil = UNSET if stated is UNSET else stated.soil_class
    allowed = UNSET if stated is UNSET else stated.allowable_bearing_pressure
    asked = desk.try_ask(
        ground,
        GroundGiven(
            contact="outrigger",
            crane=CraneOnGround(mass=crane, load_mass=Mass.from_si(max(hooks), "kg")),
            soil_class="clay" if soil is UNSET and allowed is UNSET else soil,
            rules=facts.rules,
            allowable_bearing_pressure=allowed,
            services_known=False if stated is UNSET else stated.services_known,
        ),
    )
    row = next(
        (
            a
            for a in sorted(facts.fleet.accessories, key=lambda a: -a.count)
            if isinstance(a, Mat) and a.length is not UNSET and a.width is not UNSET
        ),
        None,
    )
    if isinstance(asked, Unanswered) or asked.results.required_area is UNSET:
        return Outriggers(asked, row, 0)
    area = asked.results.required_area.si
    each = (
        1
        if row is None or row.length is UNSET or row.width is UNSET
        else whole_at_least(area / (row.length.si * row.width.si))
    )
    return Outriggers(asked, row, OUTRIGGERS * each)
