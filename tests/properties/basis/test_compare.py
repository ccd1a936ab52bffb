"""Comparison survives a change of units, and still tells real differences apart."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from coldwright.contract.quantities import Length, PressureDifference, Temperature
from coldwright_basis import compare

NUMBERS = st.floats(-1e12, 1e12, allow_nan=False).filter(lambda x: x == 0 or abs(x) > 1e-12)


@given(NUMBERS, NUMBERS)
def test_two_numbers_are_in_one_order(a, b):
    assert [compare.below(a, b), compare.same(a, b), compare.above(a, b)].count(True) == 1
    assert compare.at_most(a, b) == (not compare.above(a, b))
    assert compare.at_least(a, b) == (not compare.below(a, b))
    assert compare.at_most(a, b) == compare.at_least(b, a)


@given(NUMBERS.filter(bool), st.floats(1e-8, 10))
def test_what_differs_by_more_than_the_slack_differs(a, part):
    b = a * (1 + part)
    assert not compare.same(a, b)
    assert compare.above(abs(b), abs(a))


@pytest.mark.parametrize(
    ("one", "other"),
    [
        (PressureDifference(14.503773773020923, "psi"), PressureDifference(100, "kPa")),
        (Temperature(44, "degF"), Temperature(60 / 9, "degC")),
        (Length(328.0839895013123, "ft"), Length(100, "m")),
    ],
)
def test_one_quantity_in_two_units_is_the_same(one, other):
    assert compare.same(one.si, other.si)
    assert compare.between(one.si, other.si, one.si)


@given(st.integers(1, 10**6), st.floats(0.01, 1000))
def test_whole_pieces(count, each):
    assert compare.whole_at_least(count * each / each) == count
    assert compare.whole_at_least(count + 0.001) == count + 1
