"""Checks that stay open beside `ready` and `wait`: what to do about them first, the gravest before the others."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from coldwright.contract.notes import Finding
from coldwright_readiness.shared.instants import NANO
from coldwright_readiness.startup.facts import Evidence
from coldwright_readiness.startup.order import Record

CLEARED_BY: Final = " May be cleared by: "
MOST_STATEMENTS: Final = 3
RESETS: Final = 3
"""So many resets of one alarm within `RESETS_WITHIN` ask for its cause: common practice, no source."""
RESETS_WITHIN: Final = 3600 * NANO
_TIME: Final = ("R20", "anti_recycle")
_GRAVEST_FIRST: Final = (
    "I15", "I3", "I13", "I4", "I16", "I10", "I12", "repeated_trips", "I14", "I18", "rated_voltage_assumed", "I2", "I19",
    "I8", "I9", "I7", "N1", "two_pumps",
)  # fmt: skip


@dataclass(frozen=True)
class OpenChecks:
    """In words: what was found, what to do first, and who does it."""

    found: str
    first: str
    hands: tuple[str, ...]


def open_checks(findings: Sequence[Finding]) -> OpenChecks | None:
    """Of the checks that are no mere wait: of each code its first case, with the number of others."""
    by_code: dict[str, list[Finding]] = {}
    for f in findings:
        if f.severity == "check" and f.code not in _TIME:
            by_code.setdefault(f.code, []).append(f)
    if not by_code:
        return None
    rank = {code: n for n, code in enumerate(_GRAVEST_FIRST)}
    ranked = sorted(by_code.values(), key=lambda cases: rank.get(cases[0].code, len(rank)))
    found = [_cases(cases) for cases in ranked[:MOST_STATEMENTS]]
    if len(ranked) > MOST_STATEMENTS:
        found.append(f"And {len(ranked) - MOST_STATEMENTS} more, among the findings.")
    todo: dict[str, None] = {}  # a set that keeps its order
    hands: dict[str, None] = {}
    for cases in ranked:
        resolve, _, who = cases[0].resolve.partition(CLEARED_BY)
        todo[resolve or cases[0].statement] = None
        if who:
            hands[who.rstrip(".")] = None
    numbered = todo if len(todo) == 1 else [f"({n}) {words}" for n, words in enumerate(todo, 1)]
    return OpenChecks(" ".join(found), " ".join(numbered), tuple(hands))


def _cases(cases: list[Finding]) -> str:
    more = f" ({len(cases) - 1} more such)" if len(cases) > 1 else ""
    return f"{cases[0].statement}{more}"


def repeated_trips(e: Evidence) -> list[tuple[str, tuple[Record, ...]]]:
    """Alarms reset so often within the hour, by code, with the resets that are the closest together."""
    resets: dict[str, list[Record]] = {}
    active: set[str] = set()
    for r in e.all("alarm"):
        if r.data.state == "active":
            active.add(r.data.code)
        elif r.data.code in active:
            active.discard(r.data.code)
            resets.setdefault(r.data.code, []).append(r)
    found = []
    for code, records in sorted(resets.items()):
        runs = [tuple(records[n : n + RESETS]) for n in range(len(records) - RESETS + 1)]
        close = [run for run in runs if abs(run[-1].at - run[0].at) <= RESETS_WITHIN]
        if close:
            found.append((code, close[-1]))
    return found
