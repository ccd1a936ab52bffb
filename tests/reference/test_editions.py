"""What the sources of the first-party families say of themselves, so that a reader can look each of them up."""

import re
from collections.abc import Iterator

from coldwright.contract import Reference
from coldwright.registry import Registry

STANDARD = re.compile(
    r"\b(National Electrical Code|NFPA|IEC|IEEE|NEMA|UL|ANSI|ASHRAE|AHRI|ASME|ISO|EN|BS|DIN|CFR|UFC|UFGS|HI|ICAO|ASCE|NIOSH|EPA|"
    r"NP|Directive|Regulation|Crane|OSHA|International (Plumbing|Residential|Fire|Building) Code|"
    r"International Standard Atmosphere)\b"
)
"""Titles of what has editions: codes, standards, law and their like."""
SECOND_HAND = re.compile(r"\bas (quoted|reproduced|worked|explained|restated)\b|\bha(s|ve) it\b")
BEFORE = re.compile(r"[Hh]andbook.*(National Electrical Code|IEC)")


def lacking(source: Reference) -> Iterator[str]:
    """What a reader misses in a source."""
    if STANDARD.search(source.title) and source.provenance != "common_practice" and not source.edition:
        yield "its edition, or that none was seen or named"
    if SECOND_HAND.search(re.sub(r"\[.*?\]", "", source.title)):
        yield "the brackets around where it was read"
    if source.title.startswith("[") or BEFORE.search(source.title):
        yield "the standard first"
    if source.provenance == "memory" and "seen" in source.edition.replace("no edition seen", ""):
        yield "how well it is known: from memory, or seen"


def test_each_source_says_which_edition_was_seen_and_names_the_standard_first() -> None:
    served = Registry.of_ours().served.values()
    every = {source.id: source for one in served for source in one.local.references}
    assert len(every) > 200
    assert {i: missing for i, source in every.items() if (missing := list(lacking(source)))} == {}
