"""Inputs of a surge that contradict one another, or lie outside the method."""

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error, refuse, tidy
from coldwright_basis.compare import above
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.law import Event


def refuse_segments(given: SurgeGiven) -> None:
    """Each segment needs its wall in exactly one way, and the bore where the sum uses it."""
    errors: list[FieldError] = []
    for i, s in enumerate(given.segments):
        pairs = (
            ("wall_thickness", "elastic_modulus"),
            ("volumetric_expansion_fraction", "volumetric_expansion_pressure"),
            ("wave_speed",),
        )
        given_here = [p for p in pairs if any(getattr(s, n) is not UNSET for n in p)]
        if len(given_here) != 1:
            text = (
                "Give exactly one: wall_thickness with elastic_modulus, volumetric_expansion_fraction with its pressure, "
                "or wave_speed."
            )
            errors.append(field_error(f"/segments/{i}", text, code="refused" if given_here else "missing"))
            continue
        for name in given_here[0]:
            if getattr(s, name) is UNSET:
                text = f"{name} is needed beside {' and '.join(n for n in given_here[0] if n != name)}."
                errors.append(field_error(f"/segments/{i}/{name}", text, code="missing"))
        bore_needed = given_here[0] == pairs[0] or given.flow is not UNSET or len(given.segments) > 1
        if bore_needed and s.inner_diameter is UNSET:
            errors.append(field_error(f"/segments/{i}/inner_diameter", "The bore is needed here.", code="missing"))
    if (given.velocity is UNSET) == (given.flow is UNSET):
        text = "Give exactly one of velocity and flow."
        errors.append(field_error("/velocity", text, code="missing" if given.flow is UNSET else "refused"))
    if given.free_gas_fraction > 0 and given.static_pressure is UNSET:
        text = "Free gas needs the static pressure: its stiffness is its absolute pressure."
        errors.append(field_error("/static_pressure", text, code="missing"))
    if errors:
        raise Refused(errors)


def refuse_too_fast(given: SurgeGiven, event: Event, modulus: float | None, density: float) -> None:
    """No wall can make the wave faster than sound in the open liquid, and the flow stays far slower than the wave."""
    errors: list[FieldError] = []
    sound = (modulus / density) ** 0.5 if modulus is not None else None
    for i, (s, a, v) in enumerate(zip(given.segments, event.wave_speeds, event.velocities, strict=True)):
        if s.wave_speed is not UNSET and sound is not None and above(a, sound):
            errors.append(
                field_error(
                    f"/segments/{i}/wave_speed",
                    f"{s.wave_speed} is faster than sound in the liquid itself.",
                    value=s.wave_speed,
                    allowed=Allowed(maximum=tidy(sound), unit="m/s"),
                    why="A wall can only slow the wave.",
                )
            )
        if v > 0.5 * a:
            errors.append(
                field_error(
                    f"/segments/{i}",
                    f"The liquid runs at {v:.2f} m/s, the wave at {a:.2f} m/s.",
                    why="The method holds for velocities far below the wave speed: not above half of it.",
                )
            )
    if errors:
        raise Refused(errors)


def refuse_boiling(given: SurgeGiven, vapor: float) -> None:
    """Refuse a static pressure at which the liquid boils; `vapor` in Pa absolute."""
    if given.static_pressure is UNSET:
        return
    absolute = given.static_pressure.si + given.air
    if absolute <= vapor:
        raise refuse(
            "/static_pressure",
            f"The liquid boils at {vapor / 1e3:.2f} kPa absolute; this pressure is {absolute / 1e3:.2f} kPa absolute.",
            value=given.static_pressure,
            allowed=Allowed(above=round((vapor - given.air) / 1e3, 3), unit="kPa"),
            why="There is no full column of liquid before the event.",
        )
