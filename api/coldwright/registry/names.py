"""Names that calculators have in the OpenAPI document. Each depends on one calculator or struct alone.

So installing a plugin renames nothing: whoever comes second with a name that is taken is set aside.
"""

from typing import Any

from coldwright.contract import Calculator
from coldwright.registry.reported import Reported

FIRST_PARTY = "coldwright"
RESERVED_FAMILIES = frozenset({"electrical", "hydronic", "refrigeration", "readiness", "site", "booking"})
_OWN_PACKAGES = {f"coldwright_{family}" for family in RESERVED_FAMILIES}


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
