"""A page that a calculator gave, completed: its standard sections are written from the answer."""

from collections.abc import Iterator, Mapping
from typing import Any

from msgspec.structs import replace

from coldwright.contract.language import Say, words_in
from coldwright.contract.page import (
    Block,
    Facts,
    Heading,
    Notices,
    Page,
    Plot,
    Prose,
    Section,
    Sheet,
    Standard,
    Steps,
    Table,
    facts,
    grid,
    section,
    shortened,
)
from coldwright.contract.people import plain_text, timed
from coldwright.sheets.digits import in_groups_of
from coldwright.sheets.draw import tabled
from coldwright.sheets.notes import (
    LAST_WORD,
    assumption_section,
    caution_section,
    finding_notice,
    findings_section,
    of_severity,
    stamp,
    with_legend,
    working_section,
)
from coldwright.sheets.outline import outline
from coldwright.sheets.sources import Sources, source_section
from coldwright.sheets.text import PACKAGE

Answer = Mapping[str, Any]


def lay_out(page: Page, answer: Answer, sources: Sources, *, printed: str = "", zone: str = "") -> Sheet:
    """The whole page, ready to be rendered. `printed` is the day, where it is for a printer; `zone` that of the site."""
    own, say = dict(page.translated), words_in(PACKAGE, page.language)
    answer = _in_site_time(_in_words_of(own, answer), zone)
    cited = any(isinstance(part, Standard) and part.cited for part in page.sections)
    written = [w for part in page.sections for w in _sections(part, answer, sources, cited, say, own)]
    sheet = Sheet(
        kind=page.kind,
        title=page.title,
        tone=page.tone,
        verdict=page.verdict,
        lead=page.lead,
        sections=tuple(part for part in written if part is not None),
        foot=(*page.foot, say(LAST_WORD), " ".join(filter(None, (plain_text(page.mark), stamp(answer))))),
        rest=page.rest,
        dense=page.dense,
        shape=page.shape,
        printed=printed,
        language=page.language,
    )
    return in_groups_of(sheet)


TRANSLATED = {
    "findings": ("statement", "why", "do", "resolve", "cleared_by"),
    "cautions": ("statement",),
    "assumptions": ("statement",),
}
"""Members of an answer that are sentences, which a page may have in another language."""


def _in_words_of(own: Mapping[str, str], answer: Answer) -> Answer:
    """The same with the sentences that the page has in its language."""
    if not own:
        return answer
    notes = {
        kind: [
            n | {name: own.get(n[name], n[name]) for name in names if isinstance(n.get(name), str)}
            for n in answer[kind]
        ]
        for kind, names in TRANSLATED.items()
        if kind in answer
    }
    return {**answer, **notes}


def _in_site_time(answer: Answer, zone: str) -> Answer:
    """The same with the times in its findings as a watch at the site shows them."""
    asked = str(answer["given"].get("evaluated_at", ""))
    findings = [
        f
        | {
            name: timed(f[name], zone, asked)
            for name in ("statement", "do", "resolve", "why")
            if isinstance(f.get(name), str)
        }
        for f in answer.get("findings", ())
    ]
    return {**answer, "findings": findings}


def _sections(
    part: Section | Standard, answer: Answer, sources: Sources, cited: bool, say: Say, own: Mapping[str, str]
) -> Iterator[Section | None]:
    if isinstance(part, Section):
        blocks = (b for block in part.blocks for b in _plain(block))
        yield section(
            part.title, *blocks, appendix=part.appendix, fact=part.fact, folded=part.folded, closed=part.closed
        )
    elif part.what == "parts":
        for joined in answer["results"].get("parts", ()):
            author = facts(("From", plain_text(f"{joined['calculator']} {joined['version']}, {joined['plugin']}")))
            yield section(plain_text(joined["title"]), *outline(joined["block"]), author)
    else:
        made = _written(part, answer, sources, cited)
        yield made and replace(_headed(made, say, own), fact=part.fact, folded=part.folded, closed=part.closed)


def _headed(made: Section, say: Say, own: Mapping[str, str]) -> Section:
    """With its titles, and the names of its facts, in the language of the page; its sentences are the answer's."""
    return replace(made, title=say(made.title), blocks=tuple(_worded(block, say, own) for block in made.blocks))


def _worded(block: Block, say: Say, own: Mapping[str, str]) -> Block:
    match block:
        case Table(columns):
            return replace(block, columns=tuple(replace(c, heading=say(c.heading)) for c in columns))
        case Notices(items):
            return Notices(tuple(replace(n, more=tuple((say(k), v) for k, v in n.more)) for n in items))
        case Facts(rows):
            return Facts(tuple((own.get(name, name), own.get(text, text)) for name, text in rows))
        case Prose(text):
            return Prose(say(text))
        case Heading(text):
            return Heading(own.get(text, say(text)))
    return block


def _plain(block: Block) -> Iterator[Block | None]:
    """A block as those that every form of a page can show."""
    match block:
        case Plot():
            yield block
            if not block.says:
                yield from shortened(tabled(block))
        case Steps(items):
            columns = (("Step", 6), ("When", 12), ("Do", 34), ("Who", 14), ("Good when", 34))
            rows = ((str(n), s.when, s.do, s.who, s.good_when) for n, s in enumerate(items, 1))
            yield grid(columns, (tuple(map(plain_text, row)) for row in rows))
        case _:
            yield block


def _written(part: Standard, answer: Answer, sources: Sources, cited: bool) -> Section | None:
    match part.what:
        case "findings" if part.once:
            alike = dict.fromkeys(finding_notice(f, sources) for s in part.severities for f in of_severity(answer, s))
            return section(part.title, *with_legend(tuple(alike)))
        case "findings":
            return findings_section(answer, sources, part.severities, part.title)
        case "cautions":
            return caution_section(answer, sources)
        case "assumptions":
            return assumption_section(answer, sources, defaults=False, cited=cited)
        case "defaults":
            return assumption_section(answer, sources, defaults=True)
        case "given":
            asked = answer["given"][part.at] if part.at else answer["given"]
            return section(part.title, *outline(asked), appendix=True)
        case "working":
            return working_section(answer)
        case _:
            return source_section(answer, sources, cited=cited)
