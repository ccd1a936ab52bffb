"""What is taken of the stock for power, and what the site must feed. Invented data."""

from typing import Any

import pytest
from orders import fleet, machine, order, stock
from quantity import q


def panels(*rows: tuple[str, float, int]) -> list[dict[str, Any]]:
    """The stock with these panels and no other."""
    others = [r for r in stock() if r["kind"] != "panel"] + [{"kind": "other", "item": "manifold", "count": 4}]
    return others + [
        {"kind": "panel", "item": item, "rated_current": q(amperes, "A"), "outlets": outlets, "count": 2}
        for item, amperes, outlets in rows
    ]


def picked(answer: dict[str, Any], kind: str) -> list[str]:
    """Items of a kind on the pick list."""
    return [line["item"] for line in answer["results"]["pick_list"] if line["kind"] == kind]


@pytest.mark.parametrize(
    ("rows", "item"),
    [
        ((("small", 100, 4), ("right", 600, 4), ("large", 1600, 8)), "right"),
        ((("few", 600, 1), ("large", 1600, 8)), "large"),
        ((("small", 100, 4),), "panel of 175 A with 2 outlets"),
        ((), "panel of 175 A with 2 outlets"),
    ],
    ids=["smallest that does", "outlets too", "none is enough", "none at all"],
)
def test_the_panel_carries_the_feeder_and_divides_it(
    answer_of: Any, rows: tuple[tuple[str, float, int], ...], item: str
) -> None:
    on_hand = fleet(machine("middle", 150, 3), accessories=panels(*rows))
    answer = answer_of("booking.assessment", order(fleet=on_hand))
    feeder = answer["results"]["supply"]["service"]["feeder"]
    assert feeder["smallest_workable_standard"]["value"] == 175
    assert picked(answer, "panel") == [item]
    found = {f["code"] for f in answer["findings"]}
    assert ("not_in_fleet" in found) == item.startswith("panel of")
    assert "panel_not_known" not in found


def test_the_site_feeds_what_the_transformer_draws(answer_of: Any) -> None:
    def supplied(**more: Any) -> dict[str, Any]:
        only = fleet(machine("middle", 150, 2))
        answer: dict[str, Any] = answer_of("booking.assessment", order(supply__voltage=q(600, "V"), fleet=only, **more))
        return answer

    answer = supplied()
    feeder, transformer = (answer["results"]["supply"][name] for name in ("service", "transformer"))
    drawn = feeder["feeder"]["minimum_circuit_ampacity"]["value"] * 480 / 600
    assert drawn > transformer["primary_load_current"]["value"]
    fit = feeder["fit"]
    assert fit["verdict"] == "unknown"
    assert "at 480 V is given" in fit["reasons"][0], "what the site offers stands at 600 V, before the transformer"
    (line,) = [e for e in answer["results"]["limits_nearest"] if e["what"].startswith("site supply: circuit ampacity")]
    assert (line["value"], line["limit"]) == (pytest.approx(drawn), 2000)
    just = supplied(supply__available_current=q(drawn, "A"))
    assert "primary_supply_short" not in {f["code"] for f in just["findings"]}
    less = supplied(supply__available_current=q(drawn * 0.99, "A"))
    (stop,) = [f for f in less["findings"] if f["code"] == "primary_supply_short"]
    assert "the site's supply has" in stop["statement"]


@pytest.mark.parametrize("reverse", [False, True])
def test_of_equal_pieces_the_lighter_cable_is_taken_whatever_the_order_of_rows(answer_of: Any, reverse: bool) -> None:
    rows = stock()
    on_hand = fleet(machine("small", 40, 2), accessories=rows[::-1] if reverse else rows)
    answer = answer_of("booking.assessment", order(duty__load=q(30, "kW"), fleet=on_hand))
    assert set(picked(answer, "cable")) == {"cable 2 AWG"}


def test_a_set_hired_elsewhere_is_not_crowded_where_the_next_one_is_not(answer_of: Any) -> None:
    none = [r for r in stock() if r["kind"] != "generator"]
    for load in (20, 60, 130, 290):
        on_hand = fleet(machine("any", 160, 3), machine("little", 40, 3), accessories=none)
        hired = order(duty__load=q(load, "kW"), supply={"source": "generator"}, fleet=on_hand)
        assert "load_above_maximum" not in {f["code"] for f in answer_of("booking.assessment", hired)["findings"]}
