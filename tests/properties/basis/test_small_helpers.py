"""Repeated names, the usual value in place of one that was not given, and what is worked out once."""

from typing import get_args

from hypothesis import given
from hypothesis import strategies as st
from msgspec import UNSET

from coldwright.contract import Notes
from coldwright_basis.once import once
from coldwright_basis.repeats import repeated
from coldwright_basis.trade_words import Thing, word
from coldwright_basis.usual import given_or_usual


@given(st.lists(st.sampled_from("abcde"), max_size=12))
def test_each_use_but_the_first_is_refused(names):
    errors = repeated((f"/machines/{i}/id", name) for i, name in enumerate(names))
    assert [e.pointer for e in errors] == [f"#/machines/{i}/id" for i, n in enumerate(names) if n in names[:i]]
    assert all(f"/machines/{names.index(e.value)}/id" in e.detail for e in errors)


def test_only_what_was_not_given_is_assumed():
    notes = Notes({})
    assert given_or_usual(3.0, 4.0, notes, "ratio", "The ratio is 4.") == 3.0
    assert notes.assumptions == []
    assert given_or_usual(UNSET, 4.0, notes, "ratio", "The ratio is 4.") == 4.0
    assert [(a.code, a.value, a.basis) for a in notes.assumptions] == [("ratio", 4.0, "common_practice")]


def test_each_trade_has_its_own_word():
    assert (word("lorry", "nec"), word("lorry", "iec")) == ("truck", "lorry")
    assert (word("earth_fault", "nec"), word("earth_fault", "iec")) == ("ground fault", "earth fault")
    assert all(word(thing, "nec") != word(thing, "iec") for thing in get_args(Thing))


def test_what_is_kept_is_worked_out_once_for_each_object():
    class Counted:
        def __init__(self, start):
            self.count = start

        @once
        def next(self):
            """The next number."""
            self.count += 1
            return self.count

    one, other = Counted(0), Counted(10)
    assert [one.next, one.next, other.next, one.next] == [1, 1, 11, 1]
    assert Counted.__dict__["next"].__doc__ == "The next number."
