"""Words and forms that the advice of every trade uses."""

import re
from typing import Any, Final

from msgspec.structs import replace

from coldwright_readiness.startup.advice.action import Action, Look, Template, seen
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.limits import RULES
from coldwright_readiness.startup.rules.fact import Standing


def row_of(rule: str) -> dict[str, Any]:
    return RULES[rule]


def say(rule: str, do: str, short: str, subject: str, *record: Template, **more: Any) -> Action:
    row = row_of(rule)
    return Action(
        step_id=more.pop("step", str(row["clear_by"])),
        why=more.pop("why", str(row["why"])),
        do=do,
        short=short,
        subject=subject,
        record=record,
        done_by=more.pop("hands", str(row["cleared_by"])),
        causes=more.pop("causes", ()),
        not_before=more.pop("not_before", None),
    )


def of_this_machine(e: Evidence) -> dict[str, Any]:
    """What a record of the source says more, where a breaker of it feeds this machine alone."""
    return {"whole_source": False} if e.limits.configuration.own_breaker else {}


_AT_THE_SOURCE: Final = re.compile(r"\b(?:open|close) the source\b", re.IGNORECASE)
_OWN_BREAKER: Final = (
    "Here that is the breaker that feeds this machine alone: leave those of the other machines as they are."
)


def at_its_breaker(e: Evidence, action: Action) -> Action:
    """The same, saying that not all are to be cut off, where a breaker of the source feeds this machine alone."""
    if not e.limits.configuration.own_breaker or not _AT_THE_SOURCE.search(action.do):
        return action
    return replace(action, do=f"{action.do} {_OWN_BREAKER}")


def supervisor(e: Evidence) -> str:
    """Who settles what only a supervisor may: whom the configuration names, at night too."""
    officer = e.limits.configuration.officer_on_duty
    return f"a supervisor (on duty: {officer})" if officer else "a supervisor"


def again(s: Standing) -> str:
    return " again" if s.status in ("stale", "invalidated", "contradicted") else ""


def pump_off(e: Evidence) -> tuple[Template, ...]:
    return (seen("pump_state", pump=e.limits.pump_in_use, state="off"),) if e.pumping.run.holds else ()


def first_suspect(causes: tuple[Look, ...]) -> str:
    """What to look at first."""
    suspect = causes[0].look_at
    return f"First suspect: {suspect[0].lower()}{suspect[1:]}."
