"""The cheapest way to pay for a hire, compared with a count of every way. Source: derived (enumeration)."""

import re
from decimal import Decimal
from itertools import product
from typing import Any, Literal

import pytest
from hypothesis import given
from hypothesis import strategies as st
from orders import changed, fleet, machine, order

from coldwright_basis.price import AMOUNT
from coldwright_booking.rates.given import HirePrice, HireRate
from coldwright_booking.rates.hire import hire_of

DAYS = {"day": 1, "week": 7, "month": 30}  # that a period pays for: common practice
Per = Literal["day", "week", "month", "hire"]
PRICES = st.dictionaries(st.sampled_from(["day", "week", "month", "hire"]), st.integers(1, 500_000), min_size=1)


@given(PRICES, st.integers(1, 75))
def test_no_other_way_to_pay_is_cheaper(cents: dict[Per, int], days: int) -> None:
    """By whole cents, which are exact: counts of every period up to what covers the days, and the whole hire once."""
    periods = [p for p in cents if p != "hire"]
    ways = [range(-(-days // DAYS[p]) + 1) for p in periods]
    totals = [
        sum(n * cents[p] for n, p in zip(counts, periods, strict=True))
        for counts in product(*ways)
        if periods and sum(n * DAYS[p] for n, p in zip(counts, periods, strict=True)) >= days
    ]
    totals += [cents["hire"]] if "hire" in cents else []
    rates = [HirePrice(value=f"{c / 100:.2f}", currency="USD", per=per) for per, c in cents.items()]
    found = hire_of(HireRate(value=1, currency="USD", per="day"), rates, days)
    assert found is not None
    assert found[0] == Decimal(min(totals)) / 100


def test_a_rate_that_is_a_float_is_the_number_that_was_written() -> None:
    found = hire_of(HireRate(value=12.1, currency="USD", per="week"), (), 15)
    assert found == (Decimal("36.3"), "3 x week")


@pytest.mark.parametrize(
    ("value", "amount"),
    [
        (1.15 * 90 + 0.65, "104.15"),
        (0.1 + 0.2, "0.3"),
        (1 / 3, "0.333333"),
        (12.3456785, "12.345678"),
        (12.345678, "12.345678"),
        (4e-7, "0"),
        (1250.0, "1250"),
        (1e9, "1000000000"),
    ],
)
def test_a_rate_has_six_decimals_at_the_most(answer_of: Any, value: float, amount: str) -> None:
    """As every amount of an answer: what a binary fraction has beyond is no money. Half of the last goes to the even one."""
    found = hire_of(HireRate(value=value, currency="USD", per="day"), (), 1)
    assert found == (Decimal(amount), "1 x day")
    rate = {"value": value, "currency": "USD", "per": "day"}
    day = {"from": "2027-06-01", "to": "2027-06-01"}
    document = order(period=day, fleet=fleet(changed(machine("one", 330, 1), hire_rate=rate)))
    (line,) = (x for x in answer_of("booking.assessment", document)["results"]["cost"]["lines"] if x["item"] == "one")
    assert re.fullmatch(AMOUNT, line["rate"])
    assert Decimal(line["rate"]) == Decimal(amount)
