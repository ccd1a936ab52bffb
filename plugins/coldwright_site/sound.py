"""Sound of machines at places nearby, and a worker's dose."""

import math
from typing import Annotated, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Example,
    Load,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    refuse,
    tidy,
)
from coldwright.contract.quantities import Duration, Length, SoundLevel
from coldwright_site import cautions, sound_barrier, sound_exposure, sound_octave, tabulated
from coldwright_site.levels import energy_sum, shared
from coldwright_site.references import (
    ACOUSTICS,
    EPA_LDN,
    ISO_9613_2,
    KURZE_ANDERSON,
    NIOSH_98_126,
    OSHA_1910_95,
    PRACTICE,
    TR_17534_3,
)
from coldwright_site.shapes import note_ignored, refuse_repeated_ids, require
from coldwright_site.sound_given import ReceiverGiven, SoundGiven, SoundSourceGiven

BandLevel = Annotated[float, about("Of one octave band, 63 to 8000 Hz.")]
NEAREST = 0.1
"""m; nearer, source and receiver count as one place."""


class SoundFromSource(Results, frozen=True, kw_only=True):
    """What one source brings."""

    id: Annotated[str, about("Name of the source.")]
    level: Annotated[SoundLevel, about("Its level here.")]
    barrier_top_dz: (
        Annotated[
            tuple[BandLevel, ...], about("Taken away over the barrier's top, by band, before the ground is counted.")
        ]
        | UnsetType
    ) = UNSET


class SoundAtReceiver(Results, frozen=True, kw_only=True):
    """The sound at one place."""

    id: Annotated[str, about("Name of the place.")]
    level: Annotated[SoundLevel, about("All sources running.")] | UnsetType = UNSET
    by_source: Annotated[tuple[SoundFromSource, ...], about("What each source brings, in the order given.")] = ()
    by_band: Annotated[tuple[BandLevel, ...], about("A-weighted level of each band; none with `simple`.")] = ()
    barrier_top_dz: Annotated[
        tuple[BandLevel, ...], about("Of the loudest source here; none without a barrier between.")
    ] = ()
    barrier_quick_look: Annotated[
        tuple[BandLevel, ...], about("With `simple`: what a thin screen would take away by band; not in `level`.")
    ] = ()
    margin_day: Annotated[SoundLevel, about("Limit by day less the level.")] | UnsetType = UNSET
    margin_night: Annotated[SoundLevel, about("Limit by night less the level.")] | UnsetType = UNSET
    ldn: Annotated[SoundLevel, about("Day-night level.")] | UnsetType = UNSET
    measured_source_level: (
        Annotated[SoundLevel, about("Measured level with the background taken away.")] | UnsetType
    ) = UNSET
    distance_for_limit: (
        Annotated[Length, about("With `simple`: distance at which the stricter limit is just met.")] | UnsetType
    ) = UNSET


class ExposureResults(Results, frozen=True, kw_only=True):
    """The worker's day."""

    dose: Annotated[float, about("1 is the limit.")]
    twa: Annotated[SoundLevel, about("Time-weighted average of eight hours; none without a dose.")] | UnsetType = UNSET
    allowed_time: Annotated[tuple[Duration, ...], about("Allowed in a day at the level of each stay.")]


class SoundResults(Results, frozen=True, kw_only=True):
    """Levels at places and the worker's day."""

    receivers: Annotated[tuple[SoundAtReceiver, ...], about("In the order given.")] = ()
    exposure: Annotated[ExposureResults, about("The worker's day.")] | UnsetType = UNSET


class _Heard(NamedTuple):
    """One source at one place, its image included."""

    source: SoundSourceGiven
    level: float
    bands: tuple[float, ...]
    top: tuple[float, ...]
    quick: tuple[float, ...]


def _metre(value: float) -> dict[str, object]:
    return {"value": value, "unit": "m"}


