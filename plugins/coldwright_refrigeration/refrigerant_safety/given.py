"""What `refrigeration.refrigerant_safety` is asked."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, about
from coldwright.contract.quantities import Duration, Length, Mass, Volume

LimitedRefrigerant = Literal[
    "R-22",
    "R-32",
    "R-123",
    "R-134a",
    "R-290",
    "R-404A",
    "R-407C",
    "R-410A",
    "R-452B",
    "R-454B",
    "R-507A",
    "R-513A",
    "R-1234yf",
    "R-1234ze(E)",
]
"""The rows of the table of limits that have a concentration limit; a test holds the two together."""


class CircuitChargeGiven(Given, frozen=True, kw_only=True):
    """One independent circuit."""

    charge: Annotated[Mass, about("Full charge of the circuit.", low=0.001, high=10_000, unit="kg")]


class ReliefDischargeGiven(Given, frozen=True, kw_only=True):
    """Where the relief device blows to."""

    height_above_grade: Annotated[Length, about("Outlet above the ground.", low=0, high=300, unit="m")]
    distance_to_opening: Annotated[
        Length, about("Outlet to the nearest window, door or air intake.", low=0, high=1000, unit="m")
    ]


class AdditionGiven(Given, frozen=True, kw_only=True):
    """Refrigerant that was added to a circuit."""

    mass: Annotated[Mass, about("Refrigerant added.", above=0, high=10_000, unit="kg")]
    days_since_previous: (
        Annotated[
            Duration, about("Since the addition before; absent for the first ever.", low=1, high=36_500, unit="d")
        ]
        | UnsetType
    ) = UNSET
    circuit: Annotated[int, about("Index of the circuit in `circuits`.", low=0, high=49)] = 0


class RefrigerantSafetyGiven(Given, frozen=True, kw_only=True):
    """A machine's charge, where it stands, whose rules apply and what it serves."""

    refrigerant: Annotated[
        LimitedRefrigerant,
        about("Refrigerant by its ASHRAE 34 name; served are those with a concentration limit in our table."),
    ]
    circuits: Annotated[
        tuple[CircuitChargeGiven, ...], about("Independent circuits of the machine.", min_length=1, max_length=50)
    ]
    location: Annotated[
        Literal["outdoors", "enclosed_space", "machinery_room", "below_grade"],
        about("Where the refrigerant could gather; `below_grade` is any pit or basement."),
    ]
    space_volume: (
        Annotated[
            Volume,
            about("Smallest space that a leak can fill; required unless outdoors.", low=0.1, high=1e6, unit="m3"),
        ]
        | UnsetType
    ) = UNSET
    jurisdiction: Annotated[Literal["us", "eu", "gb"], about("Whose rules apply.")]
    use: Annotated[
        Literal["comfort_cooling", "industrial_process", "commercial_refrigeration", "other"],
        about("What the hire customer cools: it sets the leak-rate limit."),
    ]
    relief_discharge: Annotated[ReliefDischargeGiven, about("Relief outlet.")] | UnsetType = UNSET
    additions: Annotated[tuple[AdditionGiven, ...], about("Additions, oldest first.", max_length=200)] = ()
    date: (
        Annotated[
            str,
            about(
                "Day that the rules are asked for, RFC 3339 full-date.",
                pattern=r"^[0-9]{4}-[0-9]{2}-[0-9]{2}$",
                max_length=10,
                examples=["2026-07-01"],
            ),
        ]
        | UnsetType
    ) = UNSET
    leak_detection: Annotated[bool, about("A leakage detection system raises an alarm.")] = False
    mechanical_ventilation: (
        Annotated[bool, about("Fans can clear the space, started by the detector; absent: not known.")] | UnsetType
    ) = UNSET
    hermetic: Annotated[bool, about("Hermetically sealed, and labelled so.")] = False
    listed_for_indoor_use: Annotated[
        bool, about("The machine is listed for this refrigerant in an occupied space.")
    ] = False
