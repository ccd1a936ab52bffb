"""Examples of `site.transport`, invented."""

from coldwright.contract import Example


def _q(value: float, unit: str) -> dict[str, object]:
    return {"value": value, "unit": unit}


ONE_ORDER = Example(
    "one_order",
    "Two machines, a pump and hose racks on flat trailers. Invented.",
    {
        "items": [
            {
                "id": "machine",
                "length": _q(5.8, "m"),
                "width": _q(2.3, "m"),
                "height": _q(2.5, "m"),
                "mass": _q(5200, "kg"),
                "quantity": 2,
                "unload": "crane",
            },
            {
                "id": "pump",
                "length": _q(1.8, "m"),
                "width": _q(1.1, "m"),
                "height": _q(1.6, "m"),
                "mass": _q(900, "kg"),
                "unload": "fork_truck",
            },
            {
                "id": "hose rack",
                "length": _q(1.2, "m"),
                "width": _q(1.0, "m"),
                "height": _q(1.2, "m"),
                "mass": _q(420, "kg"),
                "quantity": 4,
                "stackable": True,
                "blocked_forward": True,
                "unload": "fork_truck",
            },
        ],
        "vehicles": [
            {
                "id": "flat trailer",
                "deck_length": _q(12.2, "m"),
                "deck_width": _q(2.5, "m"),
                "deck_height": _q(1.4, "m"),
                "payload": _q(20, "t"),
                "tare": _q(6400, "kg"),
                "tare_centre": _q(7, "m"),
                "kingpin_to_axles": _q(9.8, "m"),
            },
            {
                "id": "rigid lorry",
                "deck_length": _q(7.2, "m"),
                "deck_width": _q(2.5, "m"),
                "deck_height": _q(1.2, "m"),
                "payload": _q(9, "t"),
            },
        ],
        "site_unloading": ["crane", "fork_truck"],
    },
)
YARD = Example(
    "yard",
    "A pick list with spares, and two groups of axles. Invented.",
    {
        "axle_groups": [
            {"span": _q(1.3, "m"), "axles": 2, "mass": _q(14.5, "t")},
            {"span": _q(15.5, "m"), "axles": 5, "mass": _q(35, "t")},
        ],
        "pick_lines": [
            {"item": "hose", "size": "DN 100", "end_type": "cam", "quantity": 44, "unit": "m", "for": "supply"},
            {"item": "hose", "size": "DN 100", "end_type": "cam", "quantity": 44, "unit": "m", "for": "return"},
            {"item": "cable", "size": "120 mm2", "quantity": 5, "unit": "each", "for": "machine 1"},
        ],
        "spare_rules": {
            "stocked_lengths": [
                {"item": "hose", "length": _q(10, "m")},
                {"item": "hose", "length": _q(3, "m")},
            ],
            "joints": 11,
            "hoses": 9,
            "crossings": 1,
            "workers": 2,
        },
    },
)
