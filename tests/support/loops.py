"""Loops for the tests of `hydronic.loop`: the base loop of the published checks and its parts."""

import copy
from typing import Any

from quantity import q

WATER_7 = {"kind": "water", "temperature": {"value": 7, "unit": "degC"}}


def line(
    name: str,
    diameter: float = 101.6,
    length: float = 60.0,
    rough: float = 0.05,
    kind: str = "rubber_hose",
    **more: Any,
) -> dict[str, Any]:
    return {
        "name": name,
        "type": "line",
        "line_kind": kind,
        "inner_diameter": q(diameter, "mm"),
        "length": q(length, "m"),
        "roughness": q(rough, "mm"),
    } | more


def fittings(name: str, k: float = 6.0, diameter: float = 101.6, **more: Any) -> dict[str, Any]:
    return {"name": name, "type": "fittings", "inner_diameter": q(diameter, "mm"), "k_factor": k} | more


def device(name: str, drop: float, kind: str = "other", flow: float = 15.0, **more: Any) -> dict[str, Any]:
    return {
        "name": name,
        "type": "device",
        "device_kind": kind,
        "rated_flow": q(flow, "L/s"),
        "rated_pressure_drop": q(drop, "kPa"),
    } | more


def valve(name: str, kv: float, **more: Any) -> dict[str, Any]:
    return {"name": name, "type": "valve", "flow_coefficient_kv": kv} | more


def branches(name: str, *paths: list[dict[str, Any]], **more: Any) -> dict[str, Any]:
    return {"name": name, "type": "branches", "branches": list(paths)} | more


def curve(*points: tuple[float, float]) -> list[dict[str, Any]]:
    return [{"flow": q(flow, "L/s"), "head": q(head, "m")} for flow, head in points]


def pump(*points: tuple[float, float], **more: Any) -> dict[str, Any]:
    return {"curve": curve(*points), "interpolation": "power_law"} | more


BASE_POINTS = ((0, 35), (15, 28), (25, 16))


def base_elements() -> list[dict[str, Any]]:
    """Fittings, evaporator, hose up, coil, hose down, strainer."""
    return [
        fittings("fittings"),
        device("evaporator", 60, "evaporator"),
        line("supply", elevation_out=q(10, "m")),
        device("coil", 40, "coil"),
        line("return", elevation_out=q(0, "m")),
        device("strainer", 12, "strainer"),
    ]


def base(**more: Any) -> dict[str, Any]:
    """The base loop, with `more` in place of its parts."""
    given = {
        "fluid": WATER_7,
        "elements": base_elements(),
        "pumps": [pump(*BASE_POINTS)],
        "pump_owner": "machine",
        "pressure_reference": {"location": "pump_suction", "gauge_pressure": q(200, "kPa")},
    }
    return copy.deepcopy(given | more)
