"""Money as people write it: decimal text, so that no amount is moved by a binary fraction on its way."""

from decimal import ROUND_HALF_EVEN, Decimal
from typing import Annotated, Final

from coldwright.contract import about, load_table

MINOR_UNITS = load_table("coldwright_basis", "currency_minor_units")
AMOUNT: Final = r"^(0|[1-9][0-9]{0,11})(\.[0-9]{1,6})?$"
"""Decimal text from 0 to below 1e12, with at most six places."""
PLACES: Final = 6
"""Decimals of an amount at the most."""
MOST: Final = Decimal(10) ** 12
"""What any amount stays below, in any currency."""

DecimalText = Annotated[str, about("Amount as decimal text: `1250.00`.", pattern=AMOUNT, examples=["1250.00"])]
Currency = Annotated[str, about("ISO 4217 code of the currency.", pattern="^[A-Z]{3}$", examples=["USD"])]


def exactly(number: float) -> Decimal:
    """The decimal number that somebody wrote who sent this float: 12.1 is 12.1, not 12.0999999999999996."""
    return Decimal(repr(float(number)))


def amount_of(number: float) -> Decimal:
    """The amount that somebody wrote who sent this float, to the six places that an amount has: 104.14999999999999 is 104.15."""
    written = exactly(number)
    rounded = written.quantize(Decimal(1).scaleb(-PLACES), rounding=ROUND_HALF_EVEN)
    return written if written == rounded else rounded.normalize()


def in_minor_units(amount: Decimal, currency: str) -> Decimal:
    """Rounded to what the currency can pay; half a unit goes to the even neighbour."""
    places: int = MINOR_UNITS.rows.get(currency, 2)
    return amount.quantize(Decimal(1).scaleb(-places), rounding=ROUND_HALF_EVEN)


def rate_of(rate: Decimal, currency: str) -> Decimal:
    """The same number, with as many places at least as the currency has."""
    paid = in_minor_units(rate, currency)
    return paid if paid == rate else rate


def text_of(amount: Decimal) -> str:
    """Decimal text without an exponent."""
    return f"{amount:f}"
