"""What the flow of an exchanger is asked with."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, about
from coldwright.contract.quantities import (
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_hydronic.shared.given import Exponent, RatedFluid


class StrainerGiven(Given, frozen=True, kw_only=True):
    """The strainer in series with the exchanger."""

    rated_flow: Annotated[VolumeFlow, about("Flow of the clean rating.", low=0.001, high=10000, unit="L/s")]
    rated_pressure_drop: Annotated[
        PressureDifference, about("Drop of the clean strainer at that flow.", low=0.001, high=2000, unit="kPa")
    ]
    measured_pressure_drop: Annotated[PressureDifference, about("Drop measured now.", low=0, high=2000, unit="kPa")]


class ProofGiven(Given, frozen=True, kw_only=True):
    """What proves the flow to the machine."""

    proof_kind: Annotated[Literal["flow_switch", "pressure_switch"], about("A flow switch, or one on the drop.")]
    trip_flow: (
        Annotated[VolumeFlow, about("Flow at which a flow switch trips.", low=0.001, high=10000, unit="L/s")]
        | UnsetType
    ) = UNSET
    trip_pressure_drop: (
        Annotated[PressureDifference, about("Drop at which a switch trips.", low=0.001, high=2000, unit="kPa")]
        | UnsetType
    ) = UNSET
    made_with_pump_off: (
        Annotated[bool, about("Was the switch seen made while the pump was off? Leave out if not checked.")] | UnsetType
    ) = UNSET


class ExchangerFlowGiven(Given, frozen=True, kw_only=True):
    """One measured drop, or two gauges with their heights, and the rating of the exchanger."""

    fluid: Annotated[Fluid, about("The liquid, with its temperature.")]
    rated_flow: Annotated[VolumeFlow, about("Flow of the rating.", low=0.001, high=10000, unit="L/s")]
    rated_pressure_drop: Annotated[
        PressureDifference, about("Pressure drop of the rating.", low=0.001, high=2000, unit="kPa")
    ]
    exponent: Exponent = 2.0
    rated_fluid: RatedFluid = UNSET
    pressure_drop: (
        Annotated[
            PressureDifference,
            about(
                "Drop measured between the two taps.",
                low=0.001,
                high=2000,
                unit="kPa",
                why="A drop of nothing or less is reversed flow, no flow, or swapped gauges",
            ),
        ]
        | UnsetType
    ) = UNSET
    inlet_gauge_pressure: (
        Annotated[GaugePressure, about("Gauge at the inlet.", low=-100, high=4000, unit="kPa")] | UnsetType
    ) = UNSET
    outlet_gauge_pressure: (
        Annotated[GaugePressure, about("Gauge at the outlet.", low=-100, high=4000, unit="kPa")] | UnsetType
    ) = UNSET
    inlet_gauge_elevation: (
        Annotated[Length, about("Height of the inlet gauge.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    outlet_gauge_elevation: (
        Annotated[Length, about("Height of the outlet gauge.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    gauge_error: (
        Annotated[
            PressureDifference,
            about(
                "Uncertainty of the difference itself. If left out: nothing for one gauge moved between the taps, 1 % of "
                "the span of each of two gauges.",
                low=0,
                high=500,
                unit="kPa",
            ),
        ]
        | UnsetType
    ) = UNSET
    flow_minimum: (
        Annotated[VolumeFlow, about("Least flow that the exchanger may have.", low=0.001, high=10000, unit="L/s")]
        | UnsetType
    ) = UNSET
    flow_maximum: (
        Annotated[VolumeFlow, about("Greatest flow that it may have.", low=0.001, high=10000, unit="L/s")] | UnsetType
    ) = UNSET
    heat: (
        Annotated[Power, about("Heat taken from the liquid, from another measurement.", low=0.001, high=1e6, unit="kW")]
        | UnsetType
    ) = UNSET
    temperature_difference: (
        Annotated[
            TemperatureDifference, about("Entering less leaving, with that heat.", low=0.1, high=60, unit="delta_degC")
        ]
        | UnsetType
    ) = UNSET
    strainer: Annotated[StrainerGiven, about("Strainer in the same flow.")] | UnsetType = UNSET
    proof: Annotated[ProofGiven, about("Proof of flow.")] | UnsetType = UNSET
