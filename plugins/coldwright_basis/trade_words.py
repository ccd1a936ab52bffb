"""Words that differ between the trades: of the United States where practice is nec, British ones where it is iec.

One table for all. A text that is said on site names the thing in braces, and gets the word of the practice:
`in_words_of("iec", "Connect the {protective_conductor} first.")`.
"""

from functools import cache
from typing import Final, Literal

from msgspec.structs import replace

from coldwright.contract import Caution
from coldwright_basis.ratings import Practice

Thing = Literal[
    "earth",
    "earthed",
    "unearthed",
    "earth_fault",
    "protective_conductor",
    "residual_current_device",
    "earth_electrode",
    "lorry",
    "lorries",
    "hire",
    "hired",
    "fork_truck",
    "spanners",
    "torch",
]

WORDS: Final[dict[Thing, dict[Practice, str]]] = {
    "earth": {"iec": "earth", "nec": "ground"},
    "earthed": {"iec": "earthed", "nec": "grounded"},
    "unearthed": {"iec": "unearthed", "nec": "ungrounded"},
    "earth_fault": {"iec": "earth fault", "nec": "ground fault"},
    "protective_conductor": {"iec": "protective conductor", "nec": "equipment ground"},
    "residual_current_device": {"iec": "residual-current device", "nec": "ground-fault relay"},
    "earth_electrode": {"iec": "earth electrode", "nec": "grounding electrode"},
    "lorry": {"iec": "lorry", "nec": "truck"},
    "lorries": {"iec": "lorries", "nec": "trucks"},
    "hire": {"iec": "hire", "nec": "rental"},
    "hired": {"iec": "hired", "nec": "rented"},
    "fork_truck": {"iec": "fork truck", "nec": "forklift"},
    "spanners": {"iec": "spanners", "nec": "wrenches"},
    "torch": {"iec": "torch", "nec": "flashlight"},
}


def word(thing: Thing, practice: Practice) -> str:
    """What a thing is called on a site of this practice: `word("lorry", "nec")` is `truck`."""
    return WORDS[thing][practice]


@cache
def words_of(practice: Practice) -> dict[str, str]:
    """All words of a practice by thing, for the places of a text."""
    return {thing: words[practice] for thing, words in WORDS.items()}


def in_words_of(practice: Practice, text: str) -> str:
    """A constant text with its places filled by the words of the practice; `KeyError` for a place that is no thing."""
    return text.format_map(words_of(practice))


@cache
def caution_in_words_of(practice: Practice, caution: Caution) -> Caution:
    """The same caution, said in the words of the practice; one object for each, so that it is listed once."""
    return replace(caution, statement=in_words_of(practice, caution.statement))
