"""Invented inputs of `refrigeration.condensation` that run."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        name="hose_in_summer",
        summary="A cold hose on a humid day. Invented.",
        given={
            "air_temperature": {"value": 30, "unit": "degC"},
            "relative_humidity_fraction": 0.6,
            "surfaces": [
                {
                    "kind": "hose",
                    "name": "supply hose",
                    "liquid_temperature": {"value": 7, "unit": "degC"},
                    "length": {"value": 40, "unit": "m"},
                    "outside_diameter": {"value": 174, "unit": "mm"},
                    "inside_diameter": {"value": 152, "unit": "mm"},
                }
            ],
        },
    ),
    Example(
        name="vessel_in_a_hall",
        summary="A buffer vessel of bare steel in a hall. Invented.",
        given={
            "air_temperature": {"value": 75, "unit": "degF"},
            "dew_point_temperature": {"value": 60, "unit": "degF"},
            "surfaces": [
                {
                    "kind": "vessel",
                    "name": "buffer vessel",
                    "liquid_temperature": {"value": 44, "unit": "degF"},
                    "area": {"value": 90, "unit": "ft2"},
                }
            ],
        },
    ),
)
