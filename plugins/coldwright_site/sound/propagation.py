"""Sound of one source at one place: direct, and from the image behind a wall."""

import math
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import refuse
from coldwright_site.sound import barrier, octave
from coldwright_site.sound.given import ReceiverGiven, SoundGiven, SoundSourceGiven
from coldwright_site.sound.levels import energy_sum

NEAREST = 0.1
"""m; nearer, source and receiver count as one place."""


class Heard(NamedTuple):
    """One source at one place, its image included."""

    source: SoundSourceGiven
    level: float
    bands: tuple[float, ...]
    top: tuple[float, ...]
    quick: tuple[float, ...]


def hear(given: SoundGiven, source: SoundSourceGiven, receiver: ReceiverGiven, pointer: str) -> Heard:
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


def _image(source: tuple[float, float, float], receiver: tuple[float, float, float], behind: float) -> barrier.Place:
    """The image source: as far behind the wall as the source is before it, seen from the receiver."""
    plan = math.dist(source[:2], receiver[:2])
    away = ((source[0] - receiver[0]) / plan, (source[1] - receiver[1]) / plan) if plan > 0 else (1.0, 0.0)
    return source[0] + 2 * behind * away[0], source[1] + 2 * behind * away[1], source[2]


def _from(
    given: SoundGiven, source: SoundSourceGiven, place: barrier.Place, receiver: ReceiverGiven, pointer: str
) -> Heard:
    screen = barrier.Screen(False)
    if given.barrier is not UNSET:
        screen = barrier.screen(given.barrier, place, receiver.xyz, pointer)
    if given.method == "simple" or given.air is UNSET or given.ground_factor is UNSET:
        power = 0.0 if source.sound_power_level is UNSET else source.sound_power_level.value
        level = power - 20 * math.log10(math.dist(place, receiver.xyz)) - 10.99
        level += 10 * math.log10(source.directivity_factor)
        quick: tuple[float, ...] = ()
        if screen.top is not None:
            quick = tuple(barrier.quick_look(screen.top, f) for f in octave.FREQUENCIES)
        return Heard(source, level, (), (), quick)
    terms = octave.attenuate(place, receiver.xyz, octave.absorption(given.air), given.ground_factor, screen)
    powers = () if source.octave_levels is UNSET else source.octave_levels
    bands = tuple(
        power - terms.spreading - air - ground - barrier + weight
        for power, air, ground, barrier, weight in zip(
            powers, terms.air, terms.ground, terms.barrier, octave.A_WEIGHTS, strict=True
        )
    )
    return Heard(source, energy_sum(bands), bands, terms.barrier_top, ())
