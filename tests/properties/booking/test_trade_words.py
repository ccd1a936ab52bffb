"""A plan speaks the words of its practice: truck, rental, forklift where it is nec; lorry, hire, fork truck where it is iec."""

import re
from collections.abc import Iterator
from typing import Any

import pytest
from orders import fleet, machine, order, stock
from quantity import q

BRITISH = re.compile(r"\b(lorr(?:y|ies)|hire[ds]?|hiring|earth(?:ed|ing)?|fork trucks?)\b", re.IGNORECASE)
AMERICAN = re.compile(r"(?<!fork )\b(trucks?|rental|rented|forklifts?|grounded|ground.faults?)\b", re.IGNORECASE)
FORKS = {"lift": "fork_truck", "unloading": []}


def sentences(value: Any, where: str = "") -> Iterator[str]:
    """Texts of an answer that are said to people, with their places; names of machines and items are no sentences."""
    if isinstance(value, dict):
        for name, member in value.items():
            if name not in {"said", "asked", "item", "type", "id", "code"}:
                yield from sentences(member, f"{where}/{name}")
    elif isinstance(value, list):
        for member in value:
            yield from sentences(member, f"{where}/-")
    elif isinstance(value, str) and " " in value:
        yield f"{where}: {value}"


@pytest.mark.parametrize(("practice", "foreign"), [("nec", BRITISH), ("iec", AMERICAN)])
@pytest.mark.parametrize("more", [{}, {"access": FORKS}, {"supply__source": "generator"}])
def test_no_word_of_the_other_side_is_said(answer_of: Any, practice: str, foreign: re.Pattern[str], more: Any) -> None:
    answer = answer_of("booking.assessment", order(practice=practice, **more))
    assert answer["results"]["machines"] or practice == "iec"
    said = [*sentences(answer["results"]), *sentences(answer["findings"]), *sentences(answer["cautions"])]
    assert len(said) > 40
    assert [text for text in said if foreign.search(text)] == []


@pytest.mark.parametrize(("practice", "verb"), [("nec", "Rent"), ("iec", "Hire")])
def test_what_is_short_is_rented_or_hired(answer_of: Any, practice: str, verb: str) -> None:
    """In the US machines are rented, in Europe hired; rules of the US are said to be taken where the job is not there."""
    volts, hertz = (460, 60) if practice == "nec" else (400, 50)
    scarce = fleet(machine("only", 250, 2, voltage=volts, frequency=hertz), accessories=stock(1))
    supply = {"source": "generator", "frequency": q(hertz, "Hz")}
    answer = answer_of("booking.assessment", order(practice=practice, fleet=scarce, supply=supply))
    (found,) = [f for f in answer["findings"] if f["code"] == "stock_short"]
    assert found["resolve"].startswith(f"{verb} them elsewhere")
    assert ("us_rules_taken" in {f["code"] for f in answer["findings"]}) == (practice == "iec")
