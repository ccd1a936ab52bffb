"""What `refrigeration.condensation` is asked."""

from typing import Annotated, ClassVar, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import (
    Area,
    HeatTransferCoefficient,
    Length,
    Temperature,
    TemperatureDifference,
    ThermalConductivity,
)


class SurfaceGiven(Given, frozen=True, kw_only=True):
    """A cold surface."""

    name: Annotated[Text, about("Its name.")]
    liquid_temperature: Annotated[Temperature, about("Liquid behind it.", low=-40, high=60, unit="degC")]


class HoseSurface(SurfaceGiven, frozen=True, kw_only=True, tag_field="kind", tag="hose"):
    """A hose or pipe."""

    length: Annotated[Length, about("Length of all runs.", above=0, high=20000, unit="m")]
    outside_diameter: Annotated[Length, about("Outside diameter.", low=5, high=2000, unit="mm")]
    inside_diameter: Annotated[Length, about("Inside diameter.", low=1, high=2000, unit="mm")]
    wall_conductivity: Annotated[
        ThermalConductivity,
        about("Of the wall; the default is rubber, from memory.", low=0.01, high=500, unit="W/m.K", basis="handbook"),
    ] = ThermalConductivity(0.16, "W/m.K")


class VesselSurface(SurfaceGiven, frozen=True, kw_only=True, tag_field="kind", tag="vessel"):
    """A vessel of bare metal, as cold as its liquid."""

    area: Annotated[Area, about("Surface.", above=0, high=10000, unit="m2")]


class CondensationGiven(Given, frozen=True, kw_only=True):
    """Air, and the cold surfaces in it."""

    one_needed: ClassVar[tuple[tuple[str, ...], ...]] = (("relative_humidity_fraction", "dew_point_temperature"),)

    air_temperature: Annotated[Temperature, about("Air around the surfaces.", low=-20, high=60, unit="degC")]
    relative_humidity_fraction: (
        Annotated[float, about("Relative humidity of it; instead of its dew point.", low=0.01, high=1)] | UnsetType
    ) = UNSET
    dew_point_temperature: (
        Annotated[Temperature, about("Dew point of it; instead of its humidity.", low=-60, high=60, unit="degC")]
        | UnsetType
    ) = UNSET
    altitude: Annotated[Length, about("Height above the sea.", low=-100, high=4000, unit="m")] = Length(0.0, "m")
    surfaces: Annotated[tuple[HoseSurface | VesselSurface, ...], about("Cold surfaces.", min_length=1, max_length=50)]
    below: Annotated[
        Literal["floor_or_goods", "open_ground"], about("What the water drips on; on open ground it does no harm.")
    ] = "floor_or_goods"
    surface_coefficient: Annotated[
        HeatTransferCoefficient,
        about(
            "Heat from still air to the surface.",
            low=1,
            high=100,
            unit="W/m2.K",
            basis="handbook",
            references=("tiasa_insulation_2001",),
        ),
    ] = HeatTransferCoefficient(10.0, "W/m2.K")
    insulation_conductivity: Annotated[
        ThermalConductivity,
        about(
            "Of the insulation, with closed cells.",
            low=0.01,
            high=0.2,
            unit="W/m.K",
            basis="handbook",
            references=("tiasa_insulation_2001",),
        ),
    ] = ThermalConductivity(0.04, "W/m.K")
    margin: Annotated[
        TemperatureDifference,
        about(
            "How far above the dew point insulation is to keep its own surface.",
            low=0,
            high=20,
            unit="delta_degF",
            references=("nia_condensation_control",),
        ),
    ] = TemperatureDifference(0.75, "delta_degF")
