"""Examples of `refrigeration.refrigerant_safety`, invented."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        "in a plant room",
        "An invented machine with two R-410A circuits in a hall of 300 m3.",
        {
            "refrigerant": "R-410A",
            "circuits": [{"charge": {"value": 24, "unit": "kg"}}, {"charge": {"value": 24, "unit": "kg"}}],
            "location": "enclosed_space",
            "space_volume": {"value": 300, "unit": "m3"},
            "jurisdiction": "eu",
            "use": "industrial_process",
        },
    ),
    Example(
        "a leaking circuit outdoors",
        "An invented R-454B machine that took refrigerant twice in four months.",
        {
            "refrigerant": "R-454B",
            "circuits": [{"charge": {"value": 55, "unit": "lb"}}, {"charge": {"value": 55, "unit": "lb"}}],
            "location": "outdoors",
            "jurisdiction": "us",
            "use": "comfort_cooling",
            "date": "2026-08-01",
            "additions": [
                {"mass": {"value": 3, "unit": "lb"}, "circuit": 1},
                {
                    "mass": {"value": 4, "unit": "lb"},
                    "circuit": 1,
                    "days_since_previous": {"value": 120, "unit": "d"},
                },
            ],
            "relief_discharge": {
                "height_above_grade": {"value": 16, "unit": "ft"},
                "distance_to_opening": {"value": 40, "unit": "ft"},
            },
        },
    ),
)
"""Invented."""
