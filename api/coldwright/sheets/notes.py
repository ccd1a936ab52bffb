"""Findings, cautions and assumptions of an answer, as notices and lists."""

from collections.abc import Mapping, Sequence
from typing import Any

from coldwright.contract.page import (
    Column,
    Heading,
    Lines,
    Mark,
    Notice,
    Notices,
    Section,
    Table,
    Tone,
    section,
    shortened,
)
from coldwright.contract.people import count_of, label, number, plain_text, words
from coldwright.sheets.sources import Sources

Answer = Mapping[str, Any]
Note = Mapping[str, Any]

TONES: dict[str, Tone] = {"acceptable": "good", "conditional": "care", "unacceptable": "bad"}
LAST_WORD = (
    "Local codes, the site's permits and licensed practice prevail. Data come from people and gauges and may be wrong."
)
MOST_LINES = 400
SEVERITIES: tuple[Mark, ...] = ("stop", "check", "note")


def of_severity(answer: Answer, severity: str) -> list[Note]:
    """The findings of one severity."""
    return [f for f in answer["findings"] if f["severity"] == severity]


def tally(answer: Answer) -> str:
    """`2 stops, 1 check`."""
    counts = [(len(of_severity(answer, s)), s) for s in SEVERITIES]
    return ", ".join(count_of(n, s) for n, s in counts if n) or "no findings"


def finding_notice(finding: Note, sources: Sources) -> Notice:
    """A finding with why it matters and what would free it."""
    said_by = ", ".join(part for part in (finding.get("calculator", ""), finding.get("rule", "")) if part)
    more = (
        ("Why", finding.get("why", "")),
        ("What would free it" if finding["severity"] == "stop" else "What to do", finding.get("resolve", "")),
        ("Source", sources.mark(finding.get("references", ()))),
        ("Said by", said_by),
        ("Field", finding.get("field", "")),
    )
    return Notice(
        finding["severity"], plain_text(finding["statement"]), tuple((k, plain_text(v)) for k, v in more if v)
    )


def findings_section(answer: Answer, sources: Sources, severities: Sequence[str], title: str) -> Section | None:
    """Findings of some severities, gravest first."""
    notices = tuple(finding_notice(f, sources) for s in severities for f in of_severity(answer, s))
    return section(title, Notices(notices) if notices else None)


def caution_section(answer: Answer, sources: Sources) -> Section | None:
    """Every caution, by what can hurt."""
    by_hazard: dict[str, list[str]] = {}
    for caution in answer["cautions"]:
        mark = sources.mark(caution.get("references", ()))
        statement = plain_text(caution["statement"])
        line = f"{statement} ({mark})" if mark else statement
        if line not in by_hazard.setdefault(caution["hazard"], []):
            by_hazard[caution["hazard"]].append(line)
    blocks = [block for hazard, lines in by_hazard.items() for block in (Heading(label(hazard)), Lines(tuple(lines)))]
    return section("Cautions", *blocks)


def assumption_section(answer: Answer, sources: Sources, *, defaults: bool) -> Section | None:
    """What was taken as true: what a calculator decided to assume, or the defaults of fields nobody filled in."""
    chosen = [a for a in answer["assumptions"] if a["code"].startswith("default:") == defaults]
    rows = tuple(dict.fromkeys(_assumption_row(a, sources) for a in chosen))
    table = Table((Column("Taken as true", 70), Column("Because", 30)), rows) if rows else None
    title = "Values taken by default" if defaults else "What was assumed"
    return section(title, table, appendix=defaults)


def _assumption_row(assumption: Note, sources: Sources) -> tuple[str, str]:
    mark = sources.mark(assumption.get("references", ()))
    basis = words(assumption["basis"])
    if assumption["basis"] == "common_practice":
        basis = "common practice, no source"
    elif mark:
        basis = f"{basis}, {mark}"
    return plain_text(assumption["statement"].replace("`", "")), basis


def working_section(answer: Answer) -> Section | None:
    """The sum, line by line."""
    rows = tuple(
        (
            plain_text(w["symbol"]),
            plain_text(w["meaning"]),
            plain_text(w["expression"]),
            f"{number(w['value'], 5)} {plain_text(w['unit']) if w['unit'] != '1' else ''}".strip(),
        )
        for w in answer["working"]
    )
    columns = (Column("Symbol", 12), Column("What", 26), Column("Equation and numbers", 42), Column("Value", 20))
    return section("Working", *(shortened(Table(columns, rows), MOST_LINES) if rows else ()), appendix=True)


def stamp(answer: Answer) -> str:
    """Who answered, and the identity of the question."""
    who = answer["calculator"]
    return plain_text(f"{who['id']} {who['version']}, digest {answer['digest']}")
