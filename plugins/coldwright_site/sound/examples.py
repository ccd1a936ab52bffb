"""Examples of `site.sound`, invented."""

from coldwright.contract import Example


def _metre(value: float) -> dict[str, object]:
    return {"value": value, "unit": "m"}


NEIGHBOUR = Example(
    "neighbour",
    "Two machines in a yard, a bedroom window beyond a plank screen, by octave band. Invented.",
    {
        "method": "octave",
        "sources": [
            {
                "id": name,
                "x": _metre(x),
                "y": _metre(0),
                "z": _metre(2),
                "octave_levels": [96, 97, 95, 93, 90, 86, 80, 74],
                "on_time": {"night": 0.5},
            }
            for name, x in (("north", 0), ("south", 6))
        ],
        "receivers": [
            {
                "id": "window",
                "x": _metre(4),
                "y": _metre(85),
                "z": _metre(4.5),
                "limit_day": {"value": 55, "unit": "dBA"},
                "limit_night": {"value": 45, "unit": "dBA"},
            }
        ],
        "ground_factor": {"source": 0, "middle": 0.5, "receiver": 0.7},
        "air": {"temperature": {"value": 20, "unit": "degC"}, "humidity": 0.7},
        "barrier": {
            "edge_height": _metre(3.5),
            "point_1": {"x": _metre(-8), "y": _metre(5)},
            "point_2": {"x": _metre(14), "y": _metre(5)},
        },
    },
)
WORKER = Example(
    "worker",
    "A fitter's day beside running machines, and the level at a fence. Invented.",
    {
        "method": "simple",
        "sources": [
            {
                "id": "machine",
                "x": _metre(0),
                "y": _metre(0),
                "z": _metre(1.5),
                "sound_power_level": {"value": 97, "unit": "dBA"},
            }
        ],
        "receivers": [
            {
                "id": "fence",
                "x": _metre(30),
                "y": _metre(0),
                "z": _metre(1.5),
                "limit_day": {"value": 65, "unit": "dBA"},
            }
        ],
        "exposure": [
            {"level": {"value": 88, "unit": "dBA"}, "duration": {"value": 2, "unit": "h"}},
            {"level": {"value": 78, "unit": "dBA"}, "duration": {"value": 6, "unit": "h"}},
        ],
    },
)
