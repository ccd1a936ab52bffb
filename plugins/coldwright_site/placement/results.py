"""What `site.placement` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Angle, Length, Temperature, Velocity
from coldwright_site.placement.given import Face


class Clearance(Results, frozen=True, kw_only=True):
    """A distance between two things and what is asked for."""

    pair: Annotated[tuple[str, ...], about("The two names.")]
    distance: Annotated[Length, about("Least distance.")]
    required: Annotated[Length, about("Distance asked for.")]
    margin: Annotated[Length, about("Distance less what is asked for.")]
    rule: Annotated[str, about("Which rule asks.")]
    face: Annotated[Face, about("Side of the first, where the rule is of a side.")] | UnsetType = UNSET


class RouteCrossing(Results, frozen=True, kw_only=True):
    """A place where hoses or cables cross a way; a set of ramps each."""

    route: Annotated[Literal["hose", "cable"], about("What crosses.")]
    obstacle: Annotated[str, about("The way.")]
    x: Annotated[Length, about("Along x.")]
    y: Annotated[Length, about("Along y.")]


class ArrangedMachine(Results, frozen=True, kw_only=True):
    """Where a machine stands."""

    id: Annotated[str, about("Name of the machine.")]
    x: Annotated[Length, about("Of its middle.")]
    y: Annotated[Length, about("Of its middle.")]
    rotation: Annotated[Angle, about("Counter-clockwise.")]


class LeastArea(Results, frozen=True, kw_only=True):
    """The least rectangle that holds the machines with their distances, as between walls."""

    length: Annotated[Length, about("Along x.")]
    width: Annotated[Length, about("Along y.")]


class MissingTogether(Results, frozen=True, kw_only=True):
    """How much farther the area would have to reach along both at once, where neither alone would do."""

    along_x: Annotated[Length, about("Along x.")]
    along_y: Annotated[Length, about("And along y.")]


class Missing(Results, frozen=True, kw_only=True):
    """How much farther the area would have to reach, one way or the other; what alone would not do is left out."""

    along_x: Annotated[Length, about("Along x alone.")] | UnsetType = UNSET
    along_y: Annotated[Length, about("Along y alone.")] | UnsetType = UNSET
    together: Annotated[MissingTogether, about("Along both, where neither alone would do.")] | UnsetType = UNSET
    proved: Annotated[
        bool, about("Whether nothing at all can hold them: too little area, or one too wide; else by what was tried.")
    ]


class PlacementResults(Results, frozen=True, kw_only=True):
    """Positions, distances, air, stand and routes."""

    positions: Annotated[
        tuple[ArrangedMachine, ...],
        about("Where they were arranged, in their order; none where the area is too small."),
    ] = ()
    least_area: Annotated[LeastArea, about("With `arrange`: the least rectangle.")] | UnsetType = UNSET
    missing: Annotated[Missing, about("Of an area that is too small.")] | UnsetType = UNSET

    clearances: Annotated[tuple[Clearance, ...], about("Every distance that a rule speaks of.")] = ()
    smallest_margin: Annotated[Length, about("The least of the margins.")] | UnsetType = UNSET
    inlet_velocity: Annotated[Velocity, about("Of the air down into a pit or between walls.")] | UnsetType = UNSET
    recirculated_air_temperature: Annotated[Temperature, about("Air that the group draws.")] | UnsetType = UNSET
    stand_height: Annotated[Length, about("Least height of the stand above grade.")]
    crossings: Annotated[tuple[RouteCrossing, ...], about("Of hoses, then of cables.")] = ()
    hose_length_needed: Annotated[Length, about("Of the hose route, one way.")] | UnsetType = UNSET
    cable_length_needed: Annotated[Length, about("Of the cable route.")] | UnsetType = UNSET
    plan_svg: (
        Annotated[
            str, about("Plan drawing to scale, SVG, A4 across, in feet where the machines' sizes are; with `drawing`.")
        ]
        | UnsetType
    ) = UNSET
