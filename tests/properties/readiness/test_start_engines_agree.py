"""Two engines that share no line judge the same random sets: the product may be stricter, and never milder.

Each side was written from the rules of a start. All data is invented; `start_engine.random_sets` says what happens in a set.
"""

from collections import Counter
from collections.abc import Callable
from typing import Any

import msgspec
import pytest
from start_engine import SEVERITY, Verdict, judge
from start_engine.random_sets import random_set

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

MOST_STRICTER = 0.01
"""Of all sets, those that the second engine allows and the product does not. That the product stops what the second engine
blocks is explained too, and not counted."""


def product(request: dict[str, Any]) -> Any:
    """Results of `readiness.startup`."""
    return evaluate(startup, read(startup.given, msgspec.json.encode(request))).results


Why = Callable[[dict[str, Any], Any, Verdict], bool]


def corrected(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """Good evidence that somebody else took back or replaced: the product holds its fact contradicted until it is seen again,
    the second engine lets another reading of it count."""
    return any("supersedes" in record for record in request["observations"])


def kept_until_it_cannot_start(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """Compressors recorded off: the product keeps more causes than the rules name until the unit is stopped as well."""
    return theirs.status == "blocked" and ours.status == "stop_now" and any(c.latched for c in ours.stop_now.causes)


def lacking_when_it_went_on(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """A record not surely before or after a compressor went on, or a reading the rules do not name: the product stops for it."""
    return theirs.status == "running" and ours.status == "stop_now"


def vented_with_the_pump_on(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """A pump that cannot stop: the product wants the drop read before the first vent too, to compare the later ones with."""
    return not request["configuration"].get("site_pump_stops", True) and {block.rule for block in ours.blocks} == {
        "R11"
    }


def counted_by_its_device(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """A late batch widens intervals; the second engine takes one phone's own count for the order in every rule."""
    return any("device" in record and "received_at" in record for record in request["observations"])


# Why the product may be stricter than the second engine, each with its reason; anything else is a fault of one of them.
WHY_STRICTER: tuple[Why, ...] = (
    corrected,
    kept_until_it_cannot_start,
    lacking_when_it_went_on,
    vented_with_the_pump_on,
    counted_by_its_device,
)


def compare(seeds: range) -> None:
    milder, unexplained, stricter = [], [], Counter[str]()
    for seed in seeds:
        request = random_set(seed)
        ours = product(request)
        theirs = judge(
            request["configuration"],
            request["observations"],
            request["evaluated_at"],
            request.get("configuration_changes", ()),
        )
        if "ended" in (ours.status, theirs.status):
            assert ours.status == theirs.status, seed
            continue
        rank, other = SEVERITY.index(ours.status), SEVERITY.index(theirs.status)
        if rank < other:
            milder.append((seed, ours.status, theirs.status, theirs.rules, theirs.running.stop))
        elif rank > other and (theirs.allowed or ours.status == "stop_now"):
            whys = [why.__name__ for why in WHY_STRICTER if why(request, ours, theirs)]
            if theirs.allowed:
                stricter[whys[0] if whys else "?"] += 1
            unexplained += [] if whys else [(seed, ours.status, theirs.status, [block.rule for block in ours.blocks])]
    assert not milder, milder[:5]
    assert not unexplained, unexplained[:5]
    assert stricter.total() <= MOST_STRICTER * len(seeds), stricter


def test_the_product_is_never_milder():
    compare(range(1000))


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(20))
def test_the_product_is_never_milder_at_night(block):
    compare(range(1000 + 950 * block, 1950 + 950 * block))
