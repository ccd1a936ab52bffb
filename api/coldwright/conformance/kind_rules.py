"""Quantities that a plugin declares itself: their factors against pint, which made those of the contract."""

import math
from collections.abc import Iterator, Mapping
from functools import cache
from typing import Any

from coldwright.conformance.faults import Fault
from coldwright.contract import Plugin
from coldwright.contract.quantities import Kind, Quantity
from coldwright.contract.ranges import SLACK
from coldwright.contract.walk import all_structs

SPELT = {
    "gal": "US_liquid_gallon",
    "ton": "12000 Btu_it/hour",
    "t": "metric_ton",
    "gpm": "US_liquid_gallon/min",
    "d": "day",
}
"""How pint spells what the contract spells shorter; all else it reads as it stands, with `.` between factors as `*`."""


def kinds_of(plugin: Plugin) -> list[type[Quantity]]:
    """Kinds that it declares, in the order in which its calculators name them."""
    structs = (s for c in plugin.calculators for s in all_structs(c.given, c.results))
    found = [s for s in structs if issubclass(s, Quantity) and s.declared is not None]
    return list(dict.fromkeys(found))


def check_kinds(plugin: Plugin) -> Iterator[Fault]:
    """Every factor against pint, as a ratio to the base unit."""
    for kind in kinds_of(plugin):
        own = kind.declared
        if not isinstance(own, Kind):
            continue
        for unit, factor in own.factors.items():
            try:
                expected = factor_by_pint(unit, own.base, own.pint)
            except Exception as error:
                text = f"pint does not know {unit!r} of {kind.__name__}: {error}. Say by `pint=` how it spells it"
                yield Fault("factor", "", text)
                continue
            if not math.isclose(expected, factor, rel_tol=SLACK):
                text = f"the factor of {unit!r} in {kind.__name__} is {factor!r}; pint has {expected:.15g} {own.base}"
                yield Fault("factor", "", text)


def factor_by_pint(unit: str, base: str, spelt: Mapping[str, str] = {}) -> float:
    """How many `base` one `unit` is. Raises what pint raises for what it does not know, or what is of another kind."""
    registry = _registry()
    one, other = (registry.parse_expression(spelt.get(u) or expression(u)) for u in (unit, base))
    ratio = (one / other).to_base_units()
    if not ratio.dimensionless:
        raise ValueError(f"{unit} and {base} are of two kinds")
    return float(ratio.magnitude)


def expression(unit: str) -> str:
    """A spelling of the contract as pint reads it: `lb/MWh`, `kg/m2.K`."""
    over = [_product(part) for part in unit.split("/")]
    return "/".join(f"({part})" for part in over)


def _product(text: str) -> str:
    return "*".join(SPELT.get(name, _powered(name)) for name in text.split("."))


def _powered(name: str) -> str:
    """`m3` as `m**3`; a number stays a number."""
    letters = name.rstrip("0123456789")
    return f"{letters}**{name[len(letters) :]}" if letters and letters != name else name


@cache
def _registry() -> Any:
    import pint

    return pint.UnitRegistry()
