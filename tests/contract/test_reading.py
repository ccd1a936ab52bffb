"""Bytes to a checked input: what is refused, and how it is told."""

import json
from collections.abc import Sequence
from typing import Annotated, ClassVar, Literal

import msgspec
import pytest
from hypothesis import given as generated
from hypothesis import strategies as st
from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Given, Malformed, Refused, Text, about
from coldwright.contract.explaining import MOST_ERRORS
from coldwright.contract.quantities import Current, Quantity, Temperature, Voltage, type_of_kind
from coldwright.contract.ranges import NEAR_ZERO, range_errors
from coldwright.contract.reading import (
    checked,
    convert,
    decode_any,
    read,
)


class Leg(Given, frozen=True, kw_only=True, tag_field="kind", tag="leg"):
    """A leg."""

    current: Annotated[Current, about("Current.", above=0, high=4000, unit="A", why="plates end there")]
    count: Annotated[int, about("Count.", low=1, high=40)] = 1


class Arm(Given, frozen=True, kw_only=True, tag_field="kind", tag="arm"):
    """An arm."""

    name: Annotated[Text, about("Name.")]


class Body(Given, frozen=True, kw_only=True):
    """A body."""

    voltage: Annotated[Voltage, about("Volts.", low=180, high=690, unit="V")]
    factor: Annotated[float, about("Factor.", low=0.5, high=1)] = 0.85
    legs: Annotated[tuple[Leg, ...], about("Legs.", max_length=4)] = ()
    limbs: Annotated[tuple[Leg | Arm, ...], about("Limbs.", max_length=4)] = ()
    mode: Annotated[Literal["fast", "slow"], about("Mode.")] = "slow"
    fluid: Annotated[Fluid, about("Fluid.")] | UnsetType = UNSET
    temperatures: Annotated[
        tuple[Temperature, ...], about("Several.", low=-40, high=60, unit="degC", max_length=3)
    ] = ()
    coldest: Annotated[Temperature, about("Coldest.", low=-40, high=60, unit="degC")] | UnsetType = UNSET


GOOD = {"voltage": {"value": 400, "unit": "V"}}


def errors_of(body: object) -> dict[str, str]:
    with pytest.raises(Refused) as refused:
        read(Body, body if isinstance(body, bytes) else json.dumps(body).encode())
    return {e.pointer: e.code for e in refused.value.errors}


def test_a_good_body_is_read() -> None:
    body = read(Body, json.dumps(GOOD | {"limbs": [{"kind": "arm", "name": "left"}]}).encode())
    assert body.voltage.value == 400
    assert body.limbs == (Arm(name="left"),)


def test_every_wrong_field_is_named_at_once() -> None:
    body = {
        "voltage": {"value": 40, "unit": "V"},
        "factor": 7,
        "legs": [{"kind": "leg", "current": {"value": -10, "unit": "A"}, "count": 0}, {"kind": "leg"}],
        "limbs": [{"kind": "wing"}, {"kind": "arm"}],
        "mode": "warp",
        "fluid": {"kind": "beer", "mass_fraction": 0.9},
        "colour": "red",
    }
    assert errors_of(body) == {
        "#/voltage": "out_of_range",
        "#/factor": "out_of_range",
        "#/legs/0/current": "out_of_range",
        "#/legs/0/count": "out_of_range",
        "#/legs/1/current": "missing",
        "#/limbs/0/kind": "not_allowed",
        "#/limbs/1/name": "missing",
        "#/mode": "not_allowed",
        "#/fluid/kind": "not_allowed",
        "#/fluid/mass_fraction": "out_of_range",
        "#/colour": "unknown_field",
    }


def test_an_error_tells_value_range_and_reason() -> None:
    with pytest.raises(Refused) as refused:
        read(Body, json.dumps(GOOD | {"legs": [{"kind": "leg", "current": {"value": 5, "unit": "kA"}}]}).encode())
    (error,) = refused.value.errors
    assert error.pointer == "#/legs/0/current"
    assert error.value == Current(value=5.0, unit="kA")
    assert error.allowed
    assert (error.allowed.above, error.allowed.maximum, error.allowed.unit) == (0, 4000, "A")
    assert error.why == "plates end there"
    assert "5 kA" in error.detail


