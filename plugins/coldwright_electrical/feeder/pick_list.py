"""Sections, joints, ramps and spares of a feeder, and its colours."""

import math
from typing import Final

from msgspec import UNSET

from coldwright.contract.quantities import Length
from coldwright_basis.compare import whole_at_least
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.results import PickListResults

RAMP_WIDTH: Final = 0.9

SPARES_PER: Final = 20


def section_length(given: FeederGiven) -> Length:
    """As given, else 50 ft under nec and 15 m under iec."""
    if given.section_length is not UNSET:
        return given.section_length
    return Length(50.0, "ft") if given.practice == "nec" else Length(15.0, "m")


def pick_list(given: FeederGiven, sets: int) -> PickListResults:
    """Every line of every set in sections, joined to one another and at the ends."""
    sections = whole_at_least(given.length.si / section_length(given).si)
    conductors = 1 if given.construction == "multi_conductor_portable" else 4 + given.neutral
    joints = sections + {"connectors": 1, "mixed": 0, "tails_to_lugs": -1}[given.ends]
    return PickListResults(
        sections=sections,
        cable_pieces=sets * conductors * sections,
        mated_pairs=sets * conductors * joints,
        ramps=given.crossings * whole_at_least(given.crossing_width.si / RAMP_WIDTH),
        spare_pieces=conductors * math.ceil(sets * sections / SPARES_PER),
        line_colors=_colors(given),
    )


def _colors(given: FeederGiven) -> tuple[str, ...]:
    if given.practice == "iec":
        lines, neutral, ground = ("brown", "black", "grey"), "blue", "green-yellow"
    elif given.system_voltage.si <= 250:
        lines, neutral, ground = ("black", "red", "blue"), "white", "green"
    else:
        lines, neutral, ground = ("brown", "orange", "yellow"), "grey", "green"
    return (*lines, *((neutral,) if given.neutral else ()), ground)
