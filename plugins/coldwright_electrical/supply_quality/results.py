"""What the readings mean."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Current, Voltage


class SupplyQualityResults(Results, frozen=True, kw_only=True):
    """What the readings say, and whether the machine may start."""

    average_voltage: Annotated[Voltage, about("Mean of the voltages between lines.")]
    deviation_from_nominal_fraction: Annotated[float, about("Mean over nominal voltage, less one.")]
    deviation_from_nameplate_fraction: Annotated[float, about("Mean over nameplate voltage, less one.")]
    voltage_minimum: Annotated[Voltage, about("Least line voltage let pass.")]
    voltage_maximum: Annotated[Voltage, about("Greatest line voltage let pass.")]
    voltage_unbalance_fraction: (
        Annotated[float, about("Greatest deviation from the mean over the mean. Left out if all three read 0.")]
        | UnsetType
    ) = UNSET
    negative_sequence_fraction: (
        Annotated[float, about("Negative over positive sequence voltage. Left out if all three read 0.")] | UnsetType
    ) = UNSET
    unbalance_margin_fraction: (
        Annotated[float, about("Limit less the unbalance that counts; below 0 it is over the limit.")] | UnsetType
    ) = UNSET
    derating_factor: (
        Annotated[float, about("Share of its output that a motor gives. Left out above 5 % unbalance.")] | UnsetType
    ) = UNSET
    temperature_rise_increase_fraction: (
        Annotated[float, about("Growth of the winding's temperature rise.")] | UnsetType
    ) = UNSET
    expected_current_unbalance_low_fraction: (
        Annotated[float, about("Least current unbalance that this voltage unbalance brings: 6 times.")] | UnsetType
    ) = UNSET
    expected_current_unbalance_high_fraction: (
        Annotated[float, about("Greatest current unbalance that this voltage unbalance brings: 10 times.")] | UnsetType
    ) = UNSET
    average_current: Annotated[Current, about("Mean of the line currents.")] | UnsetType = UNSET
    current_unbalance_fraction: (
        Annotated[float, about("Greatest deviation of a line current from the mean over the mean.")] | UnsetType
    ) = UNSET
    rotation_verdict: Annotated[
        Literal["correct", "reversed", "unknown", "conflict"], about("Verdict on the phase sequence.")
    ]
    actions: Annotated[tuple[str, ...], about("What to do, in this order.")]
    start_allowed: Annotated[bool, about("Whether the readings allow a start: nothing blocks, and the supply is live.")]
    blocking: Annotated[tuple[str, ...], about("Codes of the `stop` findings.")]