def test_a_range_holds_for_every_quantity_of_a_list() -> None:
    assert read(Body, json.dumps(GOOD | {"temperatures": [{"value": 5, "unit": "degC"}]}).encode())
    bad = [{"value": 5, "unit": "degC"}, {"value": 500, "unit": "degF"}]
    assert errors_of(GOOD | {"temperatures": bad}) == {"#/temperatures/1": "out_of_range"}


@pytest.mark.parametrize(
    "escaped", ['"mo\\u0064e"', '"x\\u003ay"', '"x\\u003Ay"', '"x\\\\u003ay"', '"x:y"', '"\\\\\\u003a"']
)
def test_a_repeated_member_is_found_behind_an_escape(escaped: str) -> None:
    body = (
        f'{{"voltage": {{"value": 400, "unit": "V"}}, "mode": "fast", {escaped}: "slow", "factor": 0.9, "factor": 0.8}}'
    )
    with pytest.raises((Malformed, Refused)):
        read(Body, body.encode())


def test_a_variant_that_is_not_named_is_told_which_there_are() -> None:
    with pytest.raises(Refused) as refused:
        read(Body, json.dumps(GOOD | {"limbs": [{"name": "left"}, {"kind": "wing"}]}).encode())
    missing, unknown = refused.value.errors
    assert (missing.pointer, missing.code) == ("#/limbs/0/kind", "missing")
    assert unknown.allowed
    assert (unknown.pointer, unknown.value, unknown.allowed.one_of) == ("#/limbs/1/kind", "wing", ("leg", "arm"))


def test_a_text_of_the_wrong_form_is_told_without_a_pattern() -> None:
    with pytest.raises(Refused) as refused:
        read(Body, json.dumps(GOOD | {"limbs": [{"kind": "arm", "name": "a\u0000b"}]}).encode())
    assert "regex" not in refused.value.errors[0].detail


def test_a_range_holds_in_every_unit() -> None:
    assert read(Body, json.dumps(GOOD | {"coldest": {"value": -40, "unit": "degF"}}).encode())
    assert errors_of(GOOD | {"coldest": {"value": -41, "unit": "degF"}}) == {"#/coldest": "out_of_range"}
    assert errors_of(GOOD | {"coldest": {"value": 213.0, "unit": "K"}}) == {"#/coldest": "out_of_range"}


def test_a_missing_field_says_what_it_is() -> None:
    with pytest.raises(Refused) as refused:
        read(Body, b"{}")
    assert refused.value.errors[0].detail == "This field is required: Volts."


class Either(Given, frozen=True, kw_only=True):
    """One of two."""

    one_needed: ClassVar[tuple[tuple[str, ...], ...]] = (("left", "right"),)
    left: Annotated[int, about("Left.", low=0, high=9)] | UnsetType = UNSET
    right: Annotated[int, about("Right.", low=0, high=9)] | UnsetType = UNSET
    name: Annotated[Text, about("Name.")]


def test_one_of_several_that_is_needed_is_told_with_the_other_missing_fields() -> None:
    with pytest.raises(Refused) as refused:
        read(Either, b"{}")
    assert [(e.pointer, e.code) for e in refused.value.errors] == [("#/name", "missing"), ("#/left", "missing")]
    assert "left, right" in refused.value.errors[1].detail


@pytest.mark.parametrize(
    "body",
    [
        b'{"' + b"\\\\" * 600_000 + b'": 1}',
        b'{"' + b"a" * 90_000 + b'": 1}',
        b'{"' + b"a" * 90_000 + b'": 1, "' + b"a" * 90_000 + b'": 2}',
        b'{"mode": "' + b"a" * 90_000 + b'"}',
        b'{"factor": "' + b"a" * 1_200_000 + b'"}',
    ],
)
def test_what_is_wrong_is_said_back_in_part(body: bytes) -> None:
    """A name or a text may be nearly all of a body: a refusal as long as that would be work for everybody."""
    with pytest.raises((Refused, Malformed)) as caught:
        read(Body, body)
    assert len(msgspec.json.encode(getattr(caught.value, "errors", caught.value.args))) < 3_000


