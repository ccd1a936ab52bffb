"""The page of one kept answer, of whichever calculator that has no page of its own."""

from collections.abc import Mapping
from typing import Any

from coldwright.contract.page import Page, Sheet, Standard, present, section
from coldwright.contract.people import count_of, instant, plain_text
from coldwright.sheets.lay_out import lay_out
from coldwright.sheets.notes import TONES, of_severity, tally
from coldwright.sheets.outline import outline
from coldwright.sheets.sources import Sources

VERDICTS = {
    "acceptable": "Acceptable",
    "conditional": "OK subject to {checks}",
    "unacceptable": "Not acceptable as it stands",
}


def record_sheet(
    answer: Mapping[str, Any], sources: Sources, *, title: str = "", kept_at: str = "", remark: str = ""
) -> Sheet:
    """Everything that the answer holds, the input included."""
    page = Page(
        kind="Record",
        title=plain_text(title or answer["calculator"]["id"]),
        tone=TONES[answer["outcome"]],
        verdict=VERDICTS[answer["outcome"]].format(checks=count_of(len(of_severity(answer, "check")), "check")),
        lead=(
            f"Findings: {tally(answer)}.",
            *((f"Kept {instant(kept_at)}.",) if kept_at else ()),
            *((remark,) if remark else ()),
        ),
        sections=present(
            (
                Standard("findings", "What stands against it", ("stop", "check")),
                section("Results", *outline(answer["results"])),
                Standard("findings", "Worth knowing", ("note",)),
                Standard("cautions"),
                Standard("assumptions"),
                Standard("given", "What was asked"),
                Standard("defaults"),
                Standard("working"),
                Standard("sources"),
            )
        ),
    )
    return lay_out(page, answer, sources)
