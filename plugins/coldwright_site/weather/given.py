"""What `site.weather` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import Area, Duration, Length, Mass, Speed, Temperature
from coldwright_basis.instants import stamp

NO_LENGTH = Length(0.0, "m")


class MachineInWind(Given, frozen=True, kw_only=True):
    """A machine that the wind may push over; the face is its length times its height."""

    mass: Annotated[Mass, about("As it stands.", low=1, high=500000, unit="kg")]
    base_width: Annotated[Length, about("Between the edges that it would turn over.", low=0.01, high=50, unit="m")]
    length: Annotated[Length, about("Of the face to the wind.", low=0.01, high=100, unit="m")]
    height: Annotated[Length, about("Of the face to the wind.", low=0.01, high=50, unit="m")]
    stand_height: Annotated[
        Length,
        about("Of the stand, trailer or roof edge below the machine.", low=0, high=100, unit="m", basis="derived"),
    ] = NO_LENGTH
    cg_offset: Annotated[
        Length,
        about("Centre of gravity off the middle of the base, downwind.", low=0, high=25, unit="m", basis="derived"),
    ] = NO_LENGTH
    drag_coefficient: Annotated[float, about("1.3 for a box.", low=0.5, high=2.5, basis="handbook")] = 1.3


class LightningGiven(Given, frozen=True, kw_only=True):
    """The last flash that was seen."""

    at: Annotated[str, stamp("When it flashed.")]
    flash_to_bang: Annotated[Duration, about("From flash to thunder.", low=0, high=300, unit="s")] | UnsetType = UNSET


class CraneInWind(Given, frozen=True, kw_only=True):
    """A lift that the wind may stop."""

    chart_wind_speed: Annotated[Speed, about("Wind speed that the chart is for.", low=0.5, high=40, unit="m/s")]
    load_mass: Annotated[Mass, about("The load.", low=1, high=500000, unit="kg")]
    load_face_area: Annotated[Area, about("Largest face of the load to the wind.", low=0.0001, high=1000, unit="m2")]
    drag_coefficient: Annotated[
        float, about("Of the load in the wind; 1.3 for a box.", low=1.2, high=2, basis="handbook")
    ] = 1.3


class WeatherGiven(Given, frozen=True, kw_only=True):
    """Wind, heat, cold and lightning; each part is optional, and its results are left out without it."""

    machine: Annotated[MachineInWind, about("A machine in the wind.")] | UnsetType = UNSET
    gust_speed: (
        Annotated[Speed, about("Gust of 3 s, at the machine or the crane.", low=0, high=120, unit="m/s")] | UnsetType
    ) = UNSET
    exposure_factor: Annotated[
        float, about("Kz: 1 when the gust is that at the machine's height.", low=0.1, high=3, basis="derived")
    ] = 1.0
    gust_is: Annotated[Literal["3_second"], about("What kind of gust it is.")] = "3_second"
    friction: Annotated[float, about("Between base and ground.", low=0, high=1.5, basis="common_practice")] = 0.4
    anchored: Annotated[bool, about("Tied down; the ratios are those without.")] = False
    air_temperature: Annotated[Temperature, about("In the shade.", low=-60, high=60, unit="degC")] | UnsetType = UNSET
    relative_humidity: Annotated[float, about("0 to 1.", low=0, high=1)] | UnsetType = UNSET
    in_sun: Annotated[bool, about("Work in full sun: the band is taken 15 degF higher.")] = False
    work_rate: Annotated[Literal["light", "moderate", "heavy"], about("How hard the work is.")] | UnsetType = UNSET
    wind_speed: Annotated[Speed, about("Mean wind, for the wind chill.", low=0, high=120, unit="m/s")] | UnsetType = (
        UNSET
    )
    last_thunder_at: Annotated[str, stamp("The last thunder heard.")] | UnsetType = UNSET
    last_lightning: Annotated[LightningGiven, about("The last flash.")] | UnsetType = UNSET
    storm_warning: Annotated[bool, about("A storm warning stands for the site.")] = False
    crane: Annotated[CraneInWind, about("A lift that the wind may stop.")] | UnsetType = UNSET
    evaluated_at: Annotated[str, stamp("The moment that is asked about.")] | UnsetType = UNSET
