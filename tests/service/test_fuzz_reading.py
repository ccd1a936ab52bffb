"""The decoder and the pointers, under anything that can be thought up: a value or a clear refusal, never another error."""

import contextlib
import json
from typing import Any

import pytest
from badness import bad_body
from hypothesis import given
from hypothesis import strategies as st

from coldwright.contract import Malformed, Refused
from coldwright.contract.reading import convert, decode_any, read
from coldwright.registry import Registry
from coldwright.service.exploration.pointers import NoSuchPlace, get, replaced, tokens
from coldwright.service.exploration.worksheet import Worksheet

ATOM = (
    st.none() | st.booleans() | st.integers() | st.floats(allow_nan=False, allow_infinity=False) | st.text(max_size=20)
)
ANY = st.recursive(
    ATOM, lambda inner: st.lists(inner, max_size=5) | st.dictionaries(st.text(max_size=8), inner, max_size=5)
)


def refusal_of(expected: Any, body: bytes) -> Malformed | Refused | None:
    """What `read` says against a body; nothing when it takes it."""
    try:
        read(expected, body)
    except (Malformed, Refused) as error:
        return error
    return None


def held_to_its_form(refusal: Malformed | Refused | None) -> None:
    """Every refusal says what and where."""
    if isinstance(refusal, Malformed):
        assert refusal.detail
    elif isinstance(refusal, Refused):
        assert refusal.errors
        assert all(e.pointer.startswith("#") and e.detail and e.code for e in refusal.errors)


@given(st.binary(max_size=300))
def test_any_bytes(body: bytes) -> None:
    for expected in (Worksheet, dict, Any):
        held_to_its_form(refusal_of(expected, body))


@given(ANY)
def test_any_json_comes_back_as_it_was_or_is_refused(value: Any) -> None:
    try:
        assert decode_any(json.dumps(value).encode()) == value
    except (Refused, Malformed):
        text = json.dumps(value)
        assert "\\ud" in text or any(len(digits) > 300 for digits in text.split()), text


@given(ANY, st.integers(0, 2**32))
def test_any_json_as_any_input(registry: Registry, value: Any, seed: int) -> None:
    served = sorted(registry.served.items())
    calculator = served[seed % len(served)][1].calculator
    for body in (json.dumps(value).encode(), bad_body(seed, calculator.examples[0].given)):
        held_to_its_form(refusal_of(calculator.given, body))
    with contextlib.suppress(Refused):
        given_type = served[seed % len(served)][1].local.given
        assert isinstance(convert(given_type, value), given_type)


@given(ANY, st.text(max_size=30) | st.lists(st.text(max_size=5), max_size=5).map(lambda p: "".join(f"/{t}" for t in p)))
def test_any_pointer_leads_somewhere_or_nowhere(document: Any, pointer: str) -> None:
    with contextlib.suppress(NoSuchPlace):
        found = get(document, pointer)
        changed = replaced(document, pointer, "new")
        assert get(changed, pointer) == "new"
        assert get(document, pointer) == found, "the document itself is left as it was"


@given(ANY)
def test_every_place_has_a_pointer(document: Any) -> None:
    def visit(value: Any, pointer: str) -> None:
        assert get(document, pointer) is value
        if isinstance(value, dict):
            for key, item in value.items():
                visit(item, f"{pointer}/{key.replace('~', '~0').replace('/', '~1')}")
        elif isinstance(value, list):
            for index, item in enumerate(value):
                visit(item, f"{pointer}/{index}")

    visit(document, "")


@pytest.mark.parametrize("pointer", ["a", "/~", "/~2", "/a~"])
def test_what_is_no_pointer_is_told(pointer: str) -> None:
    with pytest.raises(NoSuchPlace):
        get({"a": 1, "~": 2, "~2": 3, "a~": 4}, pointer)


@pytest.mark.parametrize("token", ["-1", "01", "+1", "1.0", "²", "٣", "99999999999999999999", "-", " 0", ""])
def test_what_is_no_index_is_nowhere(token: str) -> None:
    with pytest.raises(NoSuchPlace):
        get([1, 2, 3], f"/{token}")


@given(st.lists(st.text(max_size=6), max_size=6))
def test_steps_survive_writing_and_reading(steps: list[str]) -> None:
    written = "".join(f"/{s.replace('~', '~0').replace('/', '~1')}" for s in steps)
    assert tokens(written) == steps
