"""The work on the sheet of a crew: each step at its time, with what is read there and the caution that belongs to it."""

from collections.abc import Iterator

from msgspec import UnsetType

from coldwright.contract.language import marked as _
from coldwright.contract.page import Section, Task, Tasks, section
from coldwright.contract.people import clock, plain_text, words
from coldwright.contract.quantities import Duration
from coldwright_booking.answer.crew_cautions import AT_STEP, OF_THE_MIX, PLACED
from coldwright_booking.answer.crew_machine import ONCE, Crew
from coldwright_booking.answer.crew_readings import readings
from coldwright_readiness.procedure import ProcedureResults

ROLES = (_("electrician"), _("technician"), _("lift team"))


def work(crew: Crew) -> Section | None:
    """In the order of time. On the sheet of one machine what is done once for the plant is there, without its readings."""
    tasks = tuple(_tasks(crew))
    return section(crew.say(_("Order of work, in hours after arrival")), Tasks(tasks) if tasks else None)


def beginnings(plan: ProcedureResults) -> dict[str, Duration]:
    """When each step begins, as crew sheet and plan say it.

    Leaks show at full pressure: that is there once the loop has been vented and topped up, before the pump turns.
    """
    begin = {s.id: s.earliest_start for s in plan.steps}
    pressed = next((s.earliest_finish for s in plan.steps if s.id == "repressurise"), None)
    return begin | ({"leak_check": pressed} if "leak_check" in begin and pressed is not None else {})


def _tasks(crew: Crew) -> Iterator[Task]:
    say, plan = crew.say, crew.results.arrival_plan
    if isinstance(plan, UnsetType):
        return
    known, placing = readings(crew), crew.results.asked.procedure
    cautions = AT_STEP | (
        {} if isinstance(placing, UnsetType) else {"place_machine": PLACED[placing.configuration.lifted_by]}
    )
    begin, mixed = beginnings(plan), crew.results.fluid.kind != "water"
    for step in sorted(plan.steps, key=lambda s: (begin[s.id].value, s.id != "leak_check", s.earliest_finish.value)):
        elsewhere = crew.chosen is not None and step.id in ONCE
        caution = "" if elsewhere or step.id not in cautions else say(cautions[step.id])
        if mixed and caution and step.id == "fill_loop":
            caution += f" {say(OF_THE_MIX)}"
        who = "" if step.role == "none" else say.known(words(step.role))
        yield Task(
            plain_text(say.known(step.title)),
            when=clock(begin[step.id]),
            who=say(_("once for the plant")) if elsewhere else who,
            blanks=() if elsewhere else known.get(step.id, ()),
            caution=caution,
        )
