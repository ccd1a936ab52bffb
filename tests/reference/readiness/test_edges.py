"""Where each finding of a machine that was started begins, by the thresholds of the trade."""

from typing import Any

import pytest
from CoolProp.CoolProp import PropsSI
from edges import Edge, edges, example, hold_to
from quantity import q

pytestmark = pytest.mark.check

PROOF = "readiness.cooling_proof"
LEAVING = 13.1
EXPECTED = 175e3 / (
    PropsSI("D", "T", 273.15 + 17.7, "P", 2e5, "Water") * PropsSI("C", "T", 273.15 + 15.4, "P", 2e5, "Water") * 9e-3
)
"""K: 175 kW in 9 L/s of water, by CoolProp."""
CLEAN: dict[str, Any] = {"samples": None, "load": None}
WARMER = [
    {"at": f"2026-05-04T09:{minute}:00Z", "entering": q(17 + k, "degC"), "leaving": q(12.4 + k, "degC")}
    for minute, k in (("14", 0.0), ("16", 0.2), ("18", 0.4), ("20", 0.6))
]


def cooled(ratio: float, **changes: Any) -> dict[str, Any]:
    """So much of the capacity, the flow known to be right unless told otherwise."""
    usual = {"flow_minimum": q(5, "L/s"), **CLEAN}
    return example(PROOF, entering_temperature=q(LEAVING + ratio * EXPECTED, "degC"), **(usual | changes))


def after(seconds: float) -> dict[str, Any]:
    return cooled(0.2, evaluated_at=at(seconds))


def drop(kilopascals: float, most: float) -> dict[str, Any]:
    return {"evaporator_pressure_drop": q(kilopascals, "kPa"), "evaporator_pressure_drop_maximum": q(most, "kPa")}


def cold(fahrenheit: float) -> dict[str, Any]:
    return example(
        PROOF,
        leaving_temperature=q(fahrenheit, "degF"),
        entering_temperature=q(47, "degF"),
        set_point=q(36, "degF"),
        **CLEAN,
    )


def brine(above: float) -> dict[str, Any]:
    """Propylene glycol, 0.3 by mass: CoolProp's own freezing curve."""
    freezing = PropsSI("T_FREEZE", "T", 280, "P", 1e5, "INCOMP::MPG[0.3]")
    return example(
        PROOF,
        1,
        leaving_temperature=q(freezing - 273.15 + above * 5 / 9, "degC"),
        entering_temperature=q(-5, "degC"),
        set_point=q(-12, "degC"),
    )


def aired(kelvins: float, ratio: float = 0.6) -> dict[str, Any]:
    return cooled(ratio, coil_air_temperature=q(30 + kelvins, "degC"), ambient_temperature=q(30, "degC"))


PROOFS = (
    # all common practice, no source: shares of the expected difference, 5 min to cool, 38 degF of water, 5 delta_degF
    Edge(PROOF, "low_flow", 1.5, lambda r: cooled(r, flow_minimum=q(12, "L/s"))),
    Edge(PROOF, "no_cooling", 0.3, cooled, below=True),
    Edge(PROOF, "no_cooling", 300, after, step=2),
    Edge(PROOF, "sensors_or_hoses_swapped", 0.5, lambda k: cooled(-k / EXPECTED)),
    Edge(PROOF, "near_freezing", 38, cold, below=True, step=0.1),
    Edge(PROOF, "near_freezing", 5, brine, below=True, step=0.2),
    Edge(PROOF, "heat_input_larger", 0.75, lambda r: cooled(r, samples=WARMER)),
    Edge(PROOF, "heat_input_larger", 1.2, lambda r: cooled(r, samples=WARMER), below=True),
    Edge(PROOF, "hot_air_recirculation", 3.0, aired),
    Edge(PROOF, "hot_air_recirculation", 0.75, lambda r: aired(5, r), below=True),
    Edge(PROOF, "refrigerant_short", 0.7, cooled, below=True),
    Edge(PROOF, "refrigerant_short", 180, lambda s: cooled(0.5, loop_volume=None) | {"evaluated_at": at(s)}, step=2),
    Edge(PROOF, "flow_too_high", 0.6, lambda r: cooled(r, **drop(60, 50)), below=True),
    Edge(PROOF, "flow_too_high", 50, lambda most: cooled(0.5, **drop(50, most)), below=True),
)


def at(seconds: float) -> str:
    minutes, rest = divmod(seconds, 60)
    return f"2026-05-04T09:{10 + int(minutes)}:{rest:06.3f}Z"


@edges(PROOFS)
def test_a_finding_begins_at_its_limit(answer_of: Any, edge: Edge) -> None:
    hold_to(edge, answer_of)
