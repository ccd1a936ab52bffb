"""What `site.placement` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Length, Temperature, Velocity
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


class PlacementResults(Results, frozen=True, kw_only=True):
    """Distances, air, stand and routes."""

    clearances: Annotated[tuple[Clearance, ...], about("Every distance that a rule speaks of.")] = ()
    smallest_margin: Annotated[Length, about("The least of the margins.")] | UnsetType = UNSET
    inlet_velocity: Annotated[Velocity, about("Of the air down into a pit or between walls.")] | UnsetType = UNSET
    recirculated_air_temperature: Annotated[Temperature, about("Air that the group draws.")] | UnsetType = UNSET
    stand_height: Annotated[Length, about("Of the stand, above grade.")]
    crossings: Annotated[tuple[RouteCrossing, ...], about("Of hoses, then of cables.")] = ()
    hose_length_needed: Annotated[Length, about("Of the hose route, one way.")] | UnsetType = UNSET
    cable_length_needed: Annotated[Length, about("Of the cable route.")] | UnsetType = UNSET
    plan_svg: Annotated[str, about("Plan drawing to scale, SVG, A4 across; with `drawing`.")] | UnsetType = UNSET
