"""Who an id belongs to: whom a pinned list names, else who registered it first in this store; never the earlier letter."""

from collections.abc import Mapping
from typing import NamedTuple

from packaging.utils import canonicalize_name


class Holder(NamedTuple):
    """The distribution that an id belongs to, with the moment of its registration as sortable text."""

    distribution: str
    since: str


class Ownership:
    """What is known before plugins are looked at: `kept` from the store, `pinned` from the settings."""

    def __init__(self, kept: Mapping[str, Holder] | None = None, pinned: Mapping[str, str] | None = None) -> None:
        self.kept = dict(kept or {})
        self.pinned = {id_: canonicalize_name(name) for id_, name in (pinned or {}).items()}

    def holder(self, id_: str) -> str:
        """The distribution that an id belongs to; empty where nobody has it."""
        if id_ in self.pinned:
            return self.pinned[id_]
        return self.kept[id_].distribution if id_ in self.kept else ""

    def seniority(self, distribution: str, ids: set[str]) -> tuple[int, str] | None:
        """Where a plugin stands in line: pinned first, then by registration; nothing for one that holds none of its ids."""
        if any(self.pinned.get(id_) == distribution for id_ in ids):
            return 0, ""
        held = [k.since for id_ in ids if (k := self.kept.get(id_)) and self.holder(id_) == distribution]
        return (1, min(held)) if held else None


def pinned_in(text: str) -> dict[str, str]:
    """From `tank.ride_through=coldwright-tank,...`; raises `ValueError` for what can't be read."""
    pairs = {}
    for part in filter(None, (p.strip() for p in text.split(","))):
        id_, sign, distribution = part.partition("=")
        if not (sign and id_.strip() and distribution.strip()):
            raise ValueError(f"{part!r} is not of the form family.name=distribution")
        pairs[id_.strip()] = distribution.strip()
    return pairs
