"""What a heat balance is asked with."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, about
from coldwright.contract.quantities import Power, Temperature, TemperatureDifference, VolumeFlow


class HeatBalanceGiven(Given, frozen=True, kw_only=True):
    """Exactly two of flow, heat and temperature difference; the difference may come as two temperatures."""

    fluid: Annotated[Fluid, about("The liquid, without a temperature: that follows from the readings.")]
    entering_temperature: (
        Annotated[Temperature, about("Liquid entering the machine.", low=-60, high=100, unit="degC")] | UnsetType
    ) = UNSET
    leaving_temperature: (
        Annotated[Temperature, about("Liquid leaving the machine.", low=-60, high=100, unit="degC")] | UnsetType
    ) = UNSET
    temperature_difference: (
        Annotated[
            TemperatureDifference,
            about("Entering less leaving, with one of the two temperatures.", low=-30, high=30, unit="delta_degC"),
        ]
        | UnsetType
    ) = UNSET
    flow: Annotated[VolumeFlow, about("Flow.", low=0.001, high=10000, unit="L/s")] | UnsetType = UNSET
    heat: (
        Annotated[Power, about("Heat taken from the liquid; negative if warmed.", low=-1e6, high=1e6, unit="kW")]
        | UnsetType
    ) = UNSET
    flow_measured_at: Annotated[
        Literal["mean", "entering", "leaving"], about("Where the flow meter sits: its density counts.")
    ] = "mean"
    temperature_error: Annotated[
        TemperatureDifference,
        about(
            "Error of each temperature sensor.",
            low=0,
            high=5,
            unit="delta_degC",
            basis="common_practice",
            references=("hydronic_practice",),
        ),
    ] = TemperatureDifference(0.3, "delta_degC")
    flow_error_fraction: Annotated[
        float,
        about("Relative error of the flow.", low=0, high=1, basis="common_practice", references=("hydronic_practice",)),
    ] = 0.05
