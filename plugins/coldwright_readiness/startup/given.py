"""What is asked: a set-up, everything that was seen of it, and the time of the question."""

from typing import Annotated

from coldwright.contract import Given, JoinedToStart, Text, about
from coldwright_basis.instants import stamp
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.startup.observations import MOST_BESIDE, MOST_OBSERVATIONS, AnyObservation


class ConfigurationChange(Given, frozen=True, kw_only=True):
    """A change of the set-up, made while evidence was already there."""

    at: Annotated[str, stamp("When it was made, by the service's clock.")]
    fields: Annotated[
        tuple[Text, ...],
        about("Names of the configuration's fields that were made looser or other.", min_length=1, max_length=100),
    ]


class StartupGiven(Given, frozen=True, kw_only=True):
    """A set-up, what was seen of it, and the time of the question."""

    configuration: Annotated[
        Configuration, about("What is set up; both `evaporator_pressure_drop_` fields are needed here.")
    ]
    evaluated_at: Annotated[str, stamp("The time for which the question is asked, by the service's clock.")]
    observations: Annotated[
        tuple[AnyObservation, ...],
        about("Everything that was seen, in any order; the same one may come twice.", max_length=MOST_OBSERVATIONS),
    ] = ()
    carried: Annotated[
        tuple[AnyObservation, ...],
        about(
            "What still speaks of the machine from its earlier starts, as `carries` of those named it. It counts like "
            "`observations`.",
            max_length=MOST_BESIDE,
        ),
    ] = ()
    shared: Annotated[
        tuple[AnyObservation, ...],
        about(
            "Records of other starts of the same source or loop, as `shares` of those named them. They speak against "
            "this start and for nothing.",
            max_length=MOST_BESIDE,
        ),
    ] = ()
    configuration_changes: Annotated[
        tuple[ConfigurationChange, ...],
        about(
            "Changes that made the set-up looser or another: evidence that rests on a field counts only if it was surely "
            "made after its change. A loosened duration counts from its change.",
            max_length=1000,
        ),
    ] = ()
    joined: Annotated[
        tuple[JoinedToStart, ...],
        about("Facts and blocks that parts of other plugins add; the service puts them in.", max_length=50),
    ] = ()
