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
from start_stories import PARTS, story_of

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

MOST_STRICTER = 0.01
"""Of all sets, those in which the product forbids, stops or waits where the second engine does less."""


def product(request: dict[str, Any]) -> Any:
    """Results of `readiness.startup`."""
    return evaluate(startup, read(startup.given, msgspec.json.encode(request))).results


def second(request: dict[str, Any]) -> Verdict:
    """Verdict of the second engine."""
    changes = request.get("configuration_changes", ())
    return judge(request["configuration"], request["observations"], request["evaluated_at"], changes)


def stricter(request: dict[str, Any]) -> bool:
    """Whether the product does more than the second engine asks for."""
    return SEVERITY.index(product(request).status) > SEVERITY.index(second(request).status)


Why = Callable[[dict[str, Any], Any, Verdict], bool]


def corrected(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """Good evidence that somebody else took back or replaced: the product holds its fact contradicted until it is seen again,
    the second engine lets another reading of it count. Without the corrections both say the same."""
    plain = [record for record in request["observations"] if "supersedes" not in record]
    return len(plain) < len(request["observations"]) and not stricter(request | {"observations": plain})


def kept_until_it_cannot_start(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """Compressors recorded off: the product keeps more causes than the rules name until the unit is stopped as well."""
    return theirs.status != "running" and ours.status == "stop_now" and any(c.latched for c in ours.stop_now.causes)


def lacking_when_it_went_on(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """A record not surely before or after a compressor went on, or a reading the rules do not name: the product stops for it."""
    return theirs.status == "running" and ours.status == "stop_now"


def vented_with_the_pump_on(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """A pump that cannot stop: the product wants the drop read before the first vent too, to compare the later ones with."""
    return not request["configuration"].get("site_pump_stops", True) and {block.rule for block in ours.blocks} == {
        "R11"
    }


def flow_too_low_in_an_earlier_run(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """A flow that was read too low stands until it is read again, since what failed never ages; the second engine lets a new
    run of the pump with switch and drop good begin anew."""
    read_low = {record["id"] for record in request["observations"] if record["kind"] == "flow"}
    return all(block.rule == "R15" and set(block.because) <= read_low for block in ours.blocks) and bool(ours.blocks)


def edited_the_turnover(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """Another turnover of the loop is another first run: the product has the air let out before it anew as well."""
    edited = {name for change in request.get("configuration_changes", ()) for name in change["fields"]}
    return "loop_turnover_time" in edited and {block.rule for block in ours.blocks} == {"R11"}


def counted_by_its_device(request: dict[str, Any], ours: Any, theirs: Verdict) -> bool:
    """The second engine takes one phone's own count for the order in every rule, the product only where one phone saw both;
    and a phone whose clock was set meanwhile is less sure of all its stamps. Without the phones' counts both say the same."""
    mine = ("device", "boot", "sequence", "uptime")
    plain = [{name: value for name, value in record.items() if name not in mine} for record in request["observations"]]
    return plain != request["observations"] and not stricter(request | {"observations": plain})


# Why the product may be stricter than the second engine, each with its reason; anything else is a fault of one of them.
WHY_STRICTER: tuple[Why, ...] = (
    corrected,
    kept_until_it_cannot_start,
    lacking_when_it_went_on,
    vented_with_the_pump_on,
    flow_too_low_in_an_earlier_run,
    edited_the_turnover,
    counted_by_its_device,
)


def compare(seeds: range) -> None:
    milder, unexplained, reasons = [], [], Counter[str]()
    for seed in seeds:
        request = random_set(seed)
        ours, theirs = product(request), second(request)
        if "ended" in (ours.status, theirs.status):
            assert ours.status == theirs.status, seed
            continue
        rank, other = SEVERITY.index(ours.status), SEVERITY.index(theirs.status)
        if rank < other:
            milder.append((seed, ours.status, theirs.status, theirs.rules, theirs.running.stop))
        elif rank > other:
            why = next((why.__name__ for why in WHY_STRICTER if why(request, ours, theirs)), "")
            reasons[why] += 1
            unexplained += [] if why else [(seed, ours.status, theirs.status, [block.rule for block in ours.blocks])]
    assert not milder, milder[:5]
    assert not unexplained, unexplained[:5]
    assert reasons.total() <= MOST_STRICTER * len(seeds), reasons


def test_the_product_is_never_milder():
    compare(range(1000))


@pytest.mark.nightly
@pytest.mark.parametrize("block", range(5))
def test_the_product_is_never_milder_at_night(block):
    compare(range(1000 + 3800 * block, 4800 + 3800 * block))


@pytest.mark.parametrize("part", sorted(PARTS))
def test_a_part_done_over_and_over_is_never_ready_where_the_rules_forbid_it(part):
    """Every run of the pump must be proved by its own readings, every spell of heat by its own start, and so on."""
    gone_ahead = 0
    for seed in range(60):
        request = story_of(part, seed)
        ours, theirs = product(request), second(request)
        assert SEVERITY.index(ours.status) >= SEVERITY.index(theirs.status), (seed, ours.status, theirs.rules)
        gone_ahead += ours.status == ("running" if part == "running" else "ready")
    assert gone_ahead > 0


@pytest.mark.nightly
@pytest.mark.parametrize("part", sorted(PARTS))
def test_a_part_done_over_and_over_at_night(part):
    for seed in range(1000, 4000):
        request = story_of(part, seed)
        assert SEVERITY.index(product(request).status) >= SEVERITY.index(second(request).status), seed
