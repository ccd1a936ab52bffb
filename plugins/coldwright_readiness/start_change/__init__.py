"""Which limits a change of a start's configuration loosens or tightens, and what makes another start of it."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Given, Notes, Refused, Results, about, calculator
from coldwright_readiness.shared.cautions import FALSE_READY
from coldwright_readiness.shared.configuration import configuration_errors
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.references import COMMON_PRACTICE, HIGH_POINT, MOTOR_SUPPLY
from coldwright_readiness.start_change.directions import Direction, directions

_BEFORE = {
    "supply_source": "site",
    "pump_mode": "own_pump",
    "fluid_kind": "water",
    "anti_recycle": {"value": 5, "unit": "min"},
}


class StartChangeGiven(Given, frozen=True, kw_only=True):
    """Two set-ups of one machine."""

    before: Annotated[Configuration, about("The set-up before; the usual values where nothing was.")] | UnsetType = (
        UNSET
    )
    after: Annotated[Configuration, about("The set-up that is wanted.")]


class Loosened(Results, frozen=True, kw_only=True):
    """A field whose change loosens a limit of the start."""

    pointer: Annotated[str, about("The field, as a JSON pointer below the configuration.")]
    why: Annotated[str, about("What is looser now.")]


class StartChangeResults(Results, frozen=True, kw_only=True):
    """Every field that changes, in one list. What does not change the start is in none."""

    loosened: Annotated[
        tuple[Loosened, ...], about("Limits that are looser: not for the technician at the machine to decide.")
    ]
    tightened: Annotated[tuple[str, ...], about("Limits that are tighter; pointers below the configuration.")]
    structural: Annotated[
        tuple[str, ...], about("Makes another start of it: what was proved before need not hold. Pointers as above.")
    ]


@calculator(
    "readiness.start_change",
    version="1.3.0",
    title="Which limits a change of configuration loosens",
    hazards=("general",),
    references=(COMMON_PRACTICE, HIGH_POINT, MOTOR_SUPPLY),
    examples=(
        Example(
            "Shorter rest",
            "Invented: somebody is in a hurry.",
            {"before": _BEFORE, "after": _BEFORE | {"anti_recycle": {"value": 2, "unit": "min"}}},
        ),
        Example(
            "Another pump",
            "Invented: the site's pump is used, and the loop's high point is found to be higher.",
            {
                "before": _BEFORE,
                "after": _BEFORE | {"pump_mode": "site_pump", "high_point_rise": {"value": 12, "unit": "m"}},
            },
        ),
        Example("Against the usual values", "Invented: nothing was before.", {"after": _BEFORE}),
    ),
)
def start_change(given: StartChangeGiven, notes: Notes) -> StartChangeResults:
    """Compare two configurations by what the rules of a start make of each field.

    A limit is looser where more is taken by it. Without `before` the usual values stand in; what has no usual value was
    not known, and giving it loosens nothing, unless the rules are strictest where it is not known.
    """
    notes.caution(FALSE_READY)
    errors = configuration_errors(given.after, "/after")
    if given.before is not UNSET:
        errors += configuration_errors(given.before, "/before")
    if errors:
        raise Refused(errors)
    found = directions(None if given.before is UNSET else given.before, given.after)
    return StartChangeResults(
        loosened=tuple(Loosened(pointer=f"/{f.name}", why=f.why) for f in found if f.direction is Direction.LOOSER),
        tightened=tuple(f"/{f.name}" for f in found if f.direction is Direction.TIGHTER),
        structural=tuple(f"/{f.name}" for f in found if f.direction is Direction.OTHER),
    )
