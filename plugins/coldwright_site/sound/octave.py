"""Attenuation between a source and a place by octave band: ISO 9613-2:1996."""

import math
from typing import NamedTuple

from coldwright.contract import Allowed, refuse
from coldwright_basis.compare import same
from coldwright_site.shared import tabulated
from coldwright_site.sound.barrier import Place, Screen
from coldwright_site.sound.given import AirGiven, GroundFactorGiven
from coldwright_site.sound.levels import energy_sum

FREQUENCIES = tuple(float(row[0]) for row in tabulated.A_WEIGHTING.rows)
A_WEIGHTS = tuple(float(row[1]) for row in tabulated.A_WEIGHTING.rows)


class Attenuation(NamedTuple):
    """Terms of the eight bands (dB)."""

    spreading: float
    air: tuple[float, ...]
    ground: tuple[float, ...]
    barrier: tuple[float, ...]
    barrier_top: tuple[float, ...]


def absorption(air: AirGiven) -> tuple[float, ...]:
    """dB/km by band, for the six pairs of Table 2 and no other air."""
    for celsius, humidity, row in tabulated.AIR_ABSORPTION.rows:
        if same(air.temperature.to("degC"), celsius) and same(air.humidity, humidity):
            return tuple(row)
    pairs = tuple(f"{celsius} degC {humidity}" for celsius, humidity, _ in tabulated.AIR_ABSORPTION.rows)
    raise refuse(
        "/air",
        f"Absorption is tabulated for six kinds of air: {', '.join(pairs)}.",
        value=f"{air.temperature} {air.humidity:g}",
        allowed=Allowed(one_of=pairs),
        why="Other air needs ISO 9613-1, which is not part of this method.",
    )


def attenuate(
    source: Place, receiver: Place, per_km: tuple[float, ...], ground: GroundFactorGiven, screen: Screen
) -> Attenuation:
    """All terms of equation 4 but the weights."""
    distance = math.dist(source, receiver)
    air = tuple(alpha * distance / 1000 for alpha in per_km)
    soil = ground_effect(source, receiver, ground)
    if screen.top is None:
        zero = (0.0,) * len(FREQUENCIES)
        return Attenuation(20 * math.log10(distance) + 11, air, soil, zero, zero if screen.crosses else ())
    top = tuple(screen.top.attenuation(f) for f in FREQUENCIES)
    barrier = tuple(
        -energy_sum([-max(0.0, dz - agr), *(-side.attenuation(f) for side in screen.sides)])
        for f, dz, agr in zip(FREQUENCIES, top, soil, strict=True)
    )
    return Attenuation(20 * math.log10(distance) + 11, air, soil, barrier, top)


def ground_effect(source: Place, receiver: Place, factor: GroundFactorGiven) -> tuple[float, ...]:
    """A_gr = A_s + A_r + A_m by band: Table 3."""
    plan = math.dist(source[:2], receiver[:2])
    heights = source[2] + receiver[2]
    apart = 0.0 if plan <= 30 * heights else 1 - 30 * heights / plan
    near_source = _near(source[2], plan, factor.source)
    near_receiver = _near(receiver[2], plan, factor.receiver)
    middle = [-3 * apart] + [-3 * apart * (1 - factor.middle)] * 7
    return tuple(s + r + m for s, r, m in zip(near_source, near_receiver, middle, strict=True))


def _near(height: float, plan: float, soft: float) -> list[float]:
    far = 1 - math.exp(-plan / 50)
    square = height**2
    a = 1.5 + 3.0 * math.exp(-0.12 * (height - 5) ** 2) * far
    a += 5.7 * math.exp(-0.09 * square) * (1 - math.exp(-2.8e-6 * plan**2))
    b = 1.5 + 8.6 * math.exp(-0.09 * square) * far
    c = 1.5 + 14.0 * math.exp(-0.46 * square) * far
    d = 1.5 + 5.0 * math.exp(-0.9 * square) * far
    return [-1.5, *(-1.5 + soft * x for x in (a, b, c, d)), *[-1.5 * (1 - soft)] * 3]
