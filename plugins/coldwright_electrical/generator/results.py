"""What a generating set answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, Text, about
from coldwright.contract.quantities import ApparentPower, Current, Duration, FuelRate, Power, Volume


class GeneratorStepResults(Results, frozen=True, kw_only=True):
    """One step of the start."""

    start_order: Annotated[int, about("Its place in the order.")]
    load_ids: Annotated[tuple[Text, ...], about("Loads that start in it.")]
    starting_apparent_power: Annotated[ApparentPower, about("Power drawn at the start.")]
    starting_power_factor: Annotated[float, about("Power factor at the start.")]
    dip_subtransient_fraction: Annotated[float, about('Dip in the first cycle, by X"d.')] | UnsetType = UNSET
    dip_transient_fraction: Annotated[float, about("Dip over 0.1 to 0.5 s, by X'd.")] | UnsetType = UNSET


class GeneratorCandidateResults(Results, frozen=True, kw_only=True):
    """How one of the sets offered would do."""

    rated_active_power: Annotated[Power, about("Its rating.")]
    rated_apparent_power: Annotated[ApparentPower, about("Its rating.")]
    derated_active_power: Annotated[Power, about("What altitude and heat leave.")]
    derated_apparent_power: Annotated[ApparentPower, about("What altitude and heat leave.")]
    worst_dip_fraction: Annotated[float, about("Greatest transient dip.")]
    load_fraction: Annotated[float, about("Running load over derated power.")]
    reduced_load_fraction: Annotated[float, about("Least load, with its load bank, over derated power.")]
    holds: Annotated[bool, about("Whether it carries the load and starts it within the dip limit.")]
    reasons: Annotated[tuple[str, ...], about("Why it does not hold, or is too big at night.")]


class LightLoadRemedyResults(Results, frozen=True, kw_only=True):
    """One way out of running too lightly loaded."""

    kind: Annotated[
        Literal["smaller_set", "better_starting_gear", "two_sets", "load_bank"], about("What kind of way out.")
    ]
    works: Annotated[bool, about("Whether it works by the numbers.")]
    statement: Annotated[str, about("What to do, with the numbers.")]
    rated_active_power: Annotated[Power, about("Rating of the set, or of each of two.")] | UnsetType = UNSET
    load_bank_power: Annotated[Power, about("Load to add.")] | UnsetType = UNSET
    starting_apparent_power: Annotated[ApparentPower, about("Greatest start that such a set can take.")] | UnsetType = (
        UNSET
    )


class GeneratorResults(Results, frozen=True, kw_only=True):
    """The load, each start, and the set."""

    running_active_power: Annotated[Power, about("Active power of everything running.")]
    running_apparent_power: Annotated[ApparentPower, about("Apparent power of everything running.")]
    running_power_factor: Annotated[float, about("Power factor of everything running.")]
    steps: Annotated[tuple[GeneratorStepResults, ...], about("The start, by rising order.")]
    worst_dip_fraction: Annotated[float, about("Greatest transient dip.")] | UnsetType = UNSET
    required_apparent_power_for_dip: Annotated[
        ApparentPower, about("Least rating whose worst dip is within the limit.")
    ]
    engine_factor: Annotated[float, about("Share of the engine that altitude and heat leave.")]
    alternator_factor: Annotated[float, about("Share of the alternator that altitude and heat leave.")]
    derated_active_power: Annotated[Power, about("Active power left.")] | UnsetType = UNSET
    derated_apparent_power: Annotated[ApparentPower, about("Apparent power left.")] | UnsetType = UNSET
    load_fraction: Annotated[float, about("Running load over derated active power.")] | UnsetType = UNSET
    reduced_load_fraction: (
        Annotated[float, about("Running load x `load_factor` over derated active power.")] | UnsetType
    ) = UNSET
    load_bank_power: (
        Annotated[Power, about("Load to add so that the running load is the least share of the rating.")] | UnsetType
    ) = UNSET
    light_load_remedies: Annotated[
        tuple[LightLoadRemedyResults, ...], about("Ways out when the set is too big at low load; else empty.")
    ] = ()
    harmonic_voltage_fraction: (
        Annotated[float, about("Distortion of the voltage. Left out without a nonlinear load.")] | UnsetType
    ) = UNSET
    terminal_conductor_minimum_current: (
        Annotated[Current, about("Least ampacity from the set's terminals to the first device, `nec`.")] | UnsetType
    ) = UNSET
    fuel_rate: (
        Annotated[
            FuelRate, about("Fuel burnt at running load x `load_factor`; with a load bank, no less than that holds.")
        ]
        | UnsetType
    ) = UNSET
    time_per_fill: Annotated[Duration, about("How long the usable part of a full tank lasts.")] | UnsetType = UNSET
    refuel_interval: (
        Annotated[Duration, about("The same less the reserve. Left out if nothing remains.")] | UnsetType
    ) = UNSET
    fuel_total: Annotated[Volume, about("Fuel over `run_duration`.")] | UnsetType = UNSET
    candidates: Annotated[
        tuple[GeneratorCandidateResults, ...], about("The sets offered, in the order of the input.")
    ] = ()
    smallest_candidate: (
        Annotated[int, about("Place in `candidate_sets`, from 0, of the smallest that holds.")] | UnsetType
    ) = UNSET
    verdict: Annotated[Literal["ok", "not_ok"], about("`not_ok` exactly when there is a `stop`.")]
