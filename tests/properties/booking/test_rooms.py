"""The rooms of the booking family: an order walks through each once, and each block says what it needs."""

import ast
import importlib
import inspect
import sys
from collections.abc import Iterator
from pathlib import Path
from types import FrameType, FunctionType, UnionType
from typing import Any, Union, get_args, get_origin, get_type_hints

import pytest

import coldwright_booking
from coldwright.contract.evaluation import evaluate
from coldwright.contract.reading import convert
from coldwright.registry import Registry
from coldwright_booking.assessment import ASKED, assessment
from coldwright_booking.plan.plan import BLOCKS, FIRST, REST, ROUND, Plan

ROOT = Path(coldwright_booking.__file__).parent
ROOMS = ("order", "search", "answer")
"""In the order of the walk; `search` works in `plan`, `order` in `fleet`."""
GIVEN_TO_THE_WALK = {"facts", "ruled_out", "vessels"}


def test_every_block_finds_what_it_needs_decided_before_it() -> None:
    known = set(GIVEN_TO_THE_WALK)
    for block in BLOCKS:
        needs = set(block.needs.__annotations__)
        assert needs <= known, f"{block.name} needs {needs - known}, which no earlier block decides"
        known.add(block.name)


def test_the_value_of_a_block_is_what_its_readers_take_it_for() -> None:
    decided = {b.name: set(_kinds(get_type_hints(b.decide)["return"])) for b in BLOCKS}
    compared = 0
    for block in BLOCKS:
        for name, hint in get_type_hints(block.needs).items():
            if name in decided:
                compared += 1
                useful = set(_kinds(hint)) - {type(None)}
                assert useful <= decided[name], f"{block.name} takes {name} for {hint}"
    assert compared > 20


def _kinds(hint: Any) -> tuple[Any, ...]:
    """Members of a union, however it is written."""
    return get_args(hint) if get_origin(hint) in (Union, UnionType) else (hint,)


def test_a_plan_has_a_value_for_every_block_and_the_blocks_ask_all_calculators() -> None:
    names = [b.name for b in BLOCKS]
    assert len(set(names)) == len(names)
    assert set(names) <= set(Plan.__dataclass_fields__)
    assert len(ASKED) == 25
    assert {c.id for c in ASKED} == set(assessment.uses)
    assert (*FIRST, *ROUND, *REST) == BLOCKS


def test_the_answer_reads_values_and_calls_nothing_of_the_rooms_before_it() -> None:
    """Classes and constants may be imported from order, plan and search; functions are ways back."""
    looked = 0
    for path in (ROOT / "answer").glob("*.py"):
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if (
                isinstance(node, ast.ImportFrom)
                and node.module
                and _room_of(node.module) in {"order", "plan", "search"}
            ):
                module = importlib.import_module(node.module)
                for name in node.names:
                    looked += 1
                    assert not isinstance(getattr(module, name.name), FunctionType), f"{path.name}: {name.name}"
    assert looked > 20


def _room_of(module: str) -> str:
    family, _, rest = module.partition(".")
    return rest.partition(".")[0] if family == "coldwright_booking" else ""


@pytest.mark.parametrize("example", assessment.examples, ids=lambda e: e.name)
def test_one_walk_enters_each_room_once(example: Any) -> None:
    """The calls that the calculator itself makes, by the room they lead to, with repeats side by side taken together."""
    rooms: list[str] = []
    code = inspect.unwrap(assessment.function).__code__

    def watch(frame: FrameType, event: str, _: object) -> None:
        if event == "call" and frame.f_back is not None and frame.f_back.f_code is code:
            room = _room_of(frame.f_globals.get("__name__", ""))
            if room in ROOMS and rooms[-1:] != [room]:
                rooms.append(room)

    registry = Registry()
    given = convert(assessment.given, example.given)
    sys.setprofile(watch)
    try:
        evaluate(assessment, given, plugin="test", plugin_version="0", lookup=registry.lookup)
    finally:
        sys.setprofile(None)
    assert rooms == list(ROOMS)


def _modules() -> Iterator[Path]:
    yield from ROOT.rglob("*.py")


def test_no_module_of_the_family_is_too_long_for_one_reason_to_change() -> None:
    sizes = {str(p.relative_to(ROOT)): len(p.read_text("utf-8").splitlines()) for p in _modules()}
    assert len(sizes) > 40
    assert {name: size for name, size in sizes.items() if size > 450} == {}
