"""What `refrigeration.cycle` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    MassFlow,
    Power,
    Temperature,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_refrigeration.shared.given import ABOUT_REFRIGERANT, RefrigerantName

_WIDE = "the tabulated saturation lines begin near -45 degC and end between 65 and 90 degC"


class PhaseChangeGiven(Given, frozen=True, kw_only=True):
    """Where the refrigerant evaporates or condenses: a temperature or an absolute pressure, exactly one."""

    temperature: (
        Annotated[Temperature, about("Saturation temperature.", low=-45, high=90, unit="degC", why=_WIDE)] | UnsetType
    ) = UNSET
    pressure: (
        Annotated[AbsolutePressure, about("Absolute pressure.", low=1, high=6000, unit="kPa", why=_WIDE)] | UnsetType
    ) = UNSET


class CycleGiven(Given, frozen=True, kw_only=True):
    """A cycle: two saturation states, what happens at their ends, and how large the circuit is."""

    refrigerant: Annotated[RefrigerantName, about(ABOUT_REFRIGERANT)]
    evaporating: Annotated[PhaseChangeGiven, about("Evaporation.")]
    condensing: Annotated[PhaseChangeGiven, about("Condensation, at the compressor's outlet pressure.")]
    evaporating_reference: Annotated[
        Literal["dew"], about("Which temperature of a blend `evaporating.temperature` is.")
    ] = "dew"
    condensing_reference: Annotated[
        Literal["mean", "bubble", "dew"],
        about("Which temperature of a blend `condensing.temperature` is.", basis="common_practice"),
    ] = "mean"
    superheat: (
        Annotated[
            TemperatureDifference,
            about("Compressor inlet above the dew point; 0 when nothing is given.", low=0, high=80, unit="delta_degC"),
        ]
        | UnsetType
    ) = UNSET
    compressor_inlet_temperature: (
        Annotated[Temperature, about("Compressor inlet, in place of `superheat`.", low=-45, high=120, unit="degC")]
        | UnsetType
    ) = UNSET
    subcooling: (
        Annotated[
            TemperatureDifference,
            about(
                "Condenser outlet below the bubble point; 0 when nothing is given.", low=0, high=80, unit="delta_degC"
            ),
        ]
        | UnsetType
    ) = UNSET
    condenser_outlet_temperature: (
        Annotated[Temperature, about("Condenser outlet, in place of `subcooling`.", low=-45, high=90, unit="degC")]
        | UnsetType
    ) = UNSET
    condenser_outlet_pressure: (
        Annotated[
            AbsolutePressure,
            about("Pressure at the condenser outlet, where it is below the inlet's.", low=1, high=6000, unit="kPa"),
        ]
        | UnsetType
    ) = UNSET
    isentropic_efficiency: (
        Annotated[float, about("Isentropic efficiency; 1, the ideal, when nothing is given.", low=0.3, high=1)]
        | UnsetType
    ) = UNSET
    compressor_outlet_temperature: (
        Annotated[
            Temperature,
            about(
                "Measured at the compressor outlet, in place of `isentropic_efficiency`, which is then an output.",
                low=-45,
                high=250,
                unit="degC",
            ),
        ]
        | UnsetType
    ) = UNSET
    motor_efficiency: Annotated[float, about("Shaft power over electric power.", low=0.3, high=1)] = 1.0
    mass_flow: (
        Annotated[MassFlow, about("Refrigerant that goes round.", above=0, high=1000, unit="kg/s")] | UnsetType
    ) = UNSET
    capacity: Annotated[Power, about("Cooling.", above=0, high=100_000, unit="kW")] | UnsetType = UNSET
    swept_volume_flow: (
        Annotated[VolumeFlow, about("Volume that the compressor sweeps.", above=0, high=1000, unit="m3/s")] | UnsetType
    ) = UNSET
    volumetric_efficiency: Annotated[
        float, about("Volume drawn in over volume swept.", low=0.3, high=1, basis="common_practice")
    ] = 0.95
