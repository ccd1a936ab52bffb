"""What a batch leaves behind: nothing that only the collector of cycles could take away, which holds up everybody."""

import gc
import weakref

from coldwright.contract import Refused
from coldwright.engine import Engine
from coldwright.registry import Registry


def test_refusals_go_with_their_batch(registry: Registry) -> None:
    engine = Engine(registry, "inline")
    served = registry.find("electrical.service")
    assert served is not None
    gc.disable()
    try:
        batch = engine.evaluate_many(served, [b"{}"] * 3, "metric")
        refused = [weakref.ref(answer) for answer in batch.answers if isinstance(answer, Refused)]
        assert len(refused) == 3
        del batch
        assert [left() for left in refused] == [None] * 3
    finally:
        gc.enable()
        engine.stop()
