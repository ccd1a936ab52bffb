"""Structs of this resource, made from those of the calculator that judges a start."""

from typing import Annotated, Any

from msgspec import UNSET, Meta, Struct, UnsetType, defstruct

from coldwright.contract import Given, Text, about
from coldwright.contract.walk import fields_of, plain
from coldwright.registry import Registry
from coldwright.service.http.instants import instant
from coldwright.service.startups.kinds import kinds_of, shared_fields
from coldwright.service.startups.plans import FromBooking

MOST_IN_A_BATCH = 5_000
SENT_AT = (
    Annotated[
        str,
        Meta(
            description=(
                "The device's clock when it sends, RFC 3339 with its offset. How far it is off widens the time of every "
                "observation that declares neither its clock's offset nor an uncertainty; it never shifts one."
            ),
            max_length=40,
            extra_json_schema={"format": "date-time"},
        ),
    ]
    | UnsetType
)


_BESIDE: list[Any] = [
    (
        "from_booking",
        Annotated[
            FromBooking, about("Take the configuration from this plan; `configuration` says what differs from it.")
        ]
        | UnsetType,
        UNSET,
    ),
    (
        "by",
        Annotated[Text, about("Who changes it, where the key names nobody; needed to loosen a limit of the start.")]
        | UnsetType,
        UNSET,
    ),
    (
        "reason",
        Annotated[Text, about("Why it is changed; needed to loosen a limit of the start.")] | UnsetType,
        UNSET,
    ),
]


class Types:
    """Structs of this resource, made from those of `readiness.startup`: the service names no plugin."""

    def __init__(self, registry: Registry) -> None:
        given: Any = registry.needed("start").local.given
        by_name = {f.name: f.annotation for f in fields_of(given)}
        self.kinds = kinds_of(given)
        self.shared = shared_fields(given)
        """Fields of the configuration whose name a start has in common with others."""
        observation: Any = self.kinds.observation
        configuration: Any = Annotated[plain(by_name["configuration"]), about("As `readiness.startup` takes it.")]
        booking = Annotated[Text, about("Reference of the order it belongs to.")] | UnsetType
        machine = Annotated[Text, about("The machine: your own name or number of it.")] | UnsetType
        serial = (
            Annotated[Text, about("Serial number of the machine: one of those that its booking holds.", min_length=1)]
            | UnsetType
        )
        self.document = _given(
            "StartupDocument",
            "A start-up of one machine on one site.",
            [
                ("configuration", configuration | UnsetType, UNSET),
                ("booking", booking, UNSET),
                ("machine", machine, UNSET),
                ("serial", serial, UNSET),
                *_BESIDE,
            ],
        )
        several = about("Observations, in any order.", min_length=1, max_length=MOST_IN_A_BATCH)
        self.batch = _given(
            "ObservationBatch",
            "Observations; each is kept or refused alone unless `?all_or_nothing=true`.",
            [("observations", Annotated[tuple[observation, ...], several]), ("sent_at", SENT_AT, UNSET)],
        )


def _given(name: str, description: str, fields: list[Any]) -> type[Struct]:
    struct = defstruct(name, fields, bases=(Given,), frozen=True, kw_only=True, module="coldwright.service.answers")
    struct.__doc__ = description
    return struct


WHOLE = {"required": ["configuration"]}
"""What is kept has its configuration, also where it came from a plan."""


def kept_startup_type(document: type[Struct]) -> type[Struct]:
    """The reply to a PUT."""
    fields: list[Any] = [
        ("id", Annotated[str, Meta(description="Your id of it.")]),
        ("created_at", Annotated[str, instant("When it was made, RFC 3339.")]),
        (
            "follows",
            Annotated[str, Meta(description="The start of the same machine before it, which is not open any more.")]
            | UnsetType,
            UNSET,
        ),
        ("startup", Annotated[document, Meta(description="As it is kept.", extra_json_schema=WHOLE)]),
    ]
    struct = defstruct("KeptStartup", fields, frozen=True, kw_only=True, module="coldwright.service.answers")
    struct.__doc__ = "A start-up as it is kept."
    return struct


def startup_verdict_type(answer: type[Struct], name: str = "StartupVerdict") -> type[Struct]:
    """The reply to a GET."""
    fields: list[Any] = [
        ("id", Annotated[str, Meta(description="Your id of it.")]),
        (
            "observation_count",
            Annotated[int, Meta(ge=0, le=10**6, description="Observations that the verdict rests on.")],
        ),
        ("verdict", Annotated[answer, Meta(description="Answer of `readiness.startup`.")]),
    ]
    struct = defstruct(name, fields, frozen=True, module="coldwright.service.answers")
    struct.__doc__ = "The verdict on a start-up. A ready verdict is not an order to start: the person on site decides."
    return struct
