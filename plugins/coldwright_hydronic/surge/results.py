"""What a surge answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, GaugePressure, Length, PressureDifference, Velocity
from coldwright_hydronic.shared.second_opinion import SecondOpinion


class SurgeSegment(Results, frozen=True, kw_only=True):
    """One segment."""

    name: Annotated[str, about("Name.")]
    wave_speed: Annotated[Velocity, about("Wave speed in it.")]
    velocity: Annotated[Velocity, about("Velocity in it before the event.")] | UnsetType = UNSET
    joukowsky_rise: Annotated[
        PressureDifference, about("Rise if the flow in this segment is stopped at once, whatever the closing time.")
    ]


class SurgeResults(Results, frozen=True, kw_only=True):
    """The surge at the valve. Peak, trough and margin need the static pressure; the margin the working pressure too."""

    segments: Annotated[tuple[SurgeSegment, ...], about("One entry a segment, in the order given.")]
    equivalent_wave_speed: Annotated[Velocity, about("Length over travel time of the whole line.")]
    critical_time: Annotated[Duration, about("Time in which the wave runs to the far end and back.")]
    regime: Annotated[Literal["fast", "slow"], about("`fast`: closed before the wave is back, so the full rise comes.")]
    pressure_rise: Annotated[PressureDifference, about("Rise at the valve.")]
    pressure_rise_without_gas: (
        Annotated[PressureDifference, about("The same with no free gas: the findings use the greater of the two.")]
        | UnsetType
    ) = UNSET
    head_rise: Annotated[Length, about("Rise as a head of the liquid.")]
    peak_pressure: Annotated[GaugePressure, about("Static pressure plus rise.")] | UnsetType = UNSET
    trough_pressure: (
        Annotated[GaugePressure, about("Static pressure less rise; not below the vapour pressure.")] | UnsetType
    ) = UNSET
    margin: Annotated[PressureDifference, about("Working pressure with its allowance, less the peak.")] | UnsetType = (
        UNSET
    )
    safe_closure_time: (
        Annotated[
            Duration,
            about(
                "Closing time that keeps the peak within the allowance and the column whole; 0 if instant closing does."
            ),
        ]
        | UnsetType
    ) = UNSET
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET
