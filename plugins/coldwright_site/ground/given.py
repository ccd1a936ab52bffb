"""What `site.ground` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Angle, Area, Force, Length, Mass, PressureDifference
from coldwright_site.shared.given import NO_OFFSET, Offset, Point

WIND = ("wind_force", "wind_force_height")
USED = {
    "skid": ("load", "contact_length", "contact_width", "eccentricity", *WIND),
    "feet": ("load", "feet", "eccentricity", *WIND),
    "outrigger": ("crane", "contact_length", "contact_width", *WIND),
    "mat": ("load", "contact_length", "mat"),
}
NEEDED = {
    "skid": ("load", "contact_length", "contact_width"),
    "feet": ("load", "feet"),
    "outrigger": ("crane",),
    "mat": ("load", "contact_length", "mat"),
}


class FootGiven(Given, frozen=True, kw_only=True):
    """A foot of the machine."""

    id: Annotated[Text, about("Name of the foot.")]
    x: Annotated[Length, about("Along x.", low=-100, high=100, unit="m")]
    y: Annotated[Length, about("Along y.", low=-100, high=100, unit="m")]
    area: Annotated[Area, about("Area on the ground.", low=0.0001, high=100, unit="m2")]

    @property
    def xy(self) -> tuple[float, float]:
        """The coordinates in m."""
        return self.x.si, self.y.si


class CraneOnGround(Given, frozen=True, kw_only=True):
    """A crane on outriggers; its own mass acts at the origin."""

    mass: Annotated[Mass, about("Crane with ballast.", low=1, high=3e6, unit="kg")]
    load_mass: Annotated[Mass, about("Hook load: load, rigging and block.", low=0, high=1e6, unit="kg")]
    radius: (
        Annotated[Length, about("From the origin to the hook; needed with `outriggers`.", low=0, high=200, unit="m")]
        | UnsetType
    ) = UNSET
    slew_angle: Annotated[Angle, about("From +x towards +y.", low=-360, high=360, unit="deg")] | UnsetType = UNSET
    outriggers: Annotated[tuple[Point, ...], about("Three or more outrigger feet.", max_length=12)] = ()


class MatGiven(Given, frozen=True, kw_only=True):
    """A mat below one foot."""

    width: Annotated[Length, about("Across the foot.", low=0.05, high=20, unit="m")]
    thickness: Annotated[Length, about("Depth of the mat.", low=0.005, high=2, unit="m")]
    length: Annotated[Length, about("The mat's own length.", low=0.05, high=30, unit="m")] | UnsetType = UNSET
    mass: Annotated[Mass, about("The mat itself.", low=0, high=50000, unit="kg")]
    material: Annotated[Literal["timber", "metal"], about("Timber carries shear near the foot without stress.")]
    bending_allowable: (
        Annotated[PressureDifference, about("Allowable bending stress.", low=1, high=1e6, unit="kPa")] | UnsetType
    ) = UNSET
    shear_allowable: (
        Annotated[PressureDifference, about("Allowable shear stress.", low=1, high=1e6, unit="kPa")] | UnsetType
    ) = UNSET


class SlopeGiven(Given, frozen=True, kw_only=True):
    """Slopes of the ground, as fractions."""

    x: Annotated[float, about("Along x.", low=-1, high=1)] = 0.0
    y: Annotated[float, about("Along y.", low=-1, high=1)] = 0.0


class DepthCheckGiven(Given, frozen=True, kw_only=True):
    """A weaker layer below."""

    depth: Annotated[Length, about("From the surface to the layer.", low=0, high=50, unit="m")]
    allowable: Annotated[PressureDifference, about("Pressure that the layer bears.", low=1, high=100000, unit="kPa")]


class ExcavationGiven(Given, frozen=True, kw_only=True):
    """A trench, cellar wall or other edge near the base."""

    depth: Annotated[Length, about("Depth of the excavation.", low=0.01, high=100, unit="m")]
    distance: Annotated[Length, about("From its edge to the nearest bearing point.", low=0, high=1000, unit="m")]


class GroundGiven(Given, frozen=True, kw_only=True):
    """What stands on the ground, and what the ground is. Fields of another `contact` are taken and not used."""

    contact: Annotated[Literal["skid", "feet", "outrigger", "mat"], about("What touches the ground.")]
    load: (
        Annotated[Mass, about("Mass that bears: whole machine, or the share on one mat.", low=1, high=3e6, unit="kg")]
        | UnsetType
    ) = UNSET
    contact_length: (
        Annotated[Length, about("Bearing length along x; of the foot on a mat.", low=0.01, high=100, unit="m")]
        | UnsetType
    ) = UNSET
    contact_width: Annotated[Length, about("Bearing width along y.", low=0.01, high=100, unit="m")] | UnsetType = UNSET
    eccentricity: Annotated[
        Offset, about("Centre of gravity from the middle of a skid, or in the frame of the feet.")
    ] = NO_OFFSET
    feet: Annotated[tuple[FootGiven, ...], about("Three or more feet.", max_length=24)] = ()
    crane: Annotated[CraneOnGround, about("A crane on outriggers; takes the place of `load`.")] | UnsetType = UNSET
    mat: Annotated[MatGiven, about("The mat below a foot.")] | UnsetType = UNSET
    soil_class: (
        Annotated[
            Literal["bedrock", "sedimentary_rock", "gravel", "sand", "clay", "unprepared"],
            about("Class of undisturbed soil; `unprepared` has no value of its own."),
        ]
        | UnsetType
    ) = UNSET
    rules: Annotated[
        Literal["us", "europe"],
        about("Whose presumptive values of a class: the International Building Code, or those used beside EN 1997-1."),
    ] = "us"
    allowable_bearing_pressure: (
        Annotated[PressureDifference, about("From a competent person.", low=1, high=100000, unit="kPa")] | UnsetType
    ) = UNSET
    slope: Annotated[SlopeGiven, about("Slope of the ground.")] | UnsetType = UNSET
    slope_limit: Annotated[
        float,
        about("Steepest slope that is taken as level.", low=0, high=0.2, basis="common_practice"),
    ] = 0.01
    depth_check: Annotated[DepthCheckGiven, about("A weaker layer below.")] | UnsetType = UNSET
    wind_force: Annotated[Force, about("Wind on the machine, along y.", low=0, high=1e7, unit="N")] | UnsetType = UNSET
    wind_force_height: Annotated[Length, about("Height at which it acts.", low=0, high=200, unit="m")] | UnsetType = (
        UNSET
    )
    excavation: Annotated[ExcavationGiven, about("The nearest excavation or edge.")] | UnsetType = UNSET
    services_known: Annotated[
        bool, about("Whether whoever controls the site has said what lies below: pipes, cables, voids.")
    ] = False
