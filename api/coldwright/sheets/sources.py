"""Where the numbers of a page come from, each with how well it is known."""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from coldwright.contract import Reference
from coldwright.contract.language import marked as _
from coldwright.contract.page import Block, Column, Lines, Section, Table, section
from coldwright.contract.people import plain_text
from coldwright.registry import Registry

KNOWN = {
    "seen": "seen",
    "seen_reproduced": "seen as reproduced elsewhere",
    "library": "computed with the library",
    "derived": "follows from the equation",
    "common_practice": "common practice, no source",
    "memory": "from memory",
}


@dataclass(frozen=True)
class Sources:
    """Every source that is known here, and which calculator cites which."""

    by_id: Mapping[str, Reference]
    of_calculator: Mapping[str, tuple[str, ...]]

    def mark(self, ids: Iterable[str]) -> str:
        """What a reader must know at once of the sources of one statement: which are not seen."""
        marks = {KNOWN[self.by_id[i].provenance] for i in ids if i in self.by_id}
        return "; ".join(m for m in (KNOWN["memory"], KNOWN["common_practice"]) if m in marks)


def sources_of(registry: Registry) -> Sources:
    """Those of every plugin that is served."""
    by_id: dict[str, Reference] = {}
    for plugin in registry.plugins.values():
        by_id |= {r.id: r for r in plugin.references}
    for served in registry.served.values():
        by_id |= {r.id: r for r in served.calculator.references}
    cited = {i: tuple(r.id for r in s.calculator.references) for i, s in registry.served.items()}
    return Sources(by_id, cited)


def source_section(answer: Mapping[str, Any], sources: Sources, *, cited: bool = False) -> Section | None:
    """The sources of an answer, those that nobody has seen first; only those that are `cited`, or all there are."""
    rows = tuple(
        (str(n), KNOWN[r.provenance], plain_text(", ".join(part for part in (r.title, r.edition, r.clause) if part)))
        for n, r in enumerate(_ranked(answer, sources, cited), 1)
    )
    unknown = sorted({i for i in _used(answer, sources, cited) if i not in sources.by_id})
    blocks: list[Block | None] = [
        Table((Column(_("No."), 6), Column(_("How it is known"), 22), Column(_("Source"), 72)), rows) if rows else None
    ]
    if unknown:
        blocks.append(Lines(tuple(f"{plain_text(i)}: not among the sources of this release" for i in unknown)))
    return section(_("Sources"), *blocks, appendix=True)


def numbered(answer: Mapping[str, Any], sources: Sources, *, cited: bool = False) -> dict[str, int]:
    """The number of each source in that section."""
    return {r.id: n for n, r in enumerate(_ranked(answer, sources, cited), 1)}


def _ranked(answer: Mapping[str, Any], sources: Sources, cited: bool) -> list[Reference]:
    order = list(KNOWN)[::-1]
    known = [sources.by_id[i] for i in _used(answer, sources, cited) if i in sources.by_id]
    return sorted(known, key=lambda r: (order.index(r.provenance), r.title, r.clause, r.id))


def _used(answer: Mapping[str, Any], sources: Sources, cited: bool) -> list[str]:
    if cited:
        return list(dict.fromkeys(i for note in _weighty(answer) for i in note.get("references", ())))
    ids: dict[str, None] = {}
    calculators = {str(answer.get("calculator", {}).get("id", "")): None}
    for note in _notes(answer):
        ids |= dict.fromkeys(note.get("references", ()))
        if "calculator" in note:
            calculators[note["calculator"]] = None
    for calculator in calculators:
        ids |= dict.fromkeys(sources.of_calculator.get(calculator, ()))
    return list(ids)


def _weighty(answer: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    yield from (f for f in answer.get("findings", ()) if f["severity"] != "note")
    yield from (a for a in answer.get("assumptions", ()) if not a["code"].startswith("default:"))


def _notes(answer: Mapping[str, Any]) -> Iterator[Mapping[str, Any]]:
    for part in ("findings", "assumptions", "cautions", "working"):
        yield from answer.get(part, ())
