"""What the hire of one piece comes to: of all ways to pay for its days with begun periods, the cheapest."""

from collections.abc import Iterable
from decimal import Decimal
from functools import lru_cache
from math import ceil

from msgspec import UnsetType

from coldwright_basis.price import amount_of
from coldwright_booking.rates.given import HirePrice, HireRate

DAYS = {"day": 1, "week": 7, "month": 30}
"""Days that a period pays for (common practice)."""

Hire = tuple[Decimal, str]
"""What one costs, and in which periods: `2 x week, 3 x day`."""


def hire_of(rate: HireRate | UnsetType, rates: Iterable[HirePrice], days: int) -> Hire | None:
    """The cheapest hire of one piece; None where no rate is given."""
    prices = {p.per: Decimal(p.value) for p in rates}
    if not prices and not isinstance(rate, UnsetType):
        prices = {rate.per: amount_of(rate.value)}
    if not prices:
        return None
    whole = prices.pop("hire", None)
    periods = cheapest(tuple(sorted(prices.items())), days) if prices else None
    if periods is None or (whole is not None and whole < periods[0]):
        assert whole is not None  # noqa: S101 - one of the two is there
        return whole, "once for the whole period"
    return periods


@lru_cache(maxsize=4096)
def cheapest(prices: tuple[tuple[str, Decimal], ...], days: int) -> Hire:
    """Least money for at least so many days, exactly.

    Every mixture of periods is tried. In an optimum no period that is longer is bought beyond what covers the days, so
    counts are bounded by the days over the length of each.
    """
    (name, price), *rest = sorted(prices, key=lambda p: -DAYS[p[0]])
    length = DAYS[name]
    if not rest:
        count = ceil(days / length)
        return price * count, _said(count, name)
    best: Hire | None = None
    most = ceil(days / length)
    for count in range(most, -1, -1):
        left = days - count * length
        found = (Decimal(0), "") if left <= 0 else cheapest(tuple(rest), left)
        total = price * count + found[0]
        if best is None or total < best[0]:
            best = total, ", ".join(filter(None, (_said(count, name), found[1])))
    assert best is not None  # noqa: S101 - one count at least was tried
    return best


def _said(count: int, name: str) -> str:
    return f"{count} x {name}" if count else ""
