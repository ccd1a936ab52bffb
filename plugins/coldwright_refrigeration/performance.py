"""How much a machine cools and how well, as read, and how sure that is."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Fluid, Given, Load, Notes, Results, about, calculator, finding
from coldwright.contract.quantities import Power, Temperature, TemperatureDifference, VolumeFlow
from coldwright_refrigeration import references as ref
from coldwright_refrigeration.cautions import AT_THE_MACHINE
from coldwright_refrigeration.liquids import WATER


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
    """Readings, how sure they are, and what they are held against."""

    readings: Annotated[PerformanceReadings, about("What was read.")]
    fluid: Annotated[Fluid, about("Liquid in the loop.")] = WATER
    uncertainty: Annotated[PerformanceUncertainty, about("Standard uncertainties of the readings.")] = (
        PerformanceUncertainty()
    )
    coverage_factor: Annotated[
        float,
        about("k of the expanded uncertainty; 2 covers about 95 %.", low=1, high=4, references=("jcgm_100_2008",)),
    ] = 2.0
    expected: Annotated[PerformanceExpected, about("What the machine should do.")] | UnsetType = UNSET
    part_load: Annotated[PerformancePartLoad, about("Efficiencies at part load.")] | UnsetType = UNSET
    load_fraction: Annotated[float, about("Load as a fraction of full.", low=0.05, high=1.2)] | UnsetType = UNSET


class PerformanceResults(Results, frozen=True, kw_only=True):
    """Capacity, efficiency, how sure they are, and the verdict."""

    capacity: Annotated[Power, about("Cooling capacity.", us="ton")]
    cop: Annotated[float, about("Capacity over power.")] | UnsetType = UNSET
    eer: Annotated[float, about("Capacity over power, Btu per Wh.")] | UnsetType = UNSET
    kw_per_ton: Annotated[float, about("Power over capacity, kW per ton.")] | UnsetType = UNSET
    relative_standard_uncertainty: Annotated[float, about("Of the capacity, k = 1.")]
    capacity_uncertainty: Annotated[Power, about("Of the capacity, expanded.", us="ton")]
    efficiency_uncertainty: Annotated[float, about("Of the `cop`, expanded, in its own unit.")] | UnsetType = UNSET
    heat_balance_closure: Annotated[float, about("Heat in minus heat out, over heat out.")] | UnsetType = UNSET
    capacity_ratio: Annotated[float, about("Capacity over expected.")] | UnsetType = UNSET
    power_ratio: Annotated[float, about("Power over expected.")] | UnsetType = UNSET
    verdict: (
        Annotated[
            Literal["not_distinguishable", "short", "above"],
            about("Whether the capacity differs from the expected by more than the uncertainty."),
        ]
        | UnsetType
    ) = UNSET
    tolerance: Annotated[float, about("Tolerance of the rating standard at this load, a fraction.")] | UnsetType = UNSET
    part_load_value: Annotated[float, about("Weighted value, in the metric given.")] | UnsetType = UNSET


def _readings(litres: float, entering: float, leaving: float, kilowatts: float) -> dict[str, object]:
    return {
        "flow": {"value": litres, "unit": "L/s"},
        "entering_temperature": {"value": entering, "unit": "degC"},
        "leaving_temperature": {"value": leaving, "unit": "degC"},
        "power": {"value": kilowatts, "unit": "kW"},
    }


EXAMPLES = (
    Example(
        "held_against_expected",
        "Invented readings of a machine of which 340 kW are expected, give or take 3 %.",
        {
            "readings": _readings(15.2, 12.1, 7.2, 108),
            "uncertainty": {"flow": 0.03, "temperature": {"value": 0.15, "unit": "delta_degC"}},
            "expected": {"capacity": {"value": 340, "unit": "kW"}, "uncertainty": 0.03},
        },
    ),
    Example(
        "part_load",
        "Invented readings at three quarters of the load, with invented efficiencies at four loads.",
        {
            "readings": _readings(15.2, 11.0, 7.1, 74),
            "load_fraction": 0.75,
            "part_load": {"rule": "iplv", "metric": "eer", "a": 10.3, "b": 12.6, "c": 14.4, "d": 14.9},
        },
    ),
)

FINDINGS = (
    finding("sensors_dominate", "check", "The liquid difference is so small that the sensors decide the result."),
    finding("heat_balance_open", "check", "Heat in and heat out differ by more than 6 %."),
    finding("capacity_short", "check", "The capacity is under 90 % of the expected, beyond the uncertainty."),
    finding("clamp_on_flow", "note", "What a clamp-on flow meter is usually good for."),
    finding("not_a_rating_test", "note", "Readings in the field are no certified test."),
)


@calculator(
    "refrigeration.performance",
    version="1.0.0",
    title="Capacity and efficiency from readings, with their uncertainty",
    references=(
        ref.GUM,
        ref.AHRI_550_590_2023,
        ref.AHRI_550_590_2011,
        ref.AHRI_PART_LOAD,
        ref.PRACTICE,
        ref.FIRST_PRINCIPLES,
        ref.COOLPROP,
        *ref.SAFETY,
    ),
    hazards=("general", "pressure", "refrigerant", "rotating", "thermal", "electrical"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def performance(given: PerformanceGiven, notes: Notes) -> PerformanceResults:
    """Capacity and efficiency of a running machine from its readings, and how sure they are.

    Q = V rho c dT. The uncertainties of flow, both temperatures with their correlation, properties and power are
    carried
    through by the law of propagation (JCGM 100:2008). Against an expected capacity the verdict is `short` or `above`
    only
    where the difference is larger than the expanded uncertainty of both. With it come the heat balance, the
    tolerance of
    the rating standard at this load, and the weighted part-load value.
    """
    from coldwright_refrigeration.performance_answer import answer

    notes.caution(*AT_THE_MACHINE)
    return answer(given, notes)
