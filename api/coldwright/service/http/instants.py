"""Instants in answers: RFC 3339, so that generated clients read them as what they are."""

from msgspec import Meta


def instant(description: str) -> Meta:
    """Describe a field that holds an instant: `Annotated[str, instant("When it was kept, RFC 3339.")]`."""
    return Meta(description=description, max_length=40, extra_json_schema={"format": "date-time"})