def test_pointers_are_escaped() -> None:
    assert errors_of(GOOD | {"a/b~c d": 1}) == {"#/a~1b~0c%20d": "unknown_field"}


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b"", "not_json"),
        (b"{", "not_json"),
        (b"\xff\xfe", "not_json"),
        (b"\xef\xbb\xbf{}", "not_json"),
        (b'{"factor": NaN}', "not_json"),
        (b'{"factor": "wrong", "other": [-Infinity]}', "not_json"),
        (b'{"factor": Infinity}', "not_json"),
        (b'{"factor": 01}', "not_json"),
        (b'{"voltage": {"value": 400, "unit": "V"},}', "not_json"),
        (b'{"voltage": {"value": 400, "unit": "V"}, "factor": 0.9, "factor": 0.8}', "duplicate_member"),
        (b'{"voltage": {"value": 400, "value": 401, "unit": "V"}}', "duplicate_member"),
        (b'{"odd": 1, "odd": 2}', "duplicate_member"),
        (b"[" * 10_000, "nested_too_deep"),
        (b'{"a":' * 10_000, "nested_too_deep"),
        (b"[" * 2_000 + b"]" * 2_000, "nested_too_deep"),
        (b'{"odd": ' + b"[" * 900 + b"]" * 900 + b', "odd": 1}', "duplicate_member"),
        (b'{"mode": "\\ud800"}', "not_json"),
        (b'{"\\ud800": 1}', "not_json"),
        (b'{"odd": "\\ud800", "factor": 1e999}', "not_json"),
    ],
)
def test_what_is_not_json_is_malformed(body: bytes, code: str) -> None:
    with pytest.raises(Malformed) as malformed:
        read(Body, body)
    assert malformed.value.code == code


@pytest.mark.parametrize(
    ("body", "code"),
    [
        (b'{"' + b'\\"' * 300_000 + b"[", "not_json"),
        (b'{"' + b'\\"[' * 200_000, "not_json"),
        (b'{"odd": "' + b"\\\\" * 300_000 + b'"' + b"[" * 200, "not_json"),
        (b"{" + b",".join(b'"n%d": 1' % n for n in range(80_000)) + b', "n0": 2}', "duplicate_member"),
    ],
)
def test_bodies_made_to_be_slow_are_malformed_at_once(body: bytes, code: str) -> None:
    """Each took minutes while nesting was counted by a pattern, or repeated members by counting names."""
    with pytest.raises(Malformed) as malformed:
        read(Body, body)
    assert malformed.value.code == code


@pytest.mark.parametrize(
    "body",
    [
        b'{"legs": [' + b",".join([b"[]"] * 300_000) + b"]}",
        b'{"legs": [' + b",".join([b"[]"] * 3_000_000) + b"]}",
        b"{" + b",".join(b'"n%d": 1' % n for n in range(80_000)) + b"}",
        b'{"odd": ' + b"[" * 900 + b"]" * 900 + b"}",
    ],
)
def test_a_large_wrong_body_names_errors_up_to_the_limit(body: bytes) -> None:
    with pytest.raises(Refused) as refused:
        read(Body, body)
    assert 1 <= len(refused.value.errors) <= MOST_ERRORS
    assert all(e.pointer.startswith("#") for e in refused.value.errors)


@pytest.mark.parametrize(
    "body",
    [
        b'{"factor": 1e999}',
        b'{"factor": 1' + b"0" * 5000 + b"}",
        b'{"voltage": null}',
        b'{"voltage": {"value": "400", "unit": "V"}}',
        b'{"voltage": {"value": true, "unit": "V"}}',
        b'{"voltage": [400, "V"]}',
        b"[]",
        b"null",
        b"3",
    ],
)
def test_json_that_does_not_fit_is_refused(body: bytes) -> None:
    with pytest.raises(Refused) as refused:
        read(Body, body)
    assert refused.value.errors
    assert b":null" not in msgspec.json.encode(refused.value.errors)