NEIGHBOUR = Example(
    "neighbour",
    "Two machines in a yard, a bedroom window beyond a plank screen, by octave band. Invented.",
    {
        "method": "octave",
        "sources": [
            {
                "id": name,
                "x": _metre(x),
                "y": _metre(0),
                "z": _metre(2),
                "octave_levels": [96, 97, 95, 93, 90, 86, 80, 74],
                "on_time": {"night": 0.5},
            }
            for name, x in (("north", 0), ("south", 6))
        ],
        "receivers": [
            {
                "id": "window",
                "x": _metre(4),
                "y": _metre(85),
                "z": _metre(4.5),
                "limit_day": {"value": 55, "unit": "dBA"},
                "limit_night": {"value": 45, "unit": "dBA"},
            }
        ],
        "ground_factor": {"source": 0, "middle": 0.5, "receiver": 0.7},
        "air": {"temperature": {"value": 20, "unit": "degC"}, "humidity": 0.7},
        "barrier": {
            "edge_height": _metre(3.5),
            "point_1": {"x": _metre(-8), "y": _metre(5)},
            "point_2": {"x": _metre(14), "y": _metre(5)},
        },
    },
)
WORKER = Example(
    "worker",
    "A fitter's day beside running machines, and the level at a fence. Invented.",
    {
        "method": "simple",
        "sources": [
            {
                "id": "machine",
                "x": _metre(0),
                "y": _metre(0),
                "z": _metre(1.5),
                "sound_power_level": {"value": 97, "unit": "dBA"},
            }
        ],
        "receivers": [
            {
                "id": "fence",
                "x": _metre(30),
                "y": _metre(0),
                "z": _metre(1.5),
                "limit_day": {"value": 65, "unit": "dBA"},
            }
        ],
        "exposure": [
            {"level": {"value": 88, "unit": "dBA"}, "duration": {"value": 2, "unit": "h"}},
            {"level": {"value": 78, "unit": "dBA"}, "duration": {"value": 6, "unit": "h"}},
        ],
    },
)


@calculator(
    "site.sound",
    version="1.0.0",
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
    findings=(
        finding("field_of_another_method", "note", "fields of the other method were given and not used"),
        finding("over_limit", "stop", "the level is above the limit"),
        finding("limit_close", "check", "the level is less than 3 dB below the limit"),
        finding("near_field", "check", "a receiver is nearer than twice the machine's largest side"),
        finding("background_close", "check", "the measured level is less than 3 dB above the background"),
        finding("barrier_not_counted", "note", "the simple method doesn't count the barrier in the level"),
        finding("above_115", "stop", "a stay is louder than 115 dBA"),
        finding("osha_dose", "stop", "the day's dose is above the permitted one"),
        finding("hearing_conservation", "check", "the day's dose is at least half the permitted one"),
        finding("niosh_dose", "note", "the day's dose is above the recommended one"),
    ),
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
        receivers=tuple(_at(given, index, receiver, notes) for index, receiver in enumerate(given.receivers)),
        exposure=_exposure(given, notes),
    )


def _refuse_what_is_missing(given: SoundGiven) -> None:
    errors = refuse_repeated_ids(given.sources, "/sources") + refuse_repeated_ids(given.receivers, "/receivers")
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


def _at(given: SoundGiven, index: int, receiver: ReceiverGiven, notes: Notes) -> SoundAtReceiver:
    heard = [_hear(given, source, receiver, f"/receivers/{index}") for source in given.sources]
    _judge_nearness(given, receiver, index, notes)
    measured = _without_background(receiver, index, notes)
    if not heard:
        return SoundAtReceiver(id=receiver.id, measured_source_level=measured)
    loudest = max(heard, key=lambda h: h.level)
    level = energy_sum(h.level for h in heard)
    _show(given, receiver, heard, loudest, notes)
    notes.show(f"L_{receiver.id}", f"level at {receiver.id}", "10 log10 sum 10^(L_i/10)", level, "dBA")
    day = energy_sum(shared(h.level, h.source.on_time.day) for h in heard)
    night = energy_sum(shared(h.level, h.source.on_time.night) for h in heard)
    return SoundAtReceiver(
        id=receiver.id,
        level=SoundLevel.of(level, "dBA"),
        by_source=tuple(
            SoundFromSource(
                id=h.source.id,
                level=SoundLevel.of(h.level, "dBA"),
                barrier_top_dz=h.top if given.method == "octave" and given.barrier is not UNSET else UNSET,
            )
            for h in heard
        ),
        by_band=tuple(energy_sum(bands) for bands in zip(*(h.bands for h in heard), strict=True)),
        barrier_top_dz=loudest.top,
        barrier_quick_look=loudest.quick,
        margin_day=_margin(receiver.limit_day, day, "day", receiver.id, index, notes),
        margin_night=_margin(receiver.limit_night, night, "night", receiver.id, index, notes),
        ldn=_day_night(day, night, receiver.id, notes),
        measured_source_level=measured,
        distance_for_limit=_distance(given, receiver, notes),
    )


def _hear(given: SoundGiven, source: SoundSourceGiven, receiver: ReceiverGiven, pointer: str) -> _Heard:
    """Direct sound and, with a wall behind the source, its image."""
    place = source.xyz
    if math.dist(place, receiver.xyz) < NEAREST:
        raise refuse(pointer, f"The receiver {receiver.id} is in the same place as the source {source.id}.")
    direct = _from(given, source, place, receiver, pointer)
    if source.reflector is UNSET or source.reflector.reflection == 0:
        return direct
    image = _from(given, source, _image(place, receiver.xyz, source.reflector.distance.si), receiver, pointer)
    back = 10 * math.log10(source.reflector.reflection)
    return direct._replace(
        level=energy_sum((direct.level, image.level + back)),
        bands=tuple(energy_sum((d, i + back)) for d, i in zip(direct.bands, image.bands, strict=True)),
    )


