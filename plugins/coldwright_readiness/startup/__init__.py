"""May the first compressor start, may a running one run on? From what was seen at the machine.

| folder or module | what it holds |
|---|---|
| `given`, `observations`, `observation_data`, `results`, `examples` | what is asked and answered |
| `evidence/` | records as intervals of time, and the states that are surely known from them |
| `rules/` | the facts R01 to R31, each in the module of its trade |
| `checks/` | what cannot be as recorded (I1 to I19), and how it is settled |
| `running` | a machine that runs: what stops it, what is read again |
| `verdict` | one of six words, and what forbids |
| `advice/` | the one thing to do now |
| `answer`, `notes`, `page` | results, findings, working, the page |
"""

from typing import Final

from coldwright.contract import Example, Load, Notes, calculator
from coldwright.contract.notes import Hazard
from coldwright_basis.instants import instant
from coldwright_basis.ratings import OVERCURRENT_RATINGS
from coldwright_readiness.shared import cautions
from coldwright_readiness.shared.configuration import note_usual_values
from coldwright_readiness.shared.references import (
    COMMON_PRACTICE,
    DEENERGISE,
    ELECTRICAL_SAFETY,
    FLUID_DATA,
    HIGH_POINT,
    HYDROSTATICS,
    INSULATION,
    LOCKOUT,
    MACHINE_CIRCUIT,
    MOTOR_SUPPLY,
    QUALIFIED,
    TRANSFER,
)
from coldwright_readiness.startup.answer import answer
from coldwright_readiness.startup.contradictions import refuse_what_cannot_be_judged
from coldwright_readiness.startup.evidence.changes import Change
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.intake import take_in
from coldwright_readiness.startup.examples import EXAMPLE, EXAMPLE_REVERSED, EXAMPLE_STOP
from coldwright_readiness.startup.given import StartupGiven
from coldwright_readiness.startup.limits import STARTUP_RULES, VALVE_POSITIONS, Limits
from coldwright_readiness.startup.notes import FINDINGS, report
from coldwright_readiness.startup.page import start_page
from coldwright_readiness.startup.results import StartupResults
from coldwright_readiness.startup.verdict import conclude

REFERENCES = (
    COMMON_PRACTICE, LOCKOUT, DEENERGISE, ELECTRICAL_SAFETY, QUALIFIED, MACHINE_CIRCUIT, MOTOR_SUPPLY, TRANSFER,
    INSULATION, HYDROSTATICS, HIGH_POINT, FLUID_DATA,
)  # fmt: skip
TABLES = (STARTUP_RULES, VALVE_POSITIONS, OVERCURRENT_RATINGS)
HAZARDS: Final[tuple[Hazard, ...]] = ("electrical", "rotating", "pressure", "thermal", "chemical", "general")


def verdict_on(given: StartupGiven, notes: Notes) -> StartupResults:
    """The way of the sum: take in, see what is surely known, judge, write down, answer."""
    refuse_what_cannot_be_judged(given)
    limits, now = Limits(given.configuration), instant(given.evaluated_at)
    own = [*given.observations, *given.carried] if given.carried else given.observations
    evidence = Evidence(take_in(own, limits, now, given.shared), limits, now)
    changes = [Change(instant(change.at), change.fields) for change in given.configuration_changes]
    evidence, verdict = conclude(evidence, changes, given.joined)
    notes.caution(*cautions.STARTUP)
    note_usual_values(given.configuration, notes, voltage=True)
    report(evidence, verdict, notes)
    notes.assumptions.sort(key=lambda a: a.code)  # their order must not betray that of the observations
    return answer(evidence, verdict)


@calculator(
    "readiness.startup",
    version="2.15.0",
    title="May it start, may it run on: the verdict from what was observed",
    references=REFERENCES,
    tables=TABLES,
    hazards=HAZARDS,
    findings=FINDINGS,
    load=Load.HEAVY,
    page=start_page,
    examples=(
        Example(
            "Ready", "Invented: a machine set up by the book on site power, asked a minute after the hour.", EXAMPLE
        ),
        Example("Leads swapped live", "Invented: the rotation was turned round with the supply on.", EXAMPLE_REVERSED),
        Example("Flow lost", "Invented: the flow switch opens while a compressor runs.", EXAMPLE_STOP),
    ),
)
def startup(given: StartupGiven, notes: Notes) -> StartupResults:
    """Decide `ready`, `wait`, `blocked`, `running`, `stop_now` or `ended` from observations.

    Each observation lies in an interval of time that ends when it was received. The verdict holds for every placement of
    every record in its interval, equal instants counting against the start: uncertainty never makes it milder, and neither
    the order of arrival nor duplicates change it. A failed fact never becomes stale; a stop never lapses by age. `ready`
    says that nothing on record forbids the start. It is no order to start.
    """
    return verdict_on(given, notes)
