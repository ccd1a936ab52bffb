"""Examples of `site.placement`, invented."""

from coldwright.contract import Example


def _m(value: float) -> dict[str, object]:
    return {"value": value, "unit": "m"}


def _corners(*points: tuple[float, float]) -> list[dict[str, object]]:
    return [{"x": _m(x), "y": _m(y)} for x, y in points]


def _machine(name: str) -> dict[str, object]:
    return {
        "id": name,
        "length": _m(5.8),
        "width": _m(2.2),
        "height": _m(2.5),
        "intake_faces": ["left", "right"],
        "service_faces": ["front"],
        "air_flow": {"value": 24, "unit": "m3/s"},
        "heat_rejected": {"value": 420, "unit": "kW"},
        "voltage_to_ground": {"value": 277, "unit": "V"},
        "ambient_limit": {"value": 43, "unit": "degC"},
    }


YARD = Example(
    "yard",
    "Two machines in a yard beside a hall, with hoses and cables. Invented.",
    {
        "machines": [_machine("Machine 1"), _machine("Machine 2")],
        "positions": [
            {"id": "Machine 1", "x": _m(6), "y": _m(5)},
            {"id": "Machine 2", "x": _m(6), "y": _m(10)},
        ],
        "obstacles": [
            {
                "id": "Hall",
                "kind": "wall",
                "height": _m(7),
                "polygon": _corners((-8, -6), (14, -6), (14, -1), (-8, -1)),
            },
            {"id": "Door", "kind": "opening", "polygon": _corners((-4, -1), (-2, -1))},
            {"id": "Path", "kind": "walkway", "polygon": _corners((-3.5, -1), (-2, -1), (-2, 16), (-3.5, 16))},
            {
                "id": "Generator",
                "kind": "engine",
                "height": _m(2.2),
                "polygon": _corners((13, 9), (16, 9), (16, 11), (13, 11)),
            },
        ],
        "ambient": {"value": 35, "unit": "degC"},
        "recirculation_fraction": 0.1,
        "hose_route": {"from": {"x": _m(3.1), "y": _m(5)}, "to": {"x": _m(-6), "y": _m(-1)}},
        "cable_route": {"from": {"x": _m(13), "y": _m(10)}, "to": {"x": _m(8.9), "y": _m(5.5)}},
        "hose_run": _m(30),
        "drawing": True,
    },
)
PIT = Example(
    "pit",
    "A machine in a well, no positions given. Invented.",
    {
        "machines": [_machine("Machine")],
        "pit": {"area": {"value": 30, "unit": "m2"}, "depth": _m(3)},
        "discharge_area": {"value": 7, "unit": "m2"},
        "ambient": {"value": 33, "unit": "degC"},
        "recirculation_fraction": 0.3,
        "snow_depth": _m(0.2),
    },
)
CORNER = Example(
    "corner",
    "Two machines in an L-shaped yard, their places looked for. Invented.",
    {
        "machines": [_machine("Machine 1"), _machine("Machine 2")],
        "area": {"polygon": _corners((0, 0), (22, 0), (22, 9), (10, 9), (10, 18), (0, 18))},
        "arrange": True,
        "load_point": {"x": _m(0), "y": _m(4)},
        "supply_point": {"x": _m(22), "y": _m(4)},
        "ambient": {"value": 33, "unit": "degC"},
    },
)
