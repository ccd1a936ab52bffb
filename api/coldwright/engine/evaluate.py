"""One evaluation in the process where it is called: the last step of every engine."""

import msgspec
from msgspec import Struct

from coldwright.contract import Defect
from coldwright.contract.answer import Units, in_units, to_json
from coldwright.contract.evaluation import evaluate, hold_to_schema
from coldwright.engine.outcome import BrokeContract, Evaluated
from coldwright.registry import Registry, Served


def evaluate_here(registry: Registry, served: Served, given: Struct, units: Units) -> Evaluated:
    """Answer in this process. Raises `Refused` (the caller's input) or `BrokeContract` (the calculator's fault)."""
    calculator = served.local
    try:
        answer = evaluate(
            calculator,
            given,
            plugin=served.distribution,
            plugin_version=served.distribution_version,
            lookup=registry.lookup,
            origin=registry.origin,
        )
        if not served.first_party:
            hold_to_schema(calculator.results, answer.results)
        return Evaluated(to_json(in_units(answer, units)), answer.digest, answer.outcome)
    except (Defect, msgspec.ValidationError) as error:
        raise BrokeContract(str(error)) from error
    except (RecursionError, MemoryError, OSError, RuntimeError, AssertionError, ImportError) as error:
        raise BrokeContract(f"{type(error).__name__}: {error}") from error
