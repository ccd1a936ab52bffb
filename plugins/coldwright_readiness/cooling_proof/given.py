"""What a proof of cooling is judged from."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, about
from coldwright.contract.quantities import Duration, Power, PressureDifference, Temperature, Volume, VolumeFlow
from coldwright_basis.instants import stamp
from coldwright_readiness.shared.given import LoadModel
from coldwright_readiness.shared.references import COMMON_PRACTICE


class RunningCompressor(Given, frozen=True, kw_only=True):
    """A compressor that runs."""

    id: Annotated[str, about("Name of the compressor.", min_length=1, max_length=60)]
    capacity: Annotated[Power, about("Cooling that it should give.", above=0, high=1e5, unit="kW")]
    started_at: Annotated[str, stamp("When it was started.")]


class CoolingSample(Given, frozen=True, kw_only=True):
    """Temperatures at one time."""

    at: Annotated[str, stamp("When.")]
    entering: Annotated[Temperature, about("Entering the evaporator.", low=-60, high=95, unit="degC")]
    leaving: Annotated[Temperature, about("Leaving the evaporator.", low=-60, high=95, unit="degC")]


class CoolingProofGiven(Given, frozen=True, kw_only=True):
    """A machine that runs, as its gauges show it."""

    fluid: Annotated[Fluid, about("Liquid in the loop, without a temperature.")]
    flow: Annotated[VolumeFlow, about("Flow, metered where the liquid enters.", above=0, high=1e4, unit="L/s")]
    entering_temperature: Annotated[Temperature, about("Entering the evaporator.", low=-60, high=95, unit="degC")]
    leaving_temperature: Annotated[Temperature, about("Leaving the evaporator.", low=-60, high=95, unit="degC")]
    set_point: Annotated[Temperature, about("Leaving temperature wanted.", low=-60, high=95, unit="degC")]
    compressors: Annotated[tuple[RunningCompressor, ...], about("Those that run.", min_length=1, max_length=24)]
    evaluated_at: Annotated[str, stamp("The time of the reading.")]
    loop_volume: Annotated[Volume, about("Liquid in the loop.", above=0, high=1e4, unit="m3")] | UnsetType = UNSET
    load: Annotated[Power, about("Constant heat into the loop.", low=0, high=1e5, unit="kW")] | UnsetType = UNSET
    load_model: Annotated[LoadModel, about("Heat that depends on temperature, instead of `load`.")] | UnsetType = UNSET
    samples: Annotated[tuple[CoolingSample, ...], about("Earlier readings, for the trend.", max_length=2000)] = ()
    anti_recycle: Annotated[
        Duration,
        about(
            "Time between two starts; the maker's timer governs.",
            low=1,
            high=30,
            unit="min",
            basis="common_practice",
            references=(COMMON_PRACTICE.id,),
        ),
    ] = Duration(5.0, "min")
    unloading: Annotated[bool, about("True when the machine itself takes capacity off at its set point.")] = False
    ambient_temperature: (
        Annotated[Temperature, about("Air of the site.", low=-60, high=70, unit="degC")] | UnsetType
    ) = UNSET
    coil_air_temperature: (
        Annotated[Temperature, about("Air where it enters the coil.", low=-60, high=90, unit="degC")] | UnsetType
    ) = UNSET
    flow_minimum: (
        Annotated[VolumeFlow, about("Least flow of the evaporator.", above=0, high=1e4, unit="L/s")] | UnsetType
    ) = UNSET
    evaporator_pressure_drop: (
        Annotated[PressureDifference, about("Drop across the evaporator.", low=-2000, high=2000, unit="kPa")]
        | UnsetType
    ) = UNSET
    evaporator_pressure_drop_minimum: (
        Annotated[PressureDifference, about("Drop at the least flow.", above=0, high=1000, unit="kPa")] | UnsetType
    ) = UNSET
    evaporator_pressure_drop_maximum: (
        Annotated[PressureDifference, about("Drop at the greatest flow.", above=0, high=1000, unit="kPa")] | UnsetType
    ) = UNSET
