"""What to do about work on the lines: dead and locked first."""

from typing import Any, Final

from coldwright_basis.trade_words import in_words_of
from coldwright_readiness.startup.advice.action import Action, Template, seen
from coldwright_readiness.startup.advice.common import of_this_machine, row_of, say
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.rules.connecting import why_not_connect
from coldwright_readiness.startup.rules.fact import Fact, Standing

PROOF: Final[dict[str, Any]] = dict.fromkeys(("dead", "tester_proved_before", "tester_proved_after"), True)
ROUTE: Final[dict[str, Any]] = dict.fromkeys(("ramps_fitted", "off_water", "strain_relieved", "surplus_uncoiled"), True)
ORDER: Final = ("ground", "line_1", "line_2", "line_3")


def _line(end: str, number: str = "1") -> Template:
    return seen(
        "line_connection", end=end, set=int(number), state="connected", order=ORDER, fully_mated=True, covers_on=True
    )


def _on_dead_lines(e: Evidence, do: str) -> tuple[str, tuple[Template, ...]]:
    """What comes first where work on the lines may not begin yet, and its records."""
    reasons = why_not_connect(e)
    if not reasons:
        return do, ()
    first = []
    if any("supply" in r for r in reasons):
        first.append(seen("supply", state="off", **of_this_machine(e)))
    if any("lock" in r for r in reasons):
        first.append(seen("lock", state="applied", tagged=True, **of_this_machine(e)))
    if any("prove" in r or "proof" in r for r in reasons):
        first.append(seen("proved_dead", **PROOF))
    words = (
        f"Work on the lines may not begin yet: {'; '.join(reasons)}. Open, lock and tag, prove the tester, prove dead, "
        f"prove the tester. Then: {do}"
    )
    return words, tuple(first)


def connecting(e: Evidence, fact: Fact, s: Standing) -> Action:
    """R21 to R26 and R28: work on lines that are dead and locked."""
    rule = fact.rule
    row = e.limits.rules[rule]
    sets = list(e.by_subject("line_connection")) or [("source", "1"), ("machine", "1")]
    ends = sorted({*sets, *((end, "1") for end in ("source", "machine") if end not in {k[0] for k in sets})})
    lines = tuple(_line(end, number) for end, number in ends)
    record: tuple[Template, ...] = {
        "R21": (seen("proved_dead", **PROOF), *(lines if e.line_work else ())),
        "R22": lines,
        "R23": lines,
        "R24": (seen("earth_continuity"),),
        "R25": (seen("insulation_test", electronics_disconnected=True),),
        "R26": (seen("cable_route", **ROUTE),),
        "R28": (seen("proved_dead", role="electrician", **PROOF), *lines),
    }[rule]
    texts = _WORDS[rule] if s.status == "missing" else (str(row["resolve"]), _WHERE_WRONG[rule])
    do, short = (in_words_of(e.limits.practice, text) for text in texts)
    first: tuple[Template, ...] = ()
    if rule != "R26":
        do, first = _on_dead_lines(e, do)
    if rule == "R21" and s.status == "missing" and not e.line_work:
        record = ()
    role = "electrician"
    record = tuple(Template(t.kind, t.data, t.by, role) for t in (*first, *record))
    return say(rule, do, short, s.need.subject, *record, why=str(row["why"]))


def transfer(_e: Evidence, _fact: Fact, s: Standing) -> Action:
    """R27."""
    return say(
        "R27",
        str(row_of("R27")["resolve"]),
        "Put the transfer equipment right",
        s.need.subject,
        seen("transfer_interlock", role="electrician", ok=True),
    )


_WORDS: Final = {
    "R21": ("Record the proof before the work begins.", "Lock, then prove the lines dead"),
    "R22": (
        "Connect the machine end, then the source end: {earth} first, then neutral if there is one, then the lines.",
        "Connect both ends, {earth} first",
    ),
    "R23": ("Turn every connector home, put the covers on, and record it.", "See connectors home and covered"),
    "R24": ("Measure the path of the {earth} from the frame to the source.", "Measure the {earth} path"),
    "R25": ("Test the cable's insulation with electronics off.", "Test the cable's insulation"),
    "R26": (
        "See that the cable lies safely: ramps, off water, strain relieved, surplus uncoiled.",
        "See that the cable lies safely",
    ),
    "R28": ("A named electrician inspects the work and records it anew.", "Electrician inspects and records the work"),
}
"""What to do where nobody has looked yet: nothing is called wrong."""
_WHERE_WRONG: Final = {
    "R21": "Prove the lines dead anew, before more work",
    "R22": "Dead and locked: connect again in order",
    "R23": "Dead and locked: connectors home, covers on",
    "R24": "Path of the {earth} not good: mend, measure again",
    "R25": "Cable's insulation not good: change it, test again",
    "R26": "Put the cable's route right, look again",
    "R28": "Electrician inspects the work and records it anew",
}
"""The same in short where it was seen, and does not hold (any more): what is to be done, never how it should be."""
