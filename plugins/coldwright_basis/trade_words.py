"""Words that differ between the trades: of the United States where practice is nec, British ones where it is iec."""

from typing import Final, Literal

from coldwright_basis.ratings import Practice

Thing = Literal["earth", "earth_fault", "lorry", "lorries", "hire", "fork_truck", "earth_lead"]

_WORDS: Final[dict[Thing, dict[Practice, str]]] = {
    "earth": {"iec": "earth", "nec": "ground"},
    "earth_fault": {"iec": "earth fault", "nec": "ground fault"},
    "earth_lead": {"iec": "protective conductor", "nec": "equipment ground"},
    "lorry": {"iec": "lorry", "nec": "truck"},
    "lorries": {"iec": "lorries", "nec": "trucks"},
    "hire": {"iec": "hire", "nec": "rental"},
    "fork_truck": {"iec": "fork truck", "nec": "forklift"},
}


def word(thing: Thing, practice: Practice) -> str:
    """What a thing is called on a site of this practice: `word("lorry", "nec")` is `truck`."""
    return _WORDS[thing][practice]
