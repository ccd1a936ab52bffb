"""What a plan leaves open, on the sheet of the crew: what the office decides before dispatch, and what the crew does."""

from collections.abc import Iterator
from typing import Final

from coldwright.contract.language import marked as _
from coldwright.contract.notes import Finding
from coldwright.contract.page import Lines, Prose, Section, Task, Tasks, section
from coldwright.contract.people import prose, rounded
from coldwright_basis.speech import Speech
from coldwright_booking.answer.crew_machine import Crew
from coldwright_booking.answer.plan_answer import PlanAnswer

MOST_OPEN = 8
"""On the sheet of each; it says where the others are."""
ON_SITE: Final = {
    "the site's mechanic", "the person who places the machines", "the lift supervisor", "the technician at the machine",
}  # fmt: skip
"""Who settles a check where the machine stands; everything else is settled before dispatch (common practice)."""


def for_the_office(answer: PlanAnswer) -> tuple[str, ...]:
    """What must be decided before the vehicle leaves."""
    return _asked(f for f in _open(answer) if f.cleared_by not in ON_SITE)


def left_open(crew: Crew) -> tuple[Section | None, ...]:
    """No boxes for what the crew cannot settle. Sentences of the plan are in the language of the plan."""
    say, answer = crew.say, crew.answer
    office, own = for_the_office(answer), _asked(f for f in _open(answer) if f.cleared_by in ON_SITE)
    tasks = Tasks(tuple(Task(text) for text in own[:MOST_OPEN])) if own else None
    lines = Lines(office[:MOST_OPEN] + _more(say, office)) if office else None
    foreign = None if say.language.startswith("en") else Prose(say(_("These lines are of the plan, in English.")))
    return (
        section(say(_("Office before dispatch")), lines, foreign if lines else None),
        section(
            say(_("Crew on site")),
            tasks,
            Lines(_more(say, own)) if _more(say, own) else None,
            foreign if tasks else None,
        ),
    )


def _more(say: Speech, texts: tuple[str, ...]) -> tuple[str, ...]:
    return (say(_("{n} more are in the plan."), n=len(texts) - MOST_OPEN),) if len(texts) > MOST_OPEN else ()


def _open(answer: PlanAnswer) -> list[Finding]:
    """Stops, then checks."""
    return [f for severity in ("stop", "check") for f in answer.findings if f.severity == severity]


def _asked(found: Iterator[Finding]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(prose(rounded(f.do or f.resolve or f.statement)) for f in found))
