"""Pumps and curves that contradict themselves."""

from itertools import pairwise

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, field_error
from coldwright_basis.pump_curves import GREATEST_POWER, LEAST_POWER, LEAST_SPACING, power_law_exponent
from coldwright_hydronic.loop.given import NpshPoint, PumpGiven


def pump_errors(pointer: str, pump: PumpGiven) -> list[FieldError]:
    """Everything that is wrong with one pump."""
    errors = []
    if pump.state == "stopped_in_line" and pump.stopped_kv is UNSET:
        text = "A stopped pump in the line is a resistance: give its stopped_kv."
        errors.append(field_error(f"{pointer}/stopped_kv", text, code="missing"))
    if pump.point is not UNSET:
        if pump.curve:
            errors.append(field_error(f"{pointer}/point", "Either a curve or one known point, not both."))
        if pump.state != "running":
            errors.append(field_error(f"{pointer}/state", "A known point is that of a running pump.", value=pump.state))
    elif pump.curve or pump.state == "running":
        errors += _curve_errors(pointer, pump)
    if pump.efficiency is not UNSET and pump.efficiency_curve:
        text = "Either one efficiency or an efficiency_curve, not both."
        errors.append(field_error(f"{pointer}/efficiency", text, value=pump.efficiency))
    known = pump.efficiency is not UNSET or bool(pump.efficiency_curve)
    if not known and pump.motor_efficiency is not UNSET and (pump.point is UNSET or pump.point.brake_power is UNSET):
        text = "The motor's input follows from the pump's efficiency: give efficiency or efficiency_curve."
        errors.append(field_error(f"{pointer}/efficiency", text, code="missing"))
    errors += _order_errors(f"{pointer}/efficiency_curve", [p.flow.si for p in pump.efficiency_curve])
    errors += _order_errors(f"{pointer}/npsh_required_curve", [p.flow.si for p in pump.npsh_required_curve])
    for i, point in enumerate(pump.npsh_required_curve):
        errors += _npsh_errors(f"{pointer}/npsh_required_curve/{i}", point)
    return errors


def _npsh_errors(pointer: str, point: NpshPoint) -> list[FieldError]:
    if (point.npsh_required is UNSET) == (point.head is UNSET):
        return [field_error(f"{pointer}/npsh_required", "Give npsh_required (or the same as head), once.")]
    return []


def _order_errors(pointer: str, flows: list[float]) -> list[FieldError]:
    """Flows must rise from point to point, well apart."""
    if any(b - a <= LEAST_SPACING * flows[-1] for a, b in pairwise(flows)):
        text = "The flows of the points must rise, each well above the one before it."
        return [field_error(pointer, text, why="Two points at one flow leave no single value between them.")]
    return []


def _curve_errors(pointer: str, pump: PumpGiven) -> list[FieldError]:
    at = f"{pointer}/curve"
    if not pump.curve:
        return [field_error(at, "A running pump needs its curve, or one known point.", code="missing")]
    if len(pump.curve) < 3:
        text = f"A curve needs three points at least; here are {len(pump.curve)}."
        return [field_error(at, text, code="out_of_range", allowed=Allowed(minimum=3, unit="entries"))]
    points = tuple((p.flow.si, p.head.si) for p in pump.curve)
    if points[0][0] != 0.0:
        return [field_error(at, "The first point must be at no flow: the shut-off head is needed.")]
    if errors := _order_errors(at, [q for q, _ in points]):
        return errors
    for i, ((_, before), (_, head)) in enumerate(pairwise(points), start=1):
        if head >= before:
            text = f"The head must fall from point to point; point {i} does not."
            why = "A rising curve can have several duty points, and hunts between them"
            return [field_error(f"{at}/{i}/head", text, value=pump.curve[i].head, why=why)]
    if pump.interpolation == "power_law":
        if len(points) != 3:
            text = f"A power law goes through exactly three points; here are {len(points)}."
            return [field_error(at, text, why="Take monotone_cubic or linear for more points.")]
        c = power_law_exponent(points)
        if not LEAST_POWER <= c <= GREATEST_POWER:
            text = f"The power law through these points has the exponent {c:.3g}."
            bound = Allowed(minimum=LEAST_POWER, maximum=GREATEST_POWER)
            return [field_error(at, text, code="out_of_range", allowed=bound, why="No pump has such a curve.")]
    return []