json_values = st.recursive(
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats()
    | st.text(max_size=8)
    | st.sampled_from(["V", "A", "leg", "water"]),
    lambda inner: (
        st.lists(inner, max_size=4)
        | st.dictionaries(
            st.sampled_from(["voltage", "value", "unit", "legs", "limbs", "kind", "current", "fluid", "mode"])
            | st.text(max_size=6),
            inner,
            max_size=5,
        )
    ),
    max_leaves=20,
)


@generated(json_values)
def test_any_json_is_read_or_refused_never_worse(value: object) -> None:
    try:
        read(Body, json.dumps(value).encode())
    except (Refused, Malformed) as error:
        assert str(error)  # noqa: PT017


@generated(st.binary(max_size=60))
def test_any_bytes_are_read_or_refused_never_worse(body: bytes) -> None:
    try:
        read(Body, body)
        decode_any(body)
    except (Refused, Malformed) as error:
        assert str(error)  # noqa: PT017


def test_a_struct_built_in_code_is_held_to_the_same() -> None:
    with pytest.raises(Refused):
        checked(Body(voltage=Voltage(value=40.0, unit="V")))
    with pytest.raises(Refused):
        checked(Body(voltage=Voltage(value=400.0, unit="V"), factor=3.0))
    assert convert(Body, GOOD).factor == 0.85


EVERY_KIND = [kind for kind in type_of_kind.values() if len(kind.units) > 1]


@pytest.mark.parametrize("kind", EVERY_KIND, ids=lambda kind: kind.kind)
@generated(
    unit=st.integers(0, 20),
    ends=st.tuples(st.floats(-1e6, 1e6), st.floats(1e-6, 1e6)),
    strict=st.tuples(st.booleans(), st.booleans()),
    share=st.one_of(st.sampled_from([0.0, 1.0]), st.floats(-0.5, 1.5)),
    sent=st.integers(0, 20),
)
def test_a_range_holds_in_every_unit_of_every_kind(
    kind: type[Quantity], unit: int, ends: tuple[float, float], strict: tuple[bool, bool], share: float, sent: int
) -> None:
    names = list(kind.units)
    low, high = ends[0], ends[0] + ends[1]
    bounds = {("above" if strict[0] else "low"): low, ("below" if strict[1] else "high"): high}
    field = Annotated[kind, about("It.", unit=names[unit % len(names)], **bounds)]  # type: ignore[valid-type]
    ranged = msgspec.defstruct("Ranged", [("it", field)], bases=(Given,), frozen=True)
    value = kind(low + share * (high - low), names[unit % len(names)])
    holder = ranged(value.as_unit(names[sent % len(names)]))
    if 0.01 < share < 0.99 and ends[1] > 1:
        assert range_errors(holder) == []
    if not -0.01 < share < 1.01 and ends[1] > 1:
        assert [e.pointer for e in range_errors(holder)] == ["#/it"]


@pytest.mark.parametrize("tiny", [5e-324, 1e-300, 1e-12])
def test_next_to_nothing_is_not_above_nothing(tiny: float) -> None:
    with pytest.raises(Refused) as caught:
        convert(Leg, {"current": {"value": tiny, "unit": "A"}})
    (error,) = caught.value.errors
    assert (error.pointer, error.code, error.why) == ("#/current", "out_of_range", NEAR_ZERO)
    assert convert(Leg, {"current": {"value": 2e-12, "unit": "A"}}).current.value == 2e-12


@pytest.mark.parametrize("first", range(MOST_ERRORS - 8, MOST_ERRORS + 1))
def test_the_fiftieth_error_hides_the_others_and_breaks_nothing(first: int) -> None:
    class Rope(Given, frozen=True, kw_only=True):
        """A rope."""

        lengths: Annotated[tuple[Text, ...], about("Words.", max_length=200)]
        one: Annotated[Current, about("One.", low=0, high=10, unit="A")]
        two: Annotated[Current, about("Two.", low=0, high=10, unit="A")]

    beyond = {"value": 1e16, "unit": "A"}
    with pytest.raises(Refused) as caught:
        convert(Rope, {"lengths": [7] * first, "one": beyond, "two": beyond, "three": 3})
    assert len(caught.value.errors) == min(MOST_ERRORS, first + 3)


