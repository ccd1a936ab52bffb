"""Names that calculators have in the OpenAPI document. Each depends on one calculator or struct alone.

So installing a plugin renames nothing: whoever comes second with a name that is taken is set aside.
"""

from importlib.metadata import entry_points
from typing import Any

from packaging.utils import canonicalize_name

from coldwright.contract import ENTRY_POINT_GROUP, Calculator
from coldwright.registry.reported import Reported

FIRST_PARTY = "coldwright"
_OURS = {
    point.name: point.module.partition(".")[0]
    for point in entry_points(group=ENTRY_POINT_GROUP)
    if point.dist is not None and canonicalize_name(point.dist.name) == FIRST_PARTY
}
RESERVED_FAMILIES = frozenset(_OURS)
"""Families of this distribution, by its own list of entry points: each is called like its family."""
_OWN_PACKAGES = frozenset(_OURS.values())


def camel(calculator_id: str) -> str:
    """`electrical.service` -> `ElectricalService`."""
    return "".join(part[:1].upper() + part[1:] for part in calculator_id.replace(".", "_").split("_"))


def stem(calculator: Calculator[Any, Any] | Reported, *, newest: bool = True) -> str:
    """What its operations are called after; an older major version says which it is."""
    return camel(calculator.id) + ("" if newest else f"Major{calculator.major}")


def answer_name(calculator: Calculator[Any, Any], *, newest: bool = True) -> str:
    """Component of its answer; a third party's with an underscore, as its structs."""
    if calculator.family in RESERVED_FAMILIES:
        return f"{stem(calculator, newest=newest)}Answer"
    whole, family = stem(calculator, newest=newest), camel(calculator.family)
    return f"{family}_{whole.removeprefix(family)}Answer"


def component_name(struct: type) -> str:
    """Component of a struct.

    Ours keep their names, those of our plugins with the family in front. A third party's stand behind the name of its
    package and an underscore, which no name of ours has, so that the two can never meet.
    """
    package = struct.__module__.partition(".")[0]
    if package == "coldwright":
        return struct.__name__
    prefix = camel(package.removeprefix("coldwright_"))
    if package not in _OWN_PACKAGES:
        return f"{prefix}_{struct.__name__}"
    return struct.__name__ if struct.__name__.startswith(prefix) else prefix + struct.__name__
