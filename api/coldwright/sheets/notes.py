"""Findings, cautions and assumptions of an answer, as notices and lists."""

from collections.abc import Mapping, Sequence
from typing import Any

from coldwright.contract.language import marked as _
from coldwright.contract.page import (
    Column,
    Heading,
    Lines,
    Mark,
    Notice,
    Notices,
    Prose,
    Section,
    Table,
    Tone,
    section,
    shortened,
)
from coldwright.contract.people import (
    count_of,
    is_quantity,
    label,
    number,
    plain_text,
    prose,
    rounded,
    value_text,
    words,
)
from coldwright.sheets.sources import KNOWN, Sources, numbered

Answer = Mapping[str, Any]
Note = Mapping[str, Any]

TONES: dict[str, Tone] = {"acceptable": "good", "conditional": "care", "unacceptable": "bad"}
LAST_WORD = _(
    "Local codes, the site's permits and licensed practice prevail. Data come from people and gauges and may be wrong."
)
MOST_LINES = 400
PRACTICE_SIGN = "\u2020"
SIGN = _("\u2020 common practice, no source.")
LEGEND = _("\u2020 common practice, no source. [n] the source of that number, at the end.")
SEVERITIES: tuple[Mark, ...] = ("stop", "check", "note")


def of_severity(answer: Answer, severity: str) -> list[Note]:
    """The findings of one severity."""
    return [f for f in answer["findings"] if f["severity"] == severity]


def tally(answer: Answer) -> str:
    """`2 stops, 1 check`."""
    counts = [(len(of_severity(answer, s)), s) for s in SEVERITIES]
    return ", ".join(count_of(n, s) for n, s in counts if n) or "no findings"


def finding_notice(finding: Note, sources: Sources) -> Notice:
    """What to do about a finding, what was found, and why it matters."""
    action = rounded(finding.get("do") or finding.get("resolve", ""))
    statement, source = prose(rounded(finding["statement"])), sources.mark(finding.get("references", ()))
    if source == KNOWN["common_practice"]:
        statement, source = f"{statement} {PRACTICE_SIGN}", ""
    more = (
        (_("Why"), _whole(finding.get("why", ""))),
        (_("Cleared by"), finding.get("cleared_by", "") if finding.get("do") else ""),
        (_("Source"), source),
    )
    kept = tuple((k, prose(v)) for k, v in more if v)
    if finding["severity"] == "note" and action:
        return Notice("note", statement, ((_("What to do"), prose(action)), *kept))
    return Notice(finding["severity"], statement, kept, prose(action))


def _whole(sentence: str) -> str:
    """With a full stop, also where a plugin left it out."""
    return f"{sentence}." if sentence[-1:].isalnum() else sentence


def findings_section(answer: Answer, sources: Sources, severities: Sequence[str], title: str) -> Section | None:
    """Findings of some severities, gravest first."""
    notices = tuple(finding_notice(f, sources) for s in severities for f in of_severity(answer, s))
    return section(title, *with_legend(notices))


def with_legend(notices: tuple[Notice, ...]) -> tuple[Notices | Prose, ...]:
    """Notices, and what the sign in them means."""
    signed = any(notice.text.endswith(PRACTICE_SIGN) for notice in notices)
    return (*((Notices(notices),) if notices else ()), *((Prose(SIGN),) if signed else ()))


def caution_section(answer: Answer, sources: Sources) -> Section | None:
    """Every caution, by what can hurt."""
    by_hazard: dict[str, list[str]] = {}
    for caution in answer["cautions"]:
        mark = sources.mark(caution.get("references", ()))
        marks = [m for m in mark.split("; ") if m and m != KNOWN["common_practice"]]
        line = prose(caution["statement"]) + (f" ({'; '.join(marks)})" if marks else "")
        line += f" {PRACTICE_SIGN}" if KNOWN["common_practice"] in mark else ""
        if line not in by_hazard.setdefault(caution["hazard"], []):
            by_hazard[caution["hazard"]].append(line)
    blocks = [block for hazard, lines in by_hazard.items() for block in (Heading(label(hazard)), Lines(tuple(lines)))]
    signed = any(line.endswith(PRACTICE_SIGN) for lines in by_hazard.values() for line in lines)
    return section(_("Cautions"), *blocks, Prose(SIGN) if signed else None)


def assumption_section(answer: Answer, sources: Sources, *, defaults: bool, cited: bool = False) -> Section | None:
    """What was taken as true: what a calculator decided to assume, or the defaults of fields nobody filled in."""
    chosen = [a for a in answer["assumptions"] if a["code"].startswith("default:") == defaults]
    numbers = numbered(answer, sources, cited=cited)
    said = ((_default(a) if defaults else a["statement"], a) for a in chosen)
    rows = tuple(dict.fromkeys(_assumption_row(text, a, numbers, sources) for text, a in said if text))
    table = Table((Column(_("We assumed"), 76), Column(_("Source"), 24)), rows) if rows else None
    legend = Prose(LEGEND) if any(PRACTICE_SIGN in source for _, source in rows) else None
    title = _("Values taken by default") if defaults else _("What was assumed")
    return section(title, table, legend, appendix=defaults)


def _default(assumption: Note) -> str:
    """`Margin fraction: 10 %. Margin on the load.`; nothing where the default is to say nothing."""
    name = assumption["code"].rpartition("/")[2]
    shown = _in_words(assumption.get("value"), name)
    if not shown:
        return ""
    return f"{label(name)}: {shown}. {assumption['statement'].partition(', the default. ')[2]}"


def _in_words(value: Any, name: str) -> str:
    if isinstance(value, Mapping) and not is_quantity(value):
        members = ((k, _in_words(v, k)) for k, v in value.items())
        return ", ".join(f"{label(k).lower()} {text}" for k, text in members if text)
    if isinstance(value, list | tuple):
        return ", ".join(filter(None, (_in_words(v, name) for v in value)))
    return value_text(value, name)


def _assumption_row(statement: str, assumption: Note, numbers: Mapping[str, int], sources: Sources) -> tuple[str, str]:
    references = assumption.get("references", ())
    cited = [f"[{numbers[i]}]" for i in references if i in numbers]
    mark = sources.mark(references)
    if assumption["basis"] == "common_practice" or KNOWN["common_practice"] in mark:
        cited.append(PRACTICE_SIGN)
    if KNOWN["memory"] in mark:
        cited.append(KNOWN["memory"])
    return prose(rounded(statement)), " ".join(cited) or words(assumption["basis"])


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
    return section(_("Working"), *(shortened(Table(columns, rows), MOST_LINES) if rows else ()), appendix=True)


def stamp(answer: Answer) -> str:
    """Who answered, and the identity of the question."""
    who = answer["calculator"]
    return plain_text(f"{who['id']} {who['version']}, digest {answer['digest']}")
