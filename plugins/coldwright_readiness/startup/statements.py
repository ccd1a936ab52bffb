"""How a fact stands, in words: what of it is open, and what happened to it."""

from collections.abc import Iterable
from typing import Final

from coldwright_readiness.startup.evidence.happened import what_happened
from coldwright_readiness.startup.limits import Limits
from coldwright_readiness.startup.rules.fact import Fact, Standing

MOST_NAMED: Final = 4
BEFORE_RUN: Final = " before the first run"
_AGAIN: Final = {
    **dict.fromkeys(("R06", "R07", "R10", "R13", "R31"), "read {} again"),
    "R11": "vent {} again",
    "R16": "blow {} down again",
    "R29": "feel or meter {} again",
}
"""What is done about a rule whose evidence does not count any more; else it is looked at again."""


def fact_statement(fact: Fact, limits: Limits) -> str:
    """What of a fact is open, and how it stands."""
    faults = [_fault(s) for s in fact.open if s.status == "failed"]
    alike: dict[str, list[str]] = {}
    for s in fact.open:
        if s.status != "failed":
            name = s.need.subject if s.status == "missing" else the(s.need.subject.removesuffix(BEFORE_RUN))
            alike.setdefault(_how(fact, s, limits), []).append(name)
    parts = [*faults[:MOST_NAMED], *(how.format(named(subjects)) for how, subjects in alike.items())]
    text = "; ".join(parts) or fact.reason or ("as it must be" if fact.established else "not yet")
    return f"{limits.rules[fact.rule]['label']}: {text}."


def _fault(s: Standing) -> str:
    return s.need.fault or f"{s.need.subject}: {s.need.detail or 'not in order'}"


def _how(fact: Fact, s: Standing, limits: Limits) -> str:
    """What is said of a need that is not met and did not fail, with a place for its subjects."""
    if s.status == "missing":
        return "not on record yet: {}"
    again = _AGAIN.get(fact.rule, "look again at {}")
    if s.status == "stale":
        return f"{again}: the last record is too old"
    if s.status == "contradicted":
        return f"{again}: the records do not agree"
    if s.undone is not None:
        happened = what_happened(s.undone, limits, fact.rule).replace("{", "{{").replace("}", "}}")
        return f"{again}, because {happened}"
    if any(r.outdated for r in s.by):
        return f"{again}, because the settings were changed since"
    return s.need.due or again


def the(subject: str) -> str:
    """With its article, where it is no name."""
    return subject if subject.startswith(("the ", "lock ", "alarm ", "proof ")) else f"the {subject}"


def named(subjects: Iterable[str]) -> str:
    """The first few of them, and how many more there are."""
    names = list(dict.fromkeys(subjects))
    shown, more = names[:MOST_NAMED], len(names) - MOST_NAMED
    if more > 0:
        return f"{', '.join(shown)} and {more} more"
    return " and ".join([", ".join(shown[:-1]), shown[-1]] if len(shown) > 1 else shown)