class Bundle(Given, frozen=True, kw_only=True):
    """Legs in every kind of list."""

    row: Annotated[tuple[Leg, ...], about("Legs.", max_length=9)] = ()
    listed: Annotated[list[Leg], about("Legs.", max_length=9)] | UnsetType = UNSET
    named: Annotated[dict[str, Leg], about("Legs.", max_length=9)] | UnsetType = UNSET
    sequence: Annotated[Sequence[Leg], about("Legs.", max_length=9)] = ()
    mixed: Annotated[tuple[Leg | Arm, ...], about("Legs and arms.", max_length=9)] = ()
    currents: Annotated[tuple[Current, ...], about("Currents.", above=0, high=4000, unit="A", max_length=9)] = ()
    either: Annotated[Leg | str | UnsetType, about("A leg or its name.")] = UNSET


@pytest.mark.parametrize("current", [4000, 4001])
@pytest.mark.parametrize("field", msgspec.structs.fields(Bundle), ids=lambda f: f.name)
def test_ranges_hold_in_every_kind_of_list(field: msgspec.structs.FieldInfo, current: float) -> None:
    quantity = {"value": current, "unit": "A"}
    leg = {"kind": "leg", "current": quantity}
    inside = {"named": {"a": leg}, "currents": [quantity], "either": leg}.get(field.name, [leg])
    document = {field.name: inside}
    if current == 4000:
        assert read(Bundle, json.dumps(document).encode()) == convert(Bundle, document)
    else:
        with pytest.raises(Refused) as caught:
            read(Bundle, json.dumps(document).encode())
        assert caught.value.errors[0].pointer.startswith(f"#/{field.name}")


class Knot(Given, frozen=True, kw_only=True):
    """A knot that may hold knots."""

    current: Annotated[Current, about("Current.", low=1, high=9, unit="A")]
    knots: Annotated[tuple["Knot", ...], about("Knots.", max_length=9)] = ()


@pytest.mark.parametrize("depth", range(1, 8))
def test_a_struct_inside_itself_is_held_to_its_range_at_every_depth(depth: int) -> None:
    def knot(current: float, below: int) -> dict[str, object]:
        inside = {"knots": [knot(current, below - 1)]} if below > 1 else {}
        return {"current": {"value": 5 if below > 1 else current, "unit": "A"}, **inside}

    assert read(Knot, json.dumps(knot(9, depth)).encode()) == convert(Knot, knot(9, depth))
    with pytest.raises(Refused) as caught:
        read(Knot, json.dumps(knot(10, depth)).encode())
    assert [e.pointer for e in caught.value.errors] == ["#" + "/knots/0" * (depth - 1) + "/current"]


KEYS = st.text(alphabet=["a", ":", "\\", '"', "u", "0", "3", "é"], max_size=4)
MEMBERS = st.recursive(
    st.none() | st.integers() | KEYS,
    lambda inner: st.lists(inner, max_size=3) | st.lists(st.tuples(KEYS, inner), max_size=4).map(tuple),
    max_leaves=12,
)


def written(value: object, escape_colons: bool) -> str:
    """JSON of lists and of members in tuples, which may name one twice; colons in text may stand as escapes."""
    if isinstance(value, tuple):
        pairs = (f"{written(k, escape_colons)}: {written(v, escape_colons)}" for k, v in value)
        return "{" + ",".join(pairs) + "}"
    if isinstance(value, list):
        return "[" + ",".join(written(v, escape_colons) for v in value) + "]"
    text = json.dumps(value)
    return text.replace(":", "\\u003a") if escape_colons else text


def repeats(value: object) -> bool:
    """Whether any object names a member twice, told from the members themselves."""
    if isinstance(value, tuple):
        names = [name for name, _ in value]
        return len(set(names)) < len(names) or any(repeats(v) for _, v in value)
    return isinstance(value, list) and any(map(repeats, value))


@generated(MEMBERS, st.booleans())
def test_a_member_that_stands_twice_is_found_whatever_its_text(value: object, escape_colons: bool) -> None:
    body = written(value, escape_colons).encode()
    if repeats(value):
        with pytest.raises(Malformed) as malformed:
            decode_any(body)
        assert malformed.value.code == "duplicate_member"
    else:
        assert decode_any(body) == json.loads(body)
