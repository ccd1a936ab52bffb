"""The air of a room at the pressure outside: what machines heat leaves, and as much comes in. SI.

The heat content p V cp / R of such a room does not change with its temperature T, so what leaves carries off all heat:
V (p / R) dy/dt = (F p / R - Q / cp) / T_out - F (p / R) y with y = 1 / T, as long as air comes in.
"""

import math

from coldwright_refrigeration.load.loop import AIR_HEAT

GAS_CONSTANT = 287.042
"""Of dry air, J/kg.K."""


def density(temperature: float, pressure: float) -> float:
    """Of dry air, kg/m3."""
    return pressure / (GAS_CONSTANT * temperature)


def flow_needed(heat: float, outdoor: float, room: float, pressure: float) -> float:
    """Air out of the room, m3/s at the room's temperature, that carries the heat."""
    return heat / (density(room, pressure) * AIR_HEAT * (room - outdoor))


def settles_at(heat: float, outdoor: float, flow: float, pressure: float) -> float | None:
    """Where the room settles, K; None where the flow is too small for any temperature to carry the heat off."""
    share = _share(heat, flow, pressure)
    return None if share >= 1.0 else outdoor / (1.0 - share)


def time_to(limit: float, heat: float, outdoor: float, flow: float, volume: float, pressure: float) -> float | None:
    """From outdoor air to the limit, s; None where it is never reached."""
    share = _share(heat, flow, pressure)
    if share >= 1.0:  # no air comes in: what expands leaks out
        return volume * pressure * AIR_HEAT / (GAS_CONSTANT * heat) * math.log(limit / outdoor)
    last = (1.0 - share) / outdoor
    left = 1.0 / limit - last
    return None if left <= 0.0 else volume / flow * math.log((1.0 / outdoor - last) / left)


def _share(heat: float, flow: float, pressure: float) -> float:
    """Q over F p cp / R: above 1 the flow is less than what the heat drives out."""
    carried = flow * pressure * AIR_HEAT / GAS_CONSTANT
    return math.inf if carried <= 0.0 else heat / carried
