"""What `electrical.generator` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import ApparentPower, Current, Duration, Length, Power, Temperature, Volume
from coldwright_electrical.shared.given import FuelPointGiven, PracticeField, SystemFrequency, SystemVoltage

StartingMethod = Literal[
    "across_the_line", "part_winding", "star_delta", "autotransformer", "soft_start", "variable_frequency"
]

InputFilter = Literal["none", "reactor", "low_harmonic"]

CodeLetter = Literal["A", "B", "C", "D", "E", "F", "G", "H", "J", "K", "L", "M", "N", "P"]


class GeneratorLoadGiven(Given, frozen=True, kw_only=True):
    """A motor or another load. Without locked-rotor data it draws its running current at once, as a heater does."""

    load_id: Annotated[Text, about("Name of the load.")]
    quantity: Annotated[int, about("How many of it, started together.", low=1, high=100)] = 1
    running_current: Annotated[Current, about("Running line current of one.", above=0, high=5000, unit="A")]
    power_factor: Annotated[float, about("Power factor when running.", low=0.3, high=1, basis="common_practice")] = 0.85
    locked_rotor_current: (
        Annotated[Current, about("Locked-rotor line current of one, across the line.", above=0, high=50000, unit="A")]
        | UnsetType
    ) = UNSET
    code_letter: (
        Annotated[CodeLetter, about("Locked-rotor code letter, with `rated_power`, in place of the current.")]
        | UnsetType
    ) = UNSET
    rated_power: (
        Annotated[Power, about("Rated power of the motor that carries the code letter.", above=0, high=5000, unit="hp")]
        | UnsetType
    ) = UNSET
    starting_method: (
        Annotated[StartingMethod, about("How it starts; across the line where locked-rotor data are given.")]
        | UnsetType
    ) = UNSET
    starting_current_factor: (
        Annotated[
            float,
            about("Starting line current as a share of locked rotor; replaces the method's.", above=0, high=1.5),
        ]
        | UnsetType
    ) = UNSET
    autotransformer_tap_fraction: (
        Annotated[float, about("Tap of the autotransformer; 0.65 where left out.", low=0.3, high=1)] | UnsetType
    ) = UNSET
    starting_power_factor: Annotated[
        float, about("Power factor at start.", low=0.1, high=0.95, basis="common_practice")
    ] = 0.35
    start_order: Annotated[int, about("Loads of equal order start together, lower ones first.", low=0, high=1000)] = 1
    nonlinear: Annotated[bool, about("Whether it draws through a rectifier, as a drive does.")] = False
    input_filter: Annotated[InputFilter, about("Filter before the rectifier.")] = "none"
    starts_unloaded: Annotated[
        bool, about("Whether the maker says that it starts against no load, so that little torque is enough.")
    ] = False


class GeneratorSetGiven(Given, frozen=True, kw_only=True):
    """A generating set."""

    rated_active_power: Annotated[Power, about("Rated active power.", above=0, high=10000, unit="kW")]
    rated_apparent_power: Annotated[ApparentPower, about("Rated apparent power.", above=0, high=15000, unit="kVA")]
    subtransient_reactance: (
        Annotated[float, about('X"d per unit of the rating; 0.12 where left out.', low=0.05, high=0.5)] | UnsetType
    ) = UNSET
    transient_reactance: (
        Annotated[float, about("X'd per unit of the rating; 0.18 where left out.", low=0.05, high=0.5)] | UnsetType
    ) = UNSET


class GeneratorDeratingGiven(Given, frozen=True, kw_only=True):
    """How altitude and heat weaken the engine. The alternator follows its own steps unless the method is `none`."""

    method: Annotated[
        Literal["none", "per_step", "iso_3046"],
        about("`per_step` by rates of height and heat, `iso_3046` by powers of pressure and temperature."),
    ] = "per_step"
    engine_altitude_start: Annotated[
        Length, about("Height at which the engine begins to lose.", low=0, high=5000, unit="m", basis="common_practice")
    ] = Length.of(1000, "m")
    engine_altitude_rate_fraction: Annotated[
        float, about("Loss for each 100 m (328 ft) above.", low=0, high=0.05, basis="common_practice")
    ] = 0.01
    engine_temperature_start: Annotated[
        Temperature,
        about("Air temperature at which it begins to lose.", low=0, high=60, unit="degC", basis="common_practice"),
    ] = Temperature.of(40, "degC")
    engine_temperature_rate_fraction: Annotated[
        float, about("Loss for each 5 K above.", low=0, high=0.2, basis="common_practice")
    ] = 0.02
    exponent_m: (
        Annotated[float, about("Exponent of the pressure ratio; 0.7 where left out.", low=0, high=3)] | UnsetType
    ) = UNSET
    exponent_n: (
        Annotated[float, about("Exponent of the air temperature ratio; 1.2 where left out.", low=0, high=3)] | UnsetType
    ) = UNSET
    exponent_s: (
        Annotated[float, about("Exponent of the charge coolant ratio; 1 where left out.", low=0, high=3)] | UnsetType
    ) = UNSET
    mechanical_efficiency: Annotated[
        float, about("Mechanical efficiency of the engine.", low=0.5, high=1, basis="common_practice")
    ] = 0.80
    charge_coolant_temperature: (
        Annotated[
            Temperature,
            about("Coolant into the charge cooler; ambient air where left out.", low=-40, high=110, unit="degC"),
        ]
        | UnsetType
    ) = UNSET


class GeneratorGiven(Given, frozen=True, kw_only=True):
    """Loads, their order of starting, the site, and the set or the sets to choose from."""

    practice: PracticeField
    system_voltage: SystemVoltage
    frequency: SystemFrequency
    loads: Annotated[tuple[GeneratorLoadGiven, ...], about("Everything the set feeds.", min_length=1, max_length=100)]
    altitude: Annotated[Length, about("Height of the site above sea level.", low=-400, high=5000, unit="m")] = (
        Length.of(0, "m")
    )
    ambient_temperature: Annotated[
        Temperature, about("Hottest air at the set.", low=-40, high=60, unit="degC", basis="common_practice")
    ] = Temperature.of(40, "degC")
    derating: Annotated[GeneratorDeratingGiven, about("How altitude and heat weaken the set.")] = (
        GeneratorDeratingGiven()
    )
    generator: Annotated[GeneratorSetGiven, about("The set to check.")] | UnsetType = UNSET
    candidate_sets: Annotated[
        tuple[GeneratorSetGiven, ...], about("Sets to choose the smallest fit one from.", max_length=50)
    ] = ()
    dip_limit_fraction: Annotated[
        float, about("Voltage dip that is let pass at a start.", low=0.01, high=0.5, basis="common_practice")
    ] = 0.20
    minimum_load_fraction: Annotated[
        float, about("Least load to run on for hours.", low=0.1, high=0.6, references=("nfpa_110_8_4_2",))
    ] = 0.30
    maximum_load_fraction: Annotated[
        float, about("Greatest load to plan for.", low=0.4, high=1, basis="common_practice")
    ] = 0.80
    load_factor: Annotated[
        float, about("Low load, at night or on average, as a share of the running load.", above=0, high=1)
    ] = 1.0
    lowest_load_fraction: (
        Annotated[
            float, about("Least load as a share of the running load; `load_factor` where left out.", low=0, high=1)
        ]
        | UnsetType
    ) = UNSET
    load_bank_power: (
        Annotated[
            Power,
            about(
                "Load bank that comes in while the load is low and drops out as it grows.",
                above=0,
                high=10000,
                unit="kW",
            ),
        ]
        | UnsetType
    ) = UNSET
    fuel_curve: (
        Annotated[
            tuple[FuelPointGiven, ...], about("The set's own fuel curve, by rising load.", min_length=2, max_length=50)
        ]
        | UnsetType
    ) = UNSET
    tank_volume: Annotated[Volume, about("Fuel tank.", above=0, high=1e6, unit="L")] | UnsetType = UNSET
    usable_fraction: Annotated[
        float, about("Share of the tank that can be drawn.", low=0.1, high=1, basis="common_practice")
    ] = 0.90
    reserve_duration: Annotated[
        Duration, about("Running time kept in the tank.", low=0, high=240, unit="h", basis="common_practice")
    ] = Duration.of(4, "h")
    run_duration: (
        Annotated[Duration, about("How long the set runs; without end where left out.", above=0, high=87600, unit="h")]
        | UnsetType
    ) = UNSET
    utility_present: Annotated[bool, about("Whether a utility supply feeds the same load.")] = False
    transfer_equipment: Annotated[bool, about("Whether transfer equipment keeps set and utility apart.")] = False
    critical: Annotated[bool, about("Whether losing the cooling does harm.")] = False

    @property
    def lowest_load(self) -> float:
        """Least load over the running load."""
        return self.load_factor if isinstance(self.lowest_load_fraction, UnsetType) else self.lowest_load_fraction

    def low_power(self, running: float) -> float:
        """Power at the least load, the load bank with it; `running` in kW, and so is the answer."""
        bank = 0.0 if isinstance(self.load_bank_power, UnsetType) else self.load_bank_power.to("kW")
        return running * self.lowest_load + bank

    def burning_power(self, running: float) -> float:
        """Power that the fuel is for: on the average, with a load bank never less than what that holds it at; kW."""
        average = running * self.load_factor
        return average if isinstance(self.load_bank_power, UnsetType) else max(average, self.low_power(running))
