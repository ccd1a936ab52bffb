"""Phase sequence, by a rotation meter only."""

from typing import Literal

from coldwright.contract import Notes
from coldwright_electrical.shared.references import COMMON_PRACTICE, OSHA_1910_147
from coldwright_electrical.supply_quality.actions import REVERSED_ACTIONS
from coldwright_electrical.supply_quality.given import SupplyQualityGiven


def judge_rotation(
    given: SupplyQualityGiven, notes: Notes, actions: list[str]
) -> Literal["correct", "reversed", "unknown", "conflict"]:
    """The rotation meter decides first, the phase monitor second."""
    if given.rotation == "reversed":
        notes.stop(
            "rotation_reversed",
            "The phase sequence at the machine is reversed.",
            why="Compressors that run backwards lose their oil or break at once; pumps and fans move too little.",
            resolve="Change over two lines at the source end, dead and locked, and read again.",
            field="/rotation",
            references=(COMMON_PRACTICE.id, OSHA_1910_147.id),
        )
        actions += REVERSED_ACTIONS
        return "reversed"
    if given.rotation == "not_checked":
        tripped = " Its phase monitor has tripped." if given.sequence_relay == "tripped" else ""
        notes.stop(
            "rotation_unknown",
            f"The phase sequence at the machine has not been read.{tripped}",
            why="A brief bump of a compressor is no test: one turn backwards can break it.",
            resolve="Read a rotation meter at the machine's incoming terminals.",
            field="/rotation",
            references=(COMMON_PRACTICE.id,),
        )
        actions.append("Read the phase sequence with a rotation meter at the machine's incoming terminals.")
        return "unknown"
    if given.sequence_relay == "tripped":
        notes.stop(
            "rotation_conflict",
            "The rotation meter reads correct, yet the machine's phase monitor has tripped.",
            why="The monitor also trips on a lost phase, low voltage or unbalance, and one of the two may be wrong.",
            resolve="Find why the monitor trips.",
            field="/sequence_relay",
            references=(COMMON_PRACTICE.id,),
        )
        actions.append(
            "Start nothing; look for a lost phase, low voltage or unbalance, then at the monitor's settings and wiring."
        )
        return "conflict"
    return "correct"
