"""What `refrigeration.performance` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, about
from coldwright.contract.quantities import Power, Temperature, TemperatureDifference, VolumeFlow
from coldwright_refrigeration.shared.given import WATER


class PerformanceReadings(Given, frozen=True, kw_only=True):
    """What was read, steady, at one time."""

    flow: Annotated[VolumeFlow, about("Liquid flow.", low=0.001, high=20000, unit="L/s")]
    entering_temperature: Annotated[Temperature, about("Liquid into the machine.", low=-60, high=95, unit="degC")]
    leaving_temperature: Annotated[Temperature, about("Liquid out of the machine.", low=-60, high=95, unit="degC")]
    power: Annotated[Power, about("Electric power drawn.", low=0.001, high=1e5, unit="kW")] | UnsetType = UNSET
    ambient_temperature: (
        Annotated[Temperature, about("Air at the coil, for the record.", low=-60, high=80, unit="degC")] | UnsetType
    ) = UNSET
    heat_rejected: (
        Annotated[Power, about("Heat given to the air, measured apart.", low=0.001, high=2e5, unit="kW")] | UnsetType
    ) = UNSET


class PerformanceUncertainty(Given, frozen=True, kw_only=True):
    """Standard uncertainties (k = 1) of the readings."""

    flow: Annotated[
        float,
        about(
            "Of the flow, relative [1]; 0.03 to 0.05 for a clamp-on meter.", low=0, high=0.5, basis="common_practice"
        ),
    ] = 0.02
    temperature: Annotated[
        TemperatureDifference,
        about("Of each liquid sensor.", low=0, high=5, unit="delta_degC", basis="common_practice"),
    ] = TemperatureDifference(0.1, "delta_degC")
    temperature_correlation: Annotated[
        float, about("Of the errors of the two sensors: 1 if both err alike.", low=-1, high=1, basis="common_practice")
    ] = 0.0
    power: Annotated[float, about("Of the power, relative [1].", low=0, high=0.5, basis="common_practice")] = 0.01
    property: Annotated[
        float, about("Of density times specific heat, relative.", low=0, high=0.5, basis="common_practice")
    ] = 0.003


class PerformanceExpected(Given, frozen=True, kw_only=True):
    """What the machine should do at these conditions."""

    capacity: Annotated[Power, about("Expected capacity.", low=0.001, high=1e5, unit="kW")] | UnsetType = UNSET
    power: Annotated[Power, about("Expected power.", low=0.001, high=1e5, unit="kW")] | UnsetType = UNSET
    uncertainty: Annotated[float, about("Of the expected capacity, relative, k = 1.", low=0, high=0.5)] = 0.0


class PerformancePartLoad(Given, frozen=True, kw_only=True):
    """Efficiencies at 100, 75, 50 and 25 % load, for the weighted value.

    Of a machine with steps they are interpolated between its steps beforehand, and below its lowest step the EER is
    divided by 1.13 - 0.13 LF, with LF the load over that step's capacity (AHRI 550/590, from memory).
    """

    rule: Annotated[
        Literal["iplv", "nplv"], about("At the standard's conditions, or at others; the weights are the same.")
    ]
    metric: Annotated[Literal["eer", "cop", "kw_per_ton"], about("What the four figures are.")]
    a: Annotated[float, about("At 100 % load.", low=0.01, high=1000)]
    b: Annotated[float, about("At 75 % load.", low=0.01, high=1000)]
    c: Annotated[float, about("At 50 % load.", low=0.01, high=1000)]
    d: Annotated[float, about("At 25 % load.", low=0.01, high=1000)]


class PerformanceGiven(Given, frozen=True, kw_only=True):
    """Readings, how sure they are, and what they are compared with."""

    readings: Annotated[PerformanceReadings, about("What was read.")]
    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    uncertainty: Annotated[PerformanceUncertainty, about("Standard uncertainties of the readings.")] = (
        PerformanceUncertainty()
    )
    coverage_factor: Annotated[
        float,
        about(
            "Factor k of the expanded uncertainty; 2 covers about 95 %.", low=1, high=4, references=("jcgm_100_2008",)
        ),
    ] = 2.0
    expected: Annotated[PerformanceExpected, about("What the machine should do.")] | UnsetType = UNSET
    part_load: Annotated[PerformancePartLoad, about("Efficiencies at part load.")] | UnsetType = UNSET
    load_fraction: Annotated[float, about("Load as a fraction of full.", low=0.05, high=1.2)] | UnsetType = UNSET
