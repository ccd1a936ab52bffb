"""Where a calculation runs: in line or in a worker process."""

from coldwright.engine.engine import Engine, EngineKind
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.outcome import Batch, Evaluated, Failure

__all__ = ["Batch", "Engine", "EngineKind", "Evaluated", "Failure", "evaluate_here"]
