"""The page of one kept answer, of whichever calculator."""

from collections.abc import Mapping
from typing import Any

from coldwright.sheets.notes import (
    LAST_WORD,
    TONES,
    assumption_section,
    caution_section,
    findings_section,
    present,
    stamp,
    tally,
    working_section,
)
from coldwright.sheets.outline import outline
from coldwright.sheets.page import Sheet, section
from coldwright.sheets.people import instant, plain_text
from coldwright.sheets.sources import Sources, source_section

VERDICTS = {
    "acceptable": "Acceptable",
    "conditional": "Acceptable once the checks are settled",
    "unacceptable": "Not acceptable as it stands",
}


def record_sheet(answer: Mapping[str, Any], sources: Sources, *, title: str = "", kept_at: str = "") -> Sheet:
    """Everything that the answer holds, the input included."""
    return Sheet(
        kind="Record",
        title=plain_text(title or answer["calculator"]["id"]),
        tone=TONES[answer["outcome"]],
        verdict=VERDICTS[answer["outcome"]],
        lead=(f"Findings: {tally(answer)}.", *((f"Kept {instant(kept_at)}.",) if kept_at else ())),
        sections=present(
            (
                findings_section(answer, sources, ("stop", "check"), "What stands against it"),
                section("Results", *outline(answer["results"])),
                findings_section(answer, sources, ("note",), "Worth knowing"),
                caution_section(answer, sources),
                assumption_section(answer, sources, defaults=False),
                section("What was asked", *outline(answer["given"]), appendix=True),
                assumption_section(answer, sources, defaults=True),
                working_section(answer),
                source_section(answer, sources),
            )
        ),
        foot=(LAST_WORD, stamp(answer)),
    )
