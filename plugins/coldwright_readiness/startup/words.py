"""Words of enumerations as they are listed, and quantities as they are read on site."""

from functools import lru_cache

from coldwright.contract.quantities import Quantity


@lru_cache(maxsize=1024)
def word(text: str) -> str:
    """A word of an enumeration as it is listed: capitals, blanks and hyphens of old spellings are forgiven."""
    return text if text.islower() and text.isidentifier() else "_".join(text.casefold().replace("-", " ").split())


def from_to(low: Quantity, high: Quantity) -> str:
    """`40 to 50 psi`: the unit once where it is one."""
    return f"{low.value:.5g} to {high}" if low.unit == high.unit else f"{low} to {high}"


def in_unit_of(limit: Quantity, reading: Quantity) -> Quantity:
    """A limit in the unit in which somebody reads: nobody converts on site. To four digits."""
    shown = limit.as_unit(reading.unit)
    return type(shown).of(float(f"{shown.value:.4g}"), shown.unit)
