"""What the sources of the first-party families say of themselves, so that a reader can look each of them up."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from edges import example
from quantity import q

from coldwright.contract import Reference
from coldwright.registry import Registry

STANDARD = re.compile(
    r"\b(National Electrical Code|NFPA|IEC|IEEE|NEMA|UL|ANSI|ASHRAE|AHRI|ASME|ISO|EN|BS|DIN|CFR|UFC|UFGS|HI|ICAO|ASCE|NIOSH|EPA|"
    r"NP|Directive|Regulation|Crane|OSHA|International (Plumbing|Residential|Fire|Building) Code|"
    r"International Standard Atmosphere)\b"
)
"""Titles of what has editions: codes, standards, law and their like."""
SECOND_HAND = re.compile(r"\bas (quoted|reproduced|worked|explained|restated)\b|\bha(s|ve) it\b")
IEC = {
    "practice": "iec",
    "system_voltage": q(400, "V"),
    "frequency": q(50, "Hz"),
    "machines__0__nameplate_voltage": q(400, "V"),
    "machines__0__nameplate_frequency": q(50, "Hz"),
}
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


AMERICAN = re.compile(r"(nec|osha|ibc|nfpa|ifc|fhwa|fmcsa|cfr|us|ufc)_")
"""Sources of the United States, by the beginnings of their ids."""


@pytest.mark.parametrize(
    ("calculator", "number", "changes", "kinds"),
    [
        ("site.ground", 0, {"rules": "europe", "services_known": None}, ("findings", "assumptions", "cautions")),
        ("site.transport", 0, {"rules": "europe"}, ("findings", "assumptions", "cautions")),
        ("electrical.service", 0, IEC, ("findings",)),
    ],
)
def test_what_is_asked_by_rules_of_europe_cites_none_of_the_united_states(
    answer_of: Any, calculator: str, number: int, changes: dict[str, Any], kinds: tuple[str, ...]
) -> None:
    """Ground, road and the devices of a machine; with the rules of the United States those are cited."""
    asked = example(calculator, number, **changes)
    answer = answer_of(calculator, asked)
    assert {
        i for kind in kinds for note in answer[kind] for i in note.get("references", ()) if AMERICAN.match(i)
    } == set()
    home = answer_of(calculator, example(calculator, number))
    assert {i for kind in kinds for note in home[kind] for i in note.get("references", ()) if AMERICAN.match(i)}


def test_each_source_says_which_edition_was_seen_and_names_the_standard_first() -> None:
    served = Registry.of_ours().served.values()
    every = {source.id: source for one in served for source in one.local.references}
    assert len(every) > 200
    assert {i: missing for i, source in every.items() if (missing := list(lacking(source)))} == {}
