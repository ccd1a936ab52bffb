"""What air removal answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import GaugePressure, Velocity, Volume
from coldwright_hydronic.shared.second_opinion import SecondOpinion


class LineClearing(Results, frozen=True, kw_only=True):
    """One line."""

    name: Annotated[str, about("Name.")]
    velocity: Annotated[Velocity, about("Velocity in each run.")]
    clearing_velocity: Annotated[Velocity, about("Velocity that drives air down this slope.")]
    clears: Annotated[bool, about("The velocity reaches it, and 0.6 m/s.")]


class AirRemovalResults(Results, frozen=True, kw_only=True):
    """Where air goes and how much is left. What its inputs were not given for is left out."""

    lines: Annotated[tuple[LineClearing, ...], about("One entry a line, in the order given.")]
    dissolved_air_at_fill: Annotated[float, about("Air that the fill water can hold, mol/m3.")] | UnsetType = UNSET
    dissolved_air_at_operation: (
        Annotated[float, about("Air that the running loop can hold at its high point, mol/m3.")] | UnsetType
    ) = UNSET
    released_air_volume: (
        Annotated[Volume, about("Air that comes out of solution, at the high point's pressure and temperature.")]
        | UnsetType
    ) = UNSET
    top_pressure_pump_off: (
        Annotated[GaugePressure, about("Pressure at the highest point with the pump off.")] | UnsetType
    ) = UNSET
    trapped_air_volume: (
        Annotated[Volume, about("Air in the loop before the top-up, at the pressure before.")] | UnsetType
    ) = UNSET
    trapped_air_fraction: Annotated[float, about("The same over the loop volume.")] | UnsetType = UNSET
    top_up_volume: Annotated[Volume, about("Water still needed to take its place.")] | UnsetType = UNSET
    makeup_volume: (
        Annotated[Volume, about("Water for the purge: what takes the air's place and what goes to drain.")] | UnsetType
    ) = UNSET
    steps: Annotated[tuple[str, ...], about("How to purge, in order.")]
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET
