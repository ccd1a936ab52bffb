"""The page of the wet stage, for whoever sets it up."""

from typing import Any

from coldwright.contract import page, people

TONES: dict[str, page.Tone] = {"acceptable": "good", "conditional": "care", "unacceptable": "bad"}


def precooling_page(answer: Any, _: page.Occasion) -> page.Page:
    """The air first, then the water, then what every answer has."""
    results = answer.results
    return page.Page(
        kind="Wet stage",
        title="Air and water of an evaporative stage",
        tone=TONES[answer.outcome],
        verdict=f"The condenser is given {people.quantity(results.entering_air)}",
        lead=(f"Cooled by {people.quantity(results.reduction)}.",),
        sections=page.present(
            (
                page.Standard("findings", "What stands against it", ("stop", "check")),
                page.section(
                    "Water",
                    page.facts(
                        ("Evaporates", people.quantity(results.evaporation)),
                        ("Bled off", people.quantity(results.blowdown)),
                        ("To feed", people.quantity(results.feed)),
                        ("In a day", people.value_text(results.water_per_day)),
                    ),
                ),
                page.Standard("findings", "Worth knowing", ("note",)),
                page.Standard("cautions"),
                page.Standard("assumptions"),
                page.Standard("defaults"),
                page.Standard("sources"),
            )
        ),
    )
