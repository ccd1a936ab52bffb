"""What a fill answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, GaugePressure, Length, PressureDifference, Volume
from coldwright_hydronic.shared.given import Preventer
from coldwright_hydronic.shared.second_opinion import SecondOpinion

GoverningRule = Literal["run_time", "off_time", "starts_per_hour"]


class FilledElement(Results, frozen=True, kw_only=True):
    """One line or vessel."""

    name: Annotated[str, about("Name.")]
    volume: Annotated[Volume, about("Volume of all its runs, or of all of its kind.")]


class FillResults(Results, frozen=True, kw_only=True):
    """What filling takes. What its inputs were not given for is left out. Pressures are gauge, pump off."""

    total_volume: Annotated[Volume, about("Volume of the loop.")]
    elements: Annotated[tuple[FilledElement, ...], about("Lines, then vessels, in the order given.")]
    static_pressure: (
        Annotated[PressureDifference, about("Column of liquid from the fill point to the top.")] | UnsetType
    ) = UNSET
    required_fill_pressure: Annotated[GaugePressure, about("Least pressure at the fill point.")] | UnsetType = UNSET
    top_pressure: Annotated[GaugePressure, about("At the top, with the fill pressure.")] | UnsetType = UNSET
    machine_pressure: Annotated[GaugePressure, about("At the machine, with the fill pressure.")] | UnsetType = UNSET
    height_served: (
        Annotated[Length, about("Height above the machine at which the least top pressure is left.")] | UnsetType
    ) = UNSET
    fill_time: Annotated[Duration, about("Time to fill from the tap, loop vented.")] | UnsetType = UNSET
    reachable_pressure: (
        Annotated[GaugePressure, about("What the tap reaches at the fill point, behind the backflow preventer.")]
        | UnsetType
    ) = UNSET
    meter_volume: Annotated[Volume, about("Volume by the meter.")] | UnsetType = UNSET
    meter_difference_fraction: (
        Annotated[float, about("Meter over loop volume, less 1: negative is short.")] | UnsetType
    ) = UNSET
    relief_margin: (
        Annotated[PressureDifference, about("Setting less its margin, less the pressure at the valve.")] | UnsetType
    ) = UNSET
    expansion_fraction: Annotated[float, about("Net growth of the liquid against its pipe.")] | UnsetType = UNSET
    expansion_volume: Annotated[Volume, about("That growth of the whole loop.")] | UnsetType = UNSET
    acceptance_factor: Annotated[float, about("Part of the vessel that can take liquid.")] | UnsetType = UNSET
    vessel_volume: Annotated[Volume, about("Expansion vessel that is needed.")] | UnsetType = UNSET
    precharge_pressure: Annotated[GaugePressure, about("Precharge, set at the vessel's height.")] | UnsetType = UNSET
    minimum_loop_volume: Annotated[Volume, about("Least volume for the control.")] | UnsetType = UNSET
    governing_rule: Annotated[GoverningRule, about("Rule that asks for most.")] | UnsetType = UNSET
    rule_volume: Annotated[Volume, about("Volume by the rule of thumb, beside the above.")] | UnsetType = UNSET
    buffer_volume: Annotated[Volume, about("Volume to add; 0 where none is needed.")] | UnsetType = UNSET
    trapped_liquid_pressure_rise: (
        Annotated[PressureDifference, about("Rise in water shut into a rigid space, from coldest to warmest.")]
        | UnsetType
    ) = UNSET
    proposed_backflow_preventer: Annotated[Preventer, about("Least backflow protection proposed.")]
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET
