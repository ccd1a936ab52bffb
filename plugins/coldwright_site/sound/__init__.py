"""Sound of machines at places nearby, and a worker's dose."""

import math

from msgspec import UNSET

from coldwright.contract import Load, Notes, Refused, calculator, field_error
from coldwright_site.shared import cautions, tabulated
from coldwright_site.shared.fields import note_ignored, repeated_ids, require
from coldwright_site.shared.references import (
    ACOUSTICS,
    EPA_LDN,
    ISO_9613_2,
    KURZE_ANDERSON,
    NIOSH_98_126,
    OSHA_1910_95,
    PRACTICE,
    TR_17534_3,
)
from coldwright_site.sound.examples import NEIGHBOUR, WORKER
from coldwright_site.sound.exposure import exposure
from coldwright_site.sound.findings import FINDINGS
from coldwright_site.sound.given import SoundGiven
from coldwright_site.sound.receiver import at_receiver
from coldwright_site.sound.results import SoundResults


@calculator(
    "site.sound",
    version="1.0.3",
    title="Sound of machines at places nearby, and a worker's dose",
    references=(
        ACOUSTICS,
        ISO_9613_2,
        TR_17534_3,
        KURZE_ANDERSON,
        EPA_LDN,
        OSHA_1910_95,
        NIOSH_98_126,
        PRACTICE,
    ),
    tables=(tabulated.AIR_ABSORPTION, tabulated.A_WEIGHTING),
    hazards=("noise",),
    findings=FINDINGS,
    examples=(NEIGHBOUR, WORKER),
    load=Load.HEAVY,
)
def sound(given: SoundGiven, notes: Notes) -> SoundResults:
    """Level at each place from all sources, its margin to the limits, the day-night level, and a worker's dose.

    `simple` spreads A-weighted levels: L = Lw - 20 log10 r - 10.99 + 10 log10 Q. `octave` is ISO 9613-2:1996:
    spreading, air, ground, and a barrier with one or two edges whose top and side paths are added by energy; it holds
    for point sources in a moderate wind from source to receiver, within about 3 dB. A wall behind a source is an image
    source on the far side of it. Levels under 80 dBA don't enter the OSHA dose.
    """
    notes.caution(*cautions.SOUND)
    notes.assume(
        "point_sources_downwind",
        "Machines are points, a moderate wind blows from each to each place, and the level may be wrong by 3 dB either "
        "way (ISO 9613-2, Table 5, from memory).",
        basis="standard",
        references=("iso_9613_2",),
    )
    _refuse_what_is_missing(given)
    if given.method == "simple":
        note_ignored(given, ("ground_factor", "air"), "method `simple`", notes)
    elif any(s.directivity_factor != 2 for s in given.sources):
        notes.note("field_of_another_method", "Not used with method `octave`: directivity_factor.", field="/sources")
    if given.method == "simple" and given.barrier is not UNSET:
        notes.note(
            "barrier_not_counted",
            "The simple method leaves the barrier out of the level; `barrier_quick_look` says what it might take away.",
            resolve="Method `octave` counts it.",
            field="/barrier",
            references=("kurze_anderson",),
        )
    return SoundResults(
        receivers=tuple(at_receiver(given, index, receiver, notes) for index, receiver in enumerate(given.receivers)),
        exposure=exposure(given, notes),
    )


def _refuse_what_is_missing(given: SoundGiven) -> None:
    errors = repeated_ids(given.sources, "/sources") + repeated_ids(given.receivers, "/receivers")
    name = "sound_power_level" if given.method == "simple" else "octave_levels"
    errors += [
        field_error(f"/sources/{index}/{name}", f"Method `{given.method}` needs it.", code="missing")
        for index, source in enumerate(given.sources)
        if getattr(source, name) is UNSET
    ]
    if given.barrier is not UNSET and math.dist(given.barrier.point_1.xy, given.barrier.point_2.xy) < 0.01:
        errors.append(field_error("/barrier/point_2", "The two ends of the barrier are one point."))
    if errors:
        raise Refused(errors)
    if given.method == "octave":
        require(given, ("ground_factor", "air"), "with method `octave`")
