"""What is wrong with an input, said at its field, or above the form where it belongs to none that is shown."""

from collections.abc import Iterator, Mapping, Sequence

from coldwright.contract.people import label
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.people.fields import Field


def wrong_fields(raised: ProblemRaised) -> dict[str, list[str]]:
    """What is wrong, by the pointer of the field; by none what belongs to no field."""
    found: dict[str, list[str]] = {}
    for error in raised.problem().errors:
        texts = [error.detail, f"Why: {error.why}" if isinstance(error.why, str) and error.why else ""]
        found.setdefault(error.pointer.removeprefix("#"), []).append(" ".join(filter(None, texts)))
    return found or {"": [raised.detail or raised.kind.title]}


def not_at_a_field(wrong: Mapping[str, list[str]], fields: Sequence[Field]) -> list[str]:
    """What would be seen at no field: said above the form, with the name of where it belongs."""
    at_fields = {text for f in fields for text in _texts(f)}
    elsewhere = [(where, t) for where, texts in wrong.items() for t in texts if t not in at_fields]
    return [f"{label(where.rpartition('/')[2])}: {text}" if where else text for where, text in elsewhere]


def _texts(field: Field) -> Iterator[str]:
    yield from field.wrong
    for child in field.children:
        yield from _texts(child)
