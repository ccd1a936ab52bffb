"""Level at a place from all sources, its margins, and what was measured there."""

import math

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say, tidy
from coldwright.contract.quantities import Length, SoundLevel
from coldwright_site.sound import barrier, octave
from coldwright_site.sound.findings import judge_nearness, margin
from coldwright_site.sound.given import ReceiverGiven, SoundGiven
from coldwright_site.sound.levels import energy_sum, shared
from coldwright_site.sound.propagation import Heard, hear
from coldwright_site.sound.results import SoundAtReceiver, SoundFromSource


def at_receiver(given: SoundGiven, index: int, receiver: ReceiverGiven, notes: Notes) -> SoundAtReceiver:
    """All that is answered for one place."""
    heard = [hear(given, source, receiver, f"/receivers/{index}") for source in given.sources]
    judge_nearness(given, receiver, index, notes)
    measured = _without_background(receiver, index, notes)
    if not heard:
        return SoundAtReceiver(id=receiver.id, measured_source_level=measured)
    loudest = max(heard, key=lambda h: h.level)
    level = energy_sum(h.level for h in heard)
    _show(given, receiver, heard, loudest, notes)
    notes.show(f"L_{receiver.id}", f"Level at {receiver.id}", "10 log10 sum 10^(L_i/10)", level, "dBA")
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
        margin_day=margin(receiver.limit_day, day, "day", receiver.id, index, notes),
        margin_night=margin(receiver.limit_night, night, "night", receiver.id, index, notes),
        ldn=_day_night(day, night, receiver.id, notes),
        measured_source_level=measured,
        distance_for_limit=_distance(given, receiver, notes),
    )


def _show(given: SoundGiven, receiver: ReceiverGiven, heard: list[Heard], loudest: Heard, notes: Notes) -> None:
    """Level of every source; every band term of the loudest, without its image."""
    for h in heard:
        distance = math.dist(h.source.xyz, receiver.xyz)
        if given.method == "simple" and h.source.sound_power_level is not UNSET:
            expression = (
                f"{h.source.sound_power_level.value:g} - 20 log10 {distance:.5g} - 10.99 + "
                f"10 log10 {h.source.directivity_factor:g}"
            )
            if h.source.reflector is not UNSET:
                expression += ", and its image behind the wall is added"
        else:
            expression = f"10 log10 sum 10^(L_band/10), d = {distance:.5g} m"
        notes.show(f"L_{h.source.id}_{receiver.id}", f"{h.source.id} at {receiver.id}", expression, h.level, "dBA")
    source = loudest.source
    if given.method == "simple" or given.air is UNSET or given.ground_factor is UNSET or source.octave_levels is UNSET:
        return
    screen = barrier.Screen(False)
    if given.barrier is not UNSET:
        screen = barrier.screen(given.barrier, source.xyz, receiver.xyz, "/receivers")
    if screen.top is not None:
        notes.show("z", "Detour over the top", "d_ss + e + d_sr - d", screen.top.longer, "m")
        notes.show("K_met", "Weather factor", "exp(-sqrt(d_ss d_sr d / (2 z)) / 2000)", screen.top.weather_factor)
    terms = octave.attenuate(source.xyz, receiver.xyz, octave.absorption(given.air), given.ground_factor, screen)
    notes.show("A_div", "Spreading", f"20 log10 {math.dist(source.xyz, receiver.xyz):.5g} + 11", terms.spreading, "dB")
    for band, hertz in enumerate(octave.FREQUENCIES):
        notes.show(
            f"L_{hertz:g}",
            f"{source.id} at {receiver.id}, {hertz:g} Hz, A-weighted, direct",
            f"Lw {source.octave_levels[band]:g} - A_div {terms.spreading:.2f} - A_atm {terms.air[band]:.3f} - "
            f"A_gr ({terms.ground[band]:.3f}) - A_bar {terms.barrier[band]:.3f} + A_f ({octave.A_WEIGHTS[band]:g})",
            source.octave_levels[band]
            - terms.spreading
            - terms.air[band]
            - terms.ground[band]
            - terms.barrier[band]
            + octave.A_WEIGHTS[band],
            "dBA",
        )


def _day_night(day: float, night: float, name: str, notes: Notes) -> SoundLevel | UnsetType:
    level = energy_sum((shared(day, 15 / 24), shared(night + 10, 9 / 24)))
    if level == -math.inf:
        return UNSET
    notes.show(
        f"Ldn_{name}",
        f"Day-night level at {name}",
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
            say(
                "{id}: the measured level is {above:.1f} above the background.",
                id=receiver.id,
                above=SoundLevel.of(above, "dB"),
            ),
            why="Below 3 dB the source cannot be distinguished from the background.",
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
        "Distance for the stricter limit, all sources in one spot",
        f"10^(({together:.2f} - 11 - {min(limits):g}) / 20)",
        distance,
        "m",
    )
    return Length.from_si(distance, "m")
