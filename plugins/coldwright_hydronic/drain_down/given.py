"""What draining is asked with: vessels, lines, lay-up, discharge."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, Text, about
from coldwright.contract.quantities import Length, Temperature, TemperatureDifference, Volume, VolumeFlow
from coldwright_hydronic.shared.given import GlycolKind, Protection

DischargeTo = Literal["sanitary", "storm", "ground", "tanker", "reuse"]


class UprightVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="upright"):
    """A tank with straight walls. Levels are measured from the outlet at its bottom."""

    name: Annotated[Text, about("Name.")]
    diameter: Annotated[Length, about("Inner diameter.", low=0.01, high=100, unit="m")]
    height: Annotated[Length, about("Inner height.", low=0.001, high=100, unit="m")] | UnsetType = UNSET
    initial_level: (
        Annotated[Length, about("Level at the start; full unless given.", low=0, high=100, unit="m")] | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


class HorizontalCylinderVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="horizontal_cylinder"):
    """A lying cylinder with flat ends. Levels are measured from its bottom."""

    name: Annotated[Text, about("Name.")]
    diameter: Annotated[Length, about("Inner diameter.", low=0.01, high=100, unit="m")]
    length: Annotated[Length, about("Inner length.", low=0.001, high=100, unit="m")]
    initial_level: (
        Annotated[Length, about("Level at the start; full unless given.", low=0, high=100, unit="m")] | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


class SphereVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="sphere"):
    """A sphere. Levels are measured from its bottom."""

    name: Annotated[Text, about("Name.")]
    diameter: Annotated[Length, about("Inner diameter.", low=0.01, high=100, unit="m")]
    initial_level: (
        Annotated[Length, about("Level at the start; full unless given.", low=0, high=100, unit="m")] | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


class LevelVolume(Given, frozen=True, kw_only=True):
    """One row of a strapping table."""

    level: Annotated[Length, about("Level above the outlet.", low=0, high=100, unit="m")]
    volume: Annotated[Volume, about("Volume below that level.", low=0, high=1e8, unit="L")]


class TableVessel(Given, frozen=True, kw_only=True, tag_field="shape", tag="table"):
    """Any vessel, by its table of levels and volumes; straight walls between two rows."""

    name: Annotated[Text, about("Name.")]
    volume_by_level: Annotated[
        tuple[LevelVolume, ...], about("Levels and volumes, both rising.", min_length=2, max_length=500)
    ]
    initial_level: (
        Annotated[Length, about("Level at the start; the last of the table unless given.", low=0, high=100, unit="m")]
        | UnsetType
    ) = UNSET
    final_level: Annotated[Length, about("Level at the end.", low=0, high=100, unit="m")] = Length(0.0, "m")


VesselGiven = UprightVessel | HorizontalCylinderVessel | SphereVessel | TableVessel


class DrainLine(Given, frozen=True, kw_only=True):
    """Hose or pipe that is emptied."""

    name: Annotated[Text, about("Name.")] | UnsetType = UNSET
    inner_diameter: Annotated[Length, about("Bore.", low=5, high=610, unit="mm")]
    length: Annotated[Length, about("Length.", low=0.001, high=5000, unit="m")]
    parallel_runs: Annotated[int, about("Runs side by side.", low=1, high=50)] = 1
    drains_by_gravity: Annotated[
        bool, about("Laid to a fall all the way; if not, it lies flat with sags.", basis="derived")
    ] = False
    residual_fraction: (
        Annotated[
            float,
            about("Part of its volume that stays: 0.02 laid to a fall, 0.10 lying flat, unless given.", low=0, high=1),
        ]
        | UnsetType
    ) = UNSET


class ResidualVolume(Given, frozen=True, kw_only=True):
    """A place that holds liquid back."""

    name: Annotated[Text, about("Name: evaporator, pump casing, coil header.")]
    volume: Annotated[Volume, about("Liquid that stays in it.", low=0, high=1e6, unit="L")]


class LayUp(Given, frozen=True, kw_only=True):
    """Antifreeze for what stays: a target strength, or the cold that it is to stand."""

    kind: Annotated[GlycolKind, about("Glycol.")]
    target_volume_fraction: (
        Annotated[float, about("Glycol by volume in what stays.", above=0, high=0.6)] | UnsetType
    ) = UNSET
    lowest_temperature: (
        Annotated[Temperature, about("Cold to stand, instead of a target.", low=-60, high=20, unit="degC")] | UnsetType
    ) = UNSET
    protection: Annotated[Protection, about("`freeze` or `burst`, with `lowest_temperature`.")] = "freeze"
    margin: Annotated[
        TemperatureDifference,
        about("Margin, with `lowest_temperature`.", low=0, high=20, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(3.0, "delta_degC")
    concentrate_volume_fraction: Annotated[
        float, about("Glycol by volume in what is poured in.", low=0.05, high=1, basis="common_practice")
    ] = 0.95


class DrainDownGiven(Given, frozen=True, kw_only=True):
    """What holds liquid, how it runs out, and where to."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature.")]
    vessels: Annotated[
        tuple[VesselGiven, ...], about("Vessels that drain one after the other through the orifice.", max_length=50)
    ] = ()
    lines: Annotated[tuple[DrainLine, ...], about("Hoses and pipes.", max_length=200)] = ()
    drain_orifice_diameter: (
        Annotated[Length, about("Bore of the drain; needed with vessels.", low=1, high=610, unit="mm")] | UnsetType
    ) = UNSET
    discharge_coefficient: Annotated[
        float,
        about(
            "0.61 for a sharp orifice, 0.8 for a short tube.",
            low=0.3,
            high=1,
            basis="handbook",
            references=("orifice_coefficients",),
        ),
    ] = 0.61
    head_below_vessel: Annotated[
        Length, about("Fall of the outlet hose below the vessel.", low=0, high=100, unit="m", basis="derived")
    ] = Length(0.0, "m")
    vented: Annotated[bool, about("A vent at the top of each vessel is open.")] = True
    residual_volumes: Annotated[tuple[ResidualVolume, ...], about("Places that do not drain.", max_length=200)] = ()
    lay_up: Annotated[LayUp, about("Antifreeze for what stays.")] | UnsetType = UNSET
    lowest_temperature: (
        Annotated[
            Temperature, about("Lowest temperature that the drained parts will meet.", low=-60, high=60, unit="degC")
        ]
        | UnsetType
    ) = UNSET
    discharge_to: Annotated[DischargeTo, about("Where the liquid goes.")] | UnsetType = UNSET
    discharge_consent: Annotated[bool, about("Consent of the treatment works or the site is on file.")] = False
    treated: Annotated[bool, about("The water holds inhibitor, biocide or dirt.")] = False
    receiver_flow_limit: (
        Annotated[VolumeFlow, about("Most that the receiver takes.", above=0, high=1e4, unit="L/s")] | UnsetType
    ) = UNSET
