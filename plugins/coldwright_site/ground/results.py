"""What `site.ground` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Area, Force, Length, PressureDifference


class MatResults(Results, frozen=True, kw_only=True):
    """The mat at its effective length."""

    required_length: Annotated[Length, about("Length that the ground asks for.")]
    cantilever: Annotated[Length, about("Mat beyond the foot, each side.")]
    bending_moment_knm: Annotated[float, about("Bending moment, kN.m.")]
    bending_stress_mpa: Annotated[float, about("Bending stress, MPa.")]
    shear_kn: Annotated[float, about("Shear, kN.")]
    shear_stress_mpa: Annotated[float, about("Shear stress, MPa.")]


class GroundResults(Results, frozen=True, kw_only=True):
    """What the ground must carry, and whether it can."""

    allowable_bearing_pressure: Annotated[PressureDifference, about("What the ground bears.")]
    bearing_pressure_maximum: (
        Annotated[PressureDifference, about("Greatest pressure; of feet, with the machine rocking.")] | UnsetType
    ) = UNSET
    bearing_pressure_minimum: (
        Annotated[PressureDifference, about("Least pressure; 0 below a lifted edge.")] | UnsetType
    ) = UNSET
    contact_length_effective: (
        Annotated[Length, about("Bearing side left in the direction of the eccentricity; of a mat, its length.")]
        | UnsetType
    ) = UNSET
    utilisation: Annotated[float, about("Greatest pressure over the allowable one.")] | UnsetType = UNSET
    reactions: Annotated[
        tuple[Force, ...], about("Of feet or outriggers on level elastic ground, in their order.")
    ] = ()
    worst_reaction: Annotated[Force, about("Greatest that any foot can get, rocking included.")] | UnsetType = UNSET
    quick_reaction: Annotated[Force, about("0.65 of crane, load and rigging.")] | UnsetType = UNSET
    required_area: Annotated[Area, about("Area that the ground asks for.")] | UnsetType = UNSET
    required_square_side: Annotated[Length, about("Side of a square of that area.")] | UnsetType = UNSET
    mat: Annotated[MatResults, about("The mat.")] | UnsetType = UNSET
    pressure_at_depth: Annotated[PressureDifference, about("On the weaker layer, spread 2 to 1.")] | UnsetType = UNSET
    level_ok: Annotated[bool, about("Whether both slopes are within the limit.")] | UnsetType = UNSET
