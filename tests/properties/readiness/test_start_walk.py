"""Whoever follows the next action to the letter reaches `ready`, in every configuration and out of every trouble.

The crew and the plant are `start_walk`; nothing of them knows the product. A walk fails in a circle, at a dead end, after too
many steps, where advice would hurt somebody, where the short form is too long or names no subject, and where `ready` comes
while the plant is not fit to start. All data is invented.
"""

from typing import Any

import msgspec
import pytest
from start_engine import judge
from start_engine.book import configurations
from start_walk import TROUBLES, Trouble, Walk, walk

from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import read
from coldwright_readiness.startup import startup

BOOKS = dict(configurations())
TRODDEN = ("site-own_pump-water", "generator-site_pump-mixture")
SOME_MORE = ("site-pump_never_stops-water", "flow on record before a pump that cannot stop")


def ask(request: dict[str, Any]) -> dict[str, Any]:
    results = evaluate(startup, read(startup.given, msgspec.json.encode(request))).results
    return msgspec.json.decode(msgspec.json.encode(results))


def crosses(names: Any) -> list[Any]:
    """Every trouble that can happen in these configurations."""
    return [pytest.param(n, t, id=f"{n}: {t.name}") for n in names for t in TROUBLES if t.applies(BOOKS[n])]


def walks_to_ready(name: str, trouble: Trouble) -> Walk:
    done = walk(ask, BOOKS[name], trouble)
    assert done.statuses[-1] == "ready"
    assert judge(BOOKS[name], done.records, done.ready_at).status == "ready"
    return done


# Every fifth in the ordinary run: five shares no factor with the six fluids, four pumps and three supplies, so each is met.
EVERY = [pytest.param(n, marks=[] if i % 5 == 0 else [pytest.mark.nightly]) for i, n in enumerate(BOOKS)]


@pytest.mark.parametrize("name", EVERY)
def test_from_nothing_to_ready_in_every_configuration(name):
    """And nothing is called wrong where nothing is."""
    done = walks_to_ready(name, TROUBLES[0])
    assert not [
        said for said in done.advice if any(word in said.lower() for word in ("wrong", "cause", "fault", "not so"))
    ]


@pytest.mark.parametrize(("name", "trouble"), crosses(TRODDEN))
def test_out_of_every_trouble(name, trouble):
    walks_to_ready(name, trouble)


def test_out_of_a_trouble_of_a_pump_that_cannot_stop():
    name, trouble = SOME_MORE
    done = walks_to_ready(name, next(t for t in TROUBLES if t.name == trouble))
    assert not [said for said in done.advice if "pump off" in said.lower()]


@pytest.mark.nightly
@pytest.mark.parametrize(("name", "trouble"), crosses(n for n in BOOKS if n not in TRODDEN))
def test_out_of_every_trouble_in_every_configuration(name, trouble):
    walks_to_ready(name, trouble)


def test_every_trouble_is_trodden_in_the_ordinary_run():
    trodden = {t.name for n in TRODDEN for t in TROUBLES if t.applies(BOOKS[n])} | {SOME_MORE[1]}
    assert trodden == {t.name for t in TROUBLES}
    assert len(TROUBLES) > 25
