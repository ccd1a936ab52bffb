"""One action, and the words that every other module of advice uses."""

from typing import Any, Final

from msgspec import Struct

ELECTRICIAN: Final = "a qualified electrical person"
TECHNICIAN: Final = "the technician at the machine"
NO_ORDER: Final = "This is no order to start: whoever stands at the machine decides."
SHORT: Final = 60
"""Most characters of the short form."""


class Template(Struct, frozen=True):
    """An observation that would settle it: what is known already is filled in, a reading is left out."""

    kind: str
    data: dict[str, Any]
    by: str = ""
    """Whose record it must be; empty where anybody's is good."""
    role: str = ""
    otherwise: bool = False
    """Instead of the one before it, where that cannot be made."""


class Look(Struct, frozen=True):
    """Something to look at when a fact failed, and what decides it."""

    look_at: str
    decides: str


class Action(Struct, frozen=True):
    """What to do, why, by whom, and how it is recorded."""

    step_id: str
    why: str
    do: str
    short: str
    subject: str
    record: tuple[Template, ...] = ()
    done_by: str = TECHNICIAN
    causes: tuple[Look, ...] = ()
    not_before: int | None = None
    """An instant before which it proves nothing."""


def seen(kind: str, by: str = "", role: str = "", **data: Any) -> Template:
    """A template."""
    return Template(kind, data, by, role)


def shortened(text: str, most: int = SHORT) -> str:
    """At most so long as a short form may be, cut at a word: never inside a time."""
    if len(text) <= most:
        return text
    cut = text[: most - 1].rsplit(" ", 1)[0].rstrip(" ,;:")
    return f"{cut}…"
