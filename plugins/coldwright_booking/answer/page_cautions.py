"""The cautions of a plan on its short page: those that say the same are one, those that this order does not have fall away.

A caution that is not named here is printed as its calculator wrote it, so that nothing new can be lost.
"""

from collections.abc import Sequence
from typing import NamedTuple

from msgspec import UnsetType

from coldwright.contract.notes import Caution
from coldwright.contract.page import Lines, Section, section
from coldwright.contract.people import prose
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import in_words_of


class Merged(NamedTuple):
    """One caution in the place of several."""

    codes: tuple[str, ...]
    text: str
    only_for: str = ""
    """A practice, a liquid, or a generator, without which it is not true of the order."""


IN_THE_FOOT = ("plan_is_not_a_permit", "local_rules_prevail", "local_code", "local_prevails", "rules_prevail")
"""All say what the last line of every page says."""
MERGED = (
    Merged(
        ("qualified_only", "lock_and_tag", "prove_dead", "shock_and_arc", "tester_proved"),
        "Only a qualified electrical person works at the leads. Open, lock and tag every source that can feed the work, let "
        "stored energy go, try to start; try the tester on a live source, measure 0 V between all lines and to {earth}, try "
        "the tester again. A stop button, control switch or interlock isolates nothing.",
    ),
    Merged(
        ("no_make_break_live", "no_live_connectors"),
        "Never plug, pull or swap a single-pole lead that is live or carries load: open, lock and prove dead first.",
    ),
    Merged(
        ("trip_and_traffic", "cable_route", "hose_and_cable_routes", "traffic"),
        "Ramps wherever people or wheels cross, hose and cable each in a channel of its own; keep wheels off charged hose. "
        "Cable out of water, doorways and sharp edges, without pull, surplus in long loops: a coil under load overheats. No "
        "cable joint below a hose coupling. A marshal where vehicles move. Spilt water and glycol are slippery.",
    ),
    Merged(
        ("evaporator_freeze_up", "evaporator_freeze"),
        "No flow, no start: an evaporator that freezes splits and lets water into the refrigerant. Never bypass the freeze "
        "protection; no plain water in it where it may freeze.",
    ),
    Merged(
        ("exhaust_and_fuel", "engine_exhaust"),
        "Engine exhaust kills without warning: away from doors, windows, air intakes, pits and closed yards, and never run in "
        "a room. Stop the set and let it cool before filling the tank; bund below it, extinguisher at hand.",
        only_for="generator",
    ),
    Merged(
        ("generator_bonding",),
        "Where the transfer switch also switches the neutral, bond the neutral and an {earth_electrode} at the set; where the "
        "neutral runs through, make no bond at the set. Never feed back into a building without transfer equipment. Other "
        "rules hold for portable and vehicle-mounted sets.",
        only_for="generator",
    ),
    Merged(
        ("nobody_under_the_load", "suspended_load"),
        "Nobody under or beside a load, nor where it could fall or swing: fence that area off.",
    ),
    Merged(
        ("hose_under_pressure", "gasket_and_levers", "no_strain"),
        "A charged hose is a loaded spring. At every coupling: gasket right and seated, levers closed and pinned, no strain, a "
        "hose restraint; bends and risers held, a rising hose in slings. Nobody in line with a fitting; well back while the "
        "pressure rises for the first time.",
    ),
    Merged(
        ("never_loosen_under_pressure", "pressure"),
        "Open nothing under pressure: stop the pump, close both valves, let the pressure off, and prove at an open vent that "
        "none is left. Fill with a gauge in sight and a relief valve in place.",
    ),
    Merged(
        ("ethylene_toxic",),
        "Ethylene glycol tastes sweet and poisons people and animals: keep it from children, animals, food and drinking water.",
        only_for="ethylene_glycol",
    ),
    Merged(
        ("glycol",),
        "Glycol and its inhibitors: slippery floors; catch and recover it, away from food and drinking water.",
        only_for="glycol",
    ),
    Merged(
        ("personnel_protection",),
        "Outlets of up to 30 A, 120 V for hand tools need a ground-fault circuit interrupter.",
        only_for="nec",
    ),
    Merged(
        ("personnel_protection",),
        "Outlets up to 32 A for hand tools need a residual-current device of at most 30 mA.",
        only_for="iec",
    ),
)


MOST_SHOWN = 10
"""A page of thirty cautions is read by nobody."""
FIRST = (
    "qualified_only", "no_make_break_live", "nobody_under_the_load", "exhaust_and_fuel", "hose_under_pressure",
    "never_loosen_under_pressure", "evaporator_freeze", "refrigerant_release", "ground_first", "frost", "ethylene_toxic",
    "crane_chart_prevails", "truck_care", "ground_competent_person", "sudden_start", "potable_backflow",
    "trip_and_traffic", "written_lift_plan", "discharge_permit", "glycol",
)  # fmt: skip
"""What kills comes first, then what loses the machine, then the rest in the order of the calculators (common practice).
What an order does not have, a set, a crane, frost, glycol, none of its calculators says."""


OURS = ("electrical", "hydronic", "refrigeration", "readiness", "site", "booking")
"""Families that this list knows. What a stranger's part says comes before all of it, so that nobody folds it away."""


def true_of(practice: Practice, liquid: str, *, generator: bool) -> frozenset[str]:
    """Words for `only_for` that hold for an order."""
    glycol = {"glycol"} if liquid.endswith("glycol") else set()
    return frozenset({"", practice, liquid} | glycol | ({"generator"} if generator else set()))


def cautions(
    given: Sequence[Caution], practice: Practice, true: frozenset[str], cold: bool
) -> tuple[Section | None, Section | None]:
    """The most important of what is true of this order; and the rest, folded away. `cold`: frost is expected."""
    first = [code for code in FIRST if cold or code != "frost"]

    def rank(caution: Caution) -> int:
        if not isinstance(caution.calculator, UnsetType) and caution.calculator.partition(".")[0] not in OURS:
            return -1
        return first.index(caution.code) if caution.code in first else len(first)

    lines = _lines(sorted(given, key=rank), practice, true)
    rest = lines[MOST_SHOWN:]
    more = section("More cautions", Lines(rest), fact=f"{len(rest)} more", folded=True) if rest else None
    return section("Cautions", Lines(lines[:MOST_SHOWN])) if lines else None, more


def _lines(given: Sequence[Caution], practice: Practice, true: frozenset[str]) -> tuple[str, ...]:
    """What is true of this order, each thing once."""
    lines: dict[str, None] = {}
    for caution in given:
        if caution.code in IN_THE_FOOT:
            continue
        merged = [m for m in MERGED if caution.code in m.codes]
        lines |= dict.fromkeys(in_words_of(practice, m.text) for m in merged if m.only_for in true)
        if not merged:
            lines[prose(caution.statement)] = None
    return tuple(lines)
