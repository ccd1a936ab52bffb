"""Crane mat below one foot: the length that bears, and the bending and shear that it asks for (Duerr)."""

import math
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright_site.ground.given import MatGiven


class MatBearing(NamedTuple):
    """The mat at its effective length; SI units."""

    required_length: float
    length: float
    cantilever: float
    moment: float
    bending_stress: float
    shear: float
    shear_stress: float
    pressure: float


def bear(load: float, mat_weight: float, foot: float, mat: MatGiven, allowable: float) -> MatBearing:
    """Mat below a foot of length `foot`: as long as the ground asks for, but no longer than wood or steel can."""
    width, depth = mat.width.si, mat.thickness.si
    required = (load + mat_weight) / allowable / width
    length = min(required, _longest(load, foot, mat))
    cantilever = max(0.0, (length - foot) / 2)
    pressure_up = load / (length * width)
    moment = pressure_up * width * cantilever**2 / 2
    arm = cantilever - depth if mat.material == "timber" else cantilever
    shear = max(0.0, pressure_up * width * arm)
    return MatBearing(
        required,
        length,
        cantilever,
        moment,
        6 * moment / (width * depth**2),
        shear,
        1.5 * shear / (width * depth),
        (load + mat_weight) / (length * width),
    )


def _longest(load: float, foot: float, mat: MatGiven) -> float:
    """The longest length that the mat has, and that its bending and shear allow to count."""
    width, depth = mat.width.si, mat.thickness.si
    longest = math.inf if mat.length is UNSET else mat.length.si
    if mat.bending_allowable is not UNSET:  # P (L - C)^2 / (8 L) = M
        reach = 8 * mat.bending_allowable.si * width * depth**2 / 6 / load
        longest = min(longest, foot + reach / 2 + math.sqrt(reach * foot + reach**2 / 4))
    if mat.shear_allowable is not UNSET:  # P/L ((L - C)/2 - d) = V
        shear = mat.shear_allowable.si * width * depth / 1.5
        if shear < load / 2:
            near = depth if mat.material == "timber" else 0.0
            longest = min(longest, (foot + 2 * near) / (1 - 2 * shear / load))
    return longest


def show(bearing: MatBearing, load: float, mat_weight: float, foot: float, mat: MatGiven, notes: Notes) -> None:
    """Duerr's equations with their numbers."""
    width, depth, length = mat.width.si, mat.thickness.si, bearing.length
    kilo = load / 1000
    notes.show(
        "L_req",
        "Length that the ground asks for",
        f"(P + W) / (q_a B) = ({kilo:.5g} + {mat_weight / 1000:.5g}) kN / (q_a x {width:.4g} m)",
        bearing.required_length,
        "m",
    )
    notes.show("L_eff", "Effective length", "least of L_req, the mat, and what its strength allows", length, "m")
    notes.show("L_c", "Cantilever", f"max(0, {length:.5g} - {foot:.5g}) / 2", bearing.cantilever, "m")
    notes.show(
        "M", "Bending", f"P/L_eff L_c^2 / 2 = {kilo:.5g} / {length:.5g} x {bearing.cantilever:.5g}^2 / 2",
        bearing.moment / 1000, "kN.m",
    )  # fmt: skip
    notes.show(
        "f_b", "Bending stress", f"6 M / (B d^2), B {width:.4g} m, d {depth:.4g} m", bearing.bending_stress / 1e6, "MPa"
    )
    notes.show(
        "V",
        "Shear",
        "P/L_eff (L_c - d), not below 0" if mat.material == "timber" else "P/L_eff L_c",
        bearing.shear / 1000,
        "kN",
    )
    notes.show("f_v", "Shear stress", "1.5 V / (B d)", bearing.shear_stress / 1e6, "MPa")
