"""What a handover is judged from: lines, signatures, exceptions."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, Meta, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import type_of_kind
from coldwright_basis.instants import stamp

Party = Literal["rental", "site"]
PARTIES: Final[tuple[Party, ...]] = ("rental", "site")
KINDS_OF_UNIT: Final[dict[str, tuple[str, ...]]] = {
    unit: tuple(kind for kind, quantity in sorted(type_of_kind.items()) if unit in quantity.units)
    for unit in sorted({unit for quantity in type_of_kind.values() for unit in quantity.units})
}


class ReadingValue(Given, frozen=True, kw_only=True):
    """A number with its unit, of any kind."""

    value: Annotated[float, about("The number.", low=-1e15, high=1e15)]
    unit: Annotated[
        str,
        Meta(
            description="Unit of any kind of quantity of this service.",
            max_length=20,
            extra_json_schema={"enum": list(KINDS_OF_UNIT)},
        ),
    ]


Number = Annotated[float, Meta(ge=-1e15, le=1e15)]
Value = ReadingValue | Number | bool | Text
Bound = ReadingValue | Number


class Requirement(Given, frozen=True, kw_only=True):
    """What is asked: `minimum` and/or `maximum`, or `equals` alone."""

    minimum: Annotated[Bound, Meta(description="Least that passes.")] | UnsetType = UNSET
    maximum: Annotated[Bound, Meta(description="Greatest that passes.")] | UnsetType = UNSET
    equals: Annotated[Value, Meta(description="The only thing that passes.")] | UnsetType = UNSET


class HandoverItem(Given, frozen=True, kw_only=True):
    """One line of the record."""

    id: Annotated[Text, about("Name of the line, unique.", min_length=1)]
    required: Annotated[Requirement, about("What is asked.")]
    measured: Annotated[Value, Meta(description="What was found; absent: not done.")] | UnsetType = UNSET
    resolution: (
        Annotated[Bound, Meta(description="Resolution of the instrument; the reading is rounded to its multiple.")]
        | UnsetType
    ) = UNSET
    observed_at: Annotated[str, stamp("When.")] | UnsetType = UNSET
    instrument: Annotated[Text, about("With what.")] | UnsetType = UNSET
    by: Annotated[Text, about("By whom.")] | UnsetType = UNSET


class Signature(Given, frozen=True, kw_only=True):
    """One signature."""

    party: Annotated[Text, about("For whom; `rental` and `site` are needed.", min_length=1)]
    name: Annotated[Text, about("Who signed.", min_length=1)]
    role: Annotated[Text, about("In what role.")] | UnsetType = UNSET
    at: Annotated[str, stamp("When.")] | UnsetType = UNSET
    method: Annotated[Text, about("How: on paper, on a screen.")] | UnsetType = UNSET


class HandoverException(Given, frozen=True, kw_only=True):
    """A failed line that both parties accept."""

    item: Annotated[Text, about("The line.", min_length=1)]
    reason: Annotated[Text, about("Why it is accepted.", min_length=1)]
    signed_by: Annotated[tuple[Text, ...], about("Parties that accept it.", max_length=10)]


class HandoverGiven(Given, frozen=True, kw_only=True):
    """The record to judge."""

    items: Annotated[tuple[HandoverItem, ...], about("Lines of the record.", min_length=1, max_length=500)]
    signatures: Annotated[tuple[Signature, ...], about("Signatures.", max_length=20)] | UnsetType = UNSET
    exceptions: Annotated[tuple[HandoverException, ...], about("Accepted failures.", max_length=500)] | UnsetType = (
        UNSET
    )
