"""What `readiness.procedure` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType, field

from coldwright.contract import (
    Given,
    about,
)
from coldwright.contract.quantities import Duration, Power, Volume, VolumeFlow
from coldwright_basis.instants import stamp
from coldwright_readiness.shared.given import Configuration, MachinesInTurn, OwnDurations, PullDown


class CrewMember(Given, frozen=True, kw_only=True):
    """One person and what that person may do."""

    id: Annotated[str, about("Name or number of the person.", min_length=1, max_length=60)]
    roles: Annotated[
        tuple[Literal["electrician", "technician", "lift_team"], ...],
        about("What the person is qualified for.", min_length=1, max_length=3),
    ]


class ProcedureGiven(Given, frozen=True, kw_only=True):
    """A set-up to plan."""

    configuration: Annotated[Configuration, about("What is set up.")]
    fill_duration: Annotated[Duration, about("Time to fill the loop.", low=0, high=30, unit="d")] | UnsetType = UNSET
    loop_volume: (
        Annotated[Volume, about("Liquid in the loop, with `fill_flow`.", above=0, high=1e4, unit="m3")] | UnsetType
    ) = UNSET
    fill_flow: (
        Annotated[VolumeFlow, about("Flow of the fill hose, with `loop_volume`.", above=0, high=1e3, unit="L/s")]
        | UnsetType
    ) = UNSET
    concentrate_volume: (
        Annotated[Volume, about("Antifreeze concentrate, with `water_volume`.", above=0, high=1e4, unit="m3")]
        | UnsetType
    ) = UNSET
    water_volume: (
        Annotated[
            Volume,
            about(
                "Water beside the concentrate: with `fill_flow` it alone takes the time.", above=0, high=1e4, unit="m3"
            ),
        ]
        | UnsetType
    ) = UNSET
    antifreeze_duration: (
        Annotated[Duration, about("Time to charge the antifreeze; needed for a glycol.", low=0, high=30, unit="d")]
        | UnsetType
    ) = UNSET
    generator_brought: Annotated[
        bool, about("Whether the set comes along: placing, grounding and checking it are steps of their own.")
    ] = False
    load_bank_power: (
        Annotated[Power, about("What a load bank at the set is set to; it is wired in.", above=0, high=5000, unit="kW")]
        | UnsetType
    ) = UNSET
    refuel_interval: (
        Annotated[
            Duration,
            about("Longest time between two fillings of the set; who fills is agreed.", above=0, high=90, unit="d"),
        ]
        | UnsetType
    ) = UNSET
    flush_volume: (
        Annotated[
            Volume,
            about(
                "Water that is run through the hoses to a drain before they are filled, with `fill_flow`; none: no flushing.",
                above=0,
                high=1e3,
                unit="m3",
            ),
        ]
        | UnsetType
    ) = UNSET
    pull_down_duration: (
        Annotated[Duration, about("Time from the first compressor to cold water.", low=0, high=30, unit="d")]
        | UnsetType
    ) = UNSET
    pull_down: Annotated[PullDown, about("The loop to cool, instead of `pull_down_duration`.")] | UnsetType = UNSET
    machines: MachinesInTurn = 1
    step_durations: OwnDurations = field(default_factory=dict)
    crew: Annotated[tuple[CrewMember, ...], about("Who is on site.", max_length=100)] = ()
    arrival_at: Annotated[str, stamp("When the truck (lorry) arrives.")] | UnsetType = UNSET