def _image(
    source: tuple[float, float, float], receiver: tuple[float, float, float], behind: float
) -> sound_barrier.Place:
    """The image source: as far behind the wall as the source is before it, seen from the receiver."""
    plan = math.dist(source[:2], receiver[:2])
    away = ((source[0] - receiver[0]) / plan, (source[1] - receiver[1]) / plan) if plan > 0 else (1.0, 0.0)
    return source[0] + 2 * behind * away[0], source[1] + 2 * behind * away[1], source[2]


def _from(
    given: SoundGiven, source: SoundSourceGiven, place: sound_barrier.Place, receiver: ReceiverGiven, pointer: str
) -> _Heard:
    screen = sound_barrier.Screen(False)
    if given.barrier is not UNSET:
        screen = sound_barrier.screen(given.barrier, place, receiver.xyz, pointer)
    if given.method == "simple" or given.air is UNSET or given.ground_factor is UNSET:
        power = 0.0 if source.sound_power_level is UNSET else source.sound_power_level.value
        level = power - 20 * math.log10(math.dist(place, receiver.xyz)) - 10.99
        level += 10 * math.log10(source.directivity_factor)
        quick: tuple[float, ...] = ()
        if screen.top is not None:
            quick = tuple(sound_barrier.quick_look(screen.top, f) for f in sound_octave.FREQUENCIES)
        return _Heard(source, level, (), (), quick)
    terms = sound_octave.attenuate(place, receiver.xyz, sound_octave.absorption(given.air), given.ground_factor, screen)
    powers = () if source.octave_levels is UNSET else source.octave_levels
    bands = tuple(
        power - terms.spreading - air - ground - barrier + weight
        for power, air, ground, barrier, weight in zip(
            powers, terms.air, terms.ground, terms.barrier, sound_octave.A_WEIGHTS, strict=True
        )
    )
    return _Heard(source, energy_sum(bands), bands, terms.barrier_top, ())


def _show(given: SoundGiven, receiver: ReceiverGiven, heard: list[_Heard], loudest: _Heard, notes: Notes) -> None:
    """Level of every source; every band term of the loudest, without its image."""
    for h in heard:
        distance = math.dist(h.source.xyz, receiver.xyz)
        if given.method == "simple" and h.source.sound_power_level is not UNSET:
            expression = (
                f"{h.source.sound_power_level.value:g} - 20 log10 {distance:.5g} - 10.99 + "
                f"10 log10 {h.source.directivity_factor:g}"
            )
        else:
            expression = f"10 log10 sum 10^(L_band/10), d = {distance:.5g} m"
        notes.show(f"L_{h.source.id}_{receiver.id}", f"{h.source.id} at {receiver.id}", expression, h.level, "dBA")
    source = loudest.source
    if given.method == "simple" or given.air is UNSET or given.ground_factor is UNSET or source.octave_levels is UNSET:
        return
    screen = sound_barrier.Screen(False)
    if given.barrier is not UNSET:
        screen = sound_barrier.screen(given.barrier, source.xyz, receiver.xyz, "/receivers")
    if screen.top is not None:
        notes.show("z", "detour over the top", "d_ss + e + d_sr - d", screen.top.longer, "m")
        notes.show("K_met", "weather factor", "exp(-sqrt(d_ss d_sr d / (2 z)) / 2000)", screen.top.weather_factor)
    terms = sound_octave.attenuate(
        source.xyz, receiver.xyz, sound_octave.absorption(given.air), given.ground_factor, screen
    )
    notes.show("A_div", "spreading", f"20 log10 {math.dist(source.xyz, receiver.xyz):.5g} + 11", terms.spreading, "dB")
    for band, hertz in enumerate(sound_octave.FREQUENCIES):
        notes.show(
            f"L_{hertz:g}",
            f"{source.id} at {receiver.id}, {hertz:g} Hz, A-weighted, direct",
            f"Lw {source.octave_levels[band]:g} - A_div {terms.spreading:.2f} - A_atm {terms.air[band]:.3f} - "
            f"A_gr {terms.ground[band]:.3f} - A_bar {terms.barrier[band]:.3f} + A {sound_octave.A_WEIGHTS[band]:g}",
            source.octave_levels[band]
            - terms.spreading
            - terms.air[band]
            - terms.ground[band]
            - terms.barrier[band]
            + sound_octave.A_WEIGHTS[band],
            "dBA",
        )


