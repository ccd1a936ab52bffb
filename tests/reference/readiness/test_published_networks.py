"""The passes of a procedure against networks of activities that others have printed: every start, finish and slack as there.

| source | what | theirs | ours |
| --- | --- | --- | --- |
| Gueret, Prins and Sevaux, Applications of Optimization with Xpress-MP (2000), Example 7.1.1, 18 activities | length | 64 | 64 |
| Exercise 6 of a textbook on projects of information technology, 11 activities | length | 16 | 16 |

The first is read in a notebook of a course on process operations (J. Kantor, University of Notre Dame), which works it by linear
programming and prints the slacks; the second in the public homework of a student, which lists the length of every path. Both
seen as reproduced.
"""

import pytest

from coldwright_readiness.shared.schedule import critical_path, timings
from coldwright_readiness.shared.steps import Step

pytestmark = pytest.mark.check

# activity: duration, what it follows, early start, slack
STADIUM: dict[str, tuple[int, tuple[str, ...], int, int]] = {
    "T01": (2, (), 0, 0),
    "T02": (16, ("T01",), 2, 0),
    "T03": (9, ("T02",), 18, 0),
    "T04": (8, ("T02",), 18, 11),
    "T05": (10, ("T03",), 27, 0),
    "T06": (6, ("T04", "T05"), 37, 0),
    "T07": (2, ("T04",), 26, 35),
    "T08": (2, ("T06",), 43, 16),
    "T09": (9, ("T04", "T06"), 43, 0),
    "T10": (5, ("T04",), 26, 33),
    "T11": (3, ("T06",), 43, 15),
    "T12": (2, ("T09",), 52, 0),
    "T13": (1, ("T07",), 28, 35),
    "T14": (7, ("T02",), 18, 35),
    "T15": (4, ("T04", "T14"), 26, 34),
    "T16": (3, ("T08", "T11", "T14"), 46, 15),
    "T17": (9, ("T12",), 54, 0),
    "T18": (1, ("T17",), 63, 0),
}
LAST_OF_STADIUM = ("T10", "T13", "T15", "T16", "T18")
"""What nothing follows: the goal waits for them."""
ELEVEN = {
    "A": (2, ""), "B": (2, "A"), "C": (3, "A"), "D": (4, "A"), "E": (2, "B"), "F": (3, "C"), "G": (6, "D"),
    "H": (2, "EF"), "I": (5, "EF"), "J": (1, "IG"), "K": (2, "HJ"),
}  # fmt: skip
PATHS = {"ABEHK": 10, "ABEIJK": 14, "ACFHK": 12, "ACFIJK": 16, "ADGJK": 15}


def step(name: str, duration: int, after: tuple[str, ...]) -> Step:
    return Step(name, name, "none", duration, after, "", "", "", "", ())


def test_a_stadium() -> None:
    """Length 64, along T01-T02-T03-T05-T06-T09-T12-T17-T18; everything else with the slack that is printed."""
    steps = [step(name, duration, after) for name, (duration, after, *_) in STADIUM.items()]
    found = timings([*steps, step("done", 0, LAST_OF_STADIUM)], "done")
    for name, (duration, _, early, slack) in STADIUM.items():
        assert (found[name].start, found[name].finish, found[name].slack) == (early, early + duration, slack), name
    assert found["done"].finish == 64
    assert [name for name in critical_path(found) if name != "done"] == [
        name for name, (*_, slack) in STADIUM.items() if slack == 0
    ]


def test_eleven_activities() -> None:
    """A-C-F-I-J-K takes 16 days; what is on no longer path than another has the difference as its slack."""
    found = timings([step(name, duration, tuple(after)) for name, (duration, after) in ELEVEN.items()], "K")
    assert found["K"].finish == max(PATHS.values()) == 16
    assert "".join(critical_path(found)) == "ACFIJK"
    for name in ELEVEN:
        longest = max(length for path, length in PATHS.items() if name in path)
        assert found[name].slack == 16 - longest, name
