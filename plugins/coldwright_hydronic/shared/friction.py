"""Friction in full round lines: Darcy and Weisbach with 64/Re or Colebrook."""

from collections.abc import Callable
from functools import cache
from math import pi

LAMINAR_BELOW = 2040.0
"""Reynolds number up to which the flow is taken as laminar."""

TURBULENT_ABOVE = 4000.0
"""Between the two the flow may be either: +-30 %."""

LARGEST_RELATIVE_ROUGHNESS = 0.05

LINE_ROUGHNESS = {"steel": 4.6e-5, "copper": 1.5e-6, "plastic": 1.5e-6, "rubber_hose": 5e-5, "lay_flat_hose": 5e-5}
"""m. Steel: Crane TP-410 Ex. 7.14 (seen); copper and plastic: Moody's drawn tubing (seen); hose: common practice, no
source. Corrugated hose has no default."""


def velocity(flow: float, diameter: float) -> float:
    """Mean velocity of `flow` in one full bore."""
    return flow / (0.25 * pi * diameter * diameter)


def reynolds(speed: float, diameter: float, density: float, viscosity: float) -> float:
    """Reynolds number."""
    return density * speed * diameter / viscosity


def friction_factor(re: float, relative_roughness: float) -> float:
    """Darcy friction factor: 64/Re below Re 2040, else Colebrook (exact solution, library fluids)."""
    return colebrook_or_laminar()(re, relative_roughness)


@cache
def colebrook_or_laminar() -> Callable[[float, float], float]:
    """The library's function itself, for loops that call it often; imported at first use."""
    from fluids.friction import friction_factor as of_library

    function: Callable[[float, float], float] = of_library
    return function


def line_drop(flow: float, diameter: float, length: float, roughness: float, density: float, viscosity: float) -> float:
    """Pressure drop of `flow` through one line, all SI; 0 at no flow."""
    speed = velocity(flow, diameter)
    re = reynolds(speed, diameter, density, viscosity)
    if re < LAMINAR_BELOW:
        return 32.0 * viscosity * length * speed / (diameter * diameter)  # 64/Re, without its pole at rest
    return friction_factor(re, roughness / diameter) * (length / diameter) * 0.5 * density * speed * speed