def _margin(
    limit: SoundLevel | UnsetType, level: float, when: str, name: str, index: int, notes: Notes
) -> SoundLevel | UnsetType:
    if limit is UNSET or level == -math.inf:
        return UNSET
    margin = tidy(limit.value - level)
    field = f"/receivers/{index}/limit_{when}"
    if margin < 0:
        notes.stop(
            "over_limit",
            f"{name} by {when}: {level:.1f} dBA, {-margin:.1f} dB above the limit of {limit.value:g} dBA.",
            why="The site's permit or the neighbours' rule is broken.",
            resolve=f"{-margin:.1f} dB less: more distance, a screen, quieter fans at night, shorter running.",
            field=field,
            references=("site_practice",),
        )
    elif margin < 3:
        notes.check(
            "limit_close",
            f"{name} by {when}: {level:.1f} dBA, only {margin:.1f} dB below the limit of {limit.value:g} dBA.",
            why="The method itself may be wrong by 3 dB.",
            resolve="Measure, or win 3 dB by distance or a screen.",
            field=field,
            references=("iso_9613_2",),
        )
    return SoundLevel.of(margin, "dB")


def _day_night(day: float, night: float, name: str, notes: Notes) -> SoundLevel | UnsetType:
    level = energy_sum((shared(day, 15 / 24), shared(night + 10, 9 / 24)))
    if level == -math.inf:
        return UNSET
    notes.show(
        f"Ldn_{name}",
        f"day-night level at {name}",
        f"10 log10[(15 x 10^({day:.2f}/10) + 9 x 10^(({night:.2f} + 10)/10)) / 24]",
        level,
        "dBA",
    )
    return SoundLevel.of(level, "dBA")


def _without_background(receiver: ReceiverGiven, index: int, notes: Notes) -> SoundLevel | UnsetType:
    if receiver.measured_level is UNSET or receiver.background is UNSET:
        return UNSET
    above = tidy(receiver.measured_level.value - receiver.background.value)
    if above < 3:
        notes.check(
            "background_close",
            f"{receiver.id}: the measured level is {above:.1f} dB above the background.",
            why="Below 3 dB the source's own share cannot be told apart.",
            resolve="Measure when it is quieter.",
            field=f"/receivers/{index}/background",
            references=("site_practice",),
        )
    if above < 0.01:  # nothing is left of the source
        return UNSET
    own = 10 * math.log10(10 ** (receiver.measured_level.value / 10) - 10 ** (receiver.background.value / 10))
    return SoundLevel.of(own, "dBA")


def _distance(given: SoundGiven, receiver: ReceiverGiven, notes: Notes) -> Length | UnsetType:
    limits = [q.value for q in (receiver.limit_day, receiver.limit_night) if q is not UNSET]
    if given.method != "simple" or not limits:
        return UNSET
    together = energy_sum(
        s.sound_power_level.value + 10 * math.log10(s.directivity_factor)
        for s in given.sources
        if s.sound_power_level is not UNSET
    )
    distance = 10 ** ((together - 11 - min(limits)) / 20)
    notes.show(
        f"r_{receiver.id}",
        "distance for the stricter limit, all sources in one spot",
        f"10^(({together:.2f} - 11 - {min(limits):g}) / 20)",
        distance,
        "m",
    )
    return Length.from_si(distance, "m")


def _judge_nearness(given: SoundGiven, receiver: ReceiverGiven, index: int, notes: Notes) -> None:
    for source in given.sources:
        distance = math.dist(source.xyz, receiver.xyz)
        if source.largest_side is not UNSET and distance < 2 * source.largest_side.si:
            notes.check(
                "near_field",
                f"{receiver.id} is {distance:.1f} m from {source.id}, nearer than twice its largest side of "
                f"{source.largest_side.si:g} m.",
                why="So near, a machine is not a point; the level may be several dB off.",
                resolve="Measure there.",
                field=f"/receivers/{index}",
                references=("iso_9613_2",),
            )


def _exposure(given: SoundGiven, notes: Notes) -> ExposureResults | UnsetType:
    if not given.exposure:
        return UNSET
    hours = math.fsum(stay.duration.to("h") for stay in given.exposure)
    if hours > 24 * (1 + 1e-9):
        raise refuse("/exposure", f"The stays come to {hours:.4g} h.", why="a day has 24 h")
    dose, average, allowed = sound_exposure.day(given.exposure, given.rule, notes)
    return ExposureResults(
        dose=dose,
        twa=UNSET if average is None else SoundLevel.of(average, "dBA"),
        allowed_time=tuple(Duration.of(a, "h") for a in allowed),
    )
