"""Which answers parts join, by the role of who gives them."""

from collections.abc import Sequence
from typing import Literal

from coldwright.engine import joined_change, joined_plan, joined_start
from coldwright.engine.outcome import Evaluated
from coldwright.engine.parts import Steps
from coldwright.registry import Registry, Served

Whole = Literal["plan", "change", "start"]


def wholes_of(registry: Registry) -> dict[str, Whole]:
    """What parts join, by name of who answers it; nothing where no parts are served."""
    wholes: dict[str, Whole] = {}
    plan, change, start = (registry.role(role) for role in ("booking", "booking_change", "start"))
    if plan is not None and registry.parts("booking"):
        wholes[plan.name] = "plan"
        if change is not None:
            wholes[change.name] = "change"
    if start is not None and registry.parts("start"):
        wholes |= dict.fromkeys((s.name for s in registry.majors(start.calculator.id)), "start")
    return wholes


def parts_of(registry: Registry, served: Served) -> Sequence[Served]:
    """Parts that join what it answers, by id."""
    whole = wholes_of(registry).get(served.name)
    return registry.parts("start" if whole == "start" else "booking") if whole else ()


class Joining:
    """Known once for a registry: most calculators are joined by nobody, and nothing is looked at for them."""

    def __init__(self, registry: Registry) -> None:
        self._registry = registry
        self._wholes = wholes_of(registry)

    def __contains__(self, served: Served) -> bool:
        """Whether parts join what it answers."""
        return served.name in self._wholes

    def before(self, served: Served, body: bytes) -> Steps | None:
        """Where parts are asked before it is: the questions to ask, it among them."""
        if self._wholes.get(served.name) != "change":
            return None
        return joined_change.with_parts(served, self._registry.needed("booking"), body)

    def after(self, served: Served, answer: Evaluated) -> Steps | None:
        """Where parts are asked after it: the questions to ask."""
        match self._wholes.get(served.name):
            case "plan":
                return joined_plan.with_parts(served, self._registry.parts("booking"), answer)
            case "start":
                judge = self._registry.needed("start")
                return joined_start.with_parts(served, judge, self._registry.parts("start"), answer)
            case _:
                return None
