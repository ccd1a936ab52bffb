"""Money in orders and fleets: one currency, each period once, amounts as decimal text. Invented data."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order
from quantity import q

from coldwright.contract import Refused

EUR: dict[str, Any] = {"currency": "EUR"}
USD: dict[str, Any] = {"currency": "USD"}
WEEK = USD | {"value": "900.00", "per": "week"}


def priced(**changes: Any) -> dict[str, Any]:
    """A machine without a rate, or with those that are given."""
    return changed(machine("middle", 150, 3), hire_rate=None) | changes


@pytest.mark.parametrize(
    ("pointer", "changes"),
    [
        ("#/rates/crew_hour/currency", {"rates": {"crew_hour": EUR | {"value": "55.00"}}}),
        (
            "#/fleet/machines/1/hire_rate/currency",
            {
                "fleet": fleet(
                    priced(hire_rates=[WEEK]),
                    changed(machine("other", 90, 1), hire_rate=EUR | {"value": 1, "per": "day"}),
                )
            },
        ),
        (
            "#/fleet/rates/fuel/currency",
            {"fleet": fleet(priced(hire_rates=[WEEK])) | {"rates": {"fuel": EUR | {"value": "1.70", "per": "L"}}}},
        ),
        ("#/fleet/machines/0/hire_rates/1/per", {"fleet": fleet(priced(hire_rates=[WEEK, WEEK]))}),
        (
            "#/fleet/machines/0/hire_rates",
            {"fleet": fleet(priced(hire_rates=[WEEK], hire_rate=USD | {"value": 1, "per": "day"}))},
        ),
        ("#/duty/average_load_fraction", {"duty__average_load_fraction": 0.3}),
        *(
            ("#/rates/crew_hour/value", {"rates": {"crew_hour": USD | {"value": value}}})
            for value in ("-1.00", "1e3", "NaN", "1,000.00", "01.00", " 1", "1.", "1000000000000", 55.0, "")
        ),
    ],
)
def test_refused(answer_of: Any, pointer: str, changes: dict[str, Any]) -> None:
    with pytest.raises(Refused) as refused:
        answer_of("booking.assessment", order(**changes))
    assert [e.pointer for e in refused.value.errors] == [pointer]


def test_what_the_order_says_prevails_rate_by_rate(answer_of: Any) -> None:
    stock = fleet(priced(hire_rates=[WEEK])) | {
        "rates": {"crew_hour": USD | {"value": "50.00"}, "transport_load": USD | {"value": "200.00"}}
    }
    answer = answer_of("booking.assessment", order(fleet=stock, rates={"crew_hour": USD | {"value": "80.00"}}))
    rates = {line["item"]: line["rate"] for line in answer["results"]["cost"]["lines"]}
    assert rates["crew, setting up"] == "80.00"
    assert rates["vehicle"] == "200.00"


def test_a_currency_without_minor_units_is_paid_in_whole_ones(answer_of: Any) -> None:
    """ISO 4217, from memory: the yen has none, the Kuwaiti dinar has three places."""
    for code, places in (("JPY", 0), ("KWD", 3)):
        rates = [{"value": "1000.5005", "currency": code, "per": "day"}]
        answer = answer_of("booking.assessment", order(fleet=fleet(priced(hire_rates=rates))))
        amounts = [line["amount"] for line in answer["results"]["cost"]["lines"]]
        assert amounts
        assert all(len(a.partition(".")[2]) == places for a in amounts), amounts


def test_an_amount_beyond_all_money_is_refused(answer_of: Any) -> None:
    rates = [USD | {"value": "999999999999.999999", "per": "day"}]
    with pytest.raises(Refused) as refused:
        answer_of("booking.assessment", order(fleet=fleet(priced(hire_rates=rates))))
    assert [e.pointer for e in refused.value.errors] == ["#/fleet"]


def test_a_change_says_what_it_costs(answer_of: Any) -> None:
    before, after = order(), order(duty__load=q(420, "kW"))
    results = answer_of("booking.change", {"before": before, "after": after})["results"]
    for name, document in (("cost_before", before), ("cost_after", after)):
        cost = answer_of("booking.assessment", document)["results"]["cost"]
        assert results[name] == {"value": cost["total"], "currency": "USD"}
