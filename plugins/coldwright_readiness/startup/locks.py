"""What must be done under a lock before its owner takes it off, and why work on the lines may not begin yet."""

from collections.abc import Mapping
from typing import Final

from coldwright_readiness.startup.facts import Evidence, Fact
from coldwright_readiness.startup.facts_connection import why_not_connect
from coldwright_readiness.startup.facts_power import asks_for_connection
from coldwright_readiness.startup.words import ELECTRICIAN

_ON_THE_LINES: Final = {
    "R21": "the dead lines are proved dead",
    "R04": "the ground is connected and looked at",
    "R22": "",
    "R23": "every connector is home and covered",
    "R24": "the path of the ground is measured",
    "R25": "the insulation is tested",
}
"""Rule -> what must be so; the connection of the lines is put together from what is on record."""
_BESIDE: Final = {
    "R02": "the data plate, cable and breaker are read and fit",
    "R03": "the machine stands level and chocked",
    "R26": "the cable lies safely",
    "R27": "the sources cannot feed together",
    "R28": "a qualified person has looked at the work and recorded it",
}
ENDS: Final = ("source", "machine")


def lock_words(e: Evidence, facts: Mapping[str, Fact]) -> None:
    """R01: a lock stays on until everything that it protects is done; and each rule of the lines says what is missing."""
    lines = _open_on_the_lines(e, facts)
    not_yet = _not_yet(e) if lines and asks_for_connection(e) else ""
    for rule in _ON_THE_LINES:
        if not_yet and rule in facts and not facts[rule].established:
            facts[rule].do = f"{not_yet} {facts[rule].resolve}"
    lock = facts["R01"]
    beside = [words for rule, words in _BESIDE.items() if rule in facts and not facts[rule].established]
    if lock.status != "failed" or not (lines or beside):
        return
    may = not_yet or ("Work on the lines may begin under it." if lines and asks_for_connection(e) else "")
    lock.do = (
        f"The lock stays on until: {'; '.join([*lines, *beside])}. Its owner takes it off only after a look at all of that; "
        f"nobody else does. {may}"
    ).rstrip()
    lock.cleared_by = f"{ELECTRICIAN} for the work, then the owner of the lock"


def _open_on_the_lines(e: Evidence, facts: Mapping[str, Fact]) -> list[str]:
    open_ = []
    for rule, words in _ON_THE_LINES.items():
        if rule == "R22":
            open_ += _unconnected(e, facts)
        elif rule in facts and not facts[rule].established:
            open_.append(words)
    return open_


def _unconnected(e: Evidence, facts: Mapping[str, Fact]) -> list[str]:
    """Ends at which the lines are not on record as connected in order; none where connecting is not asked."""
    order = facts.get("R22")
    if not asks_for_connection(e) or (order is not None and order.established):
        return []
    made = {r.data.end for r in e.all("line_connection") if r.data.state == "connected"}
    off = {r.data.end for r in e.last_each("line_connection") if r.data.state == "disconnected"}
    ends = [end for end in ENDS if end not in made or end in off]
    if not ends:
        return [] if order is None else ["the connection of ground and lines is put right and looked at"]
    what = "ground first, then neutral if there is one, then line 1, line 2 and line 3"
    return [f"{what} are connected at the {' and the '.join(ends)}, and looked at"]


def _not_yet(e: Evidence) -> str:
    reasons = why_not_connect(e)
    return f"Work on the lines may not begin yet: {'; '.join(reasons)}." if reasons else ""
