"""Words and forms that the advice of every trade uses."""

from typing import Any

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
