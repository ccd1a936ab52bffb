"""Examples of `refrigeration.capacity`, invented."""

from coldwright.contract import Example

_TABLE_EXAMPLE = {
    "leaving_liquid_temperature": {"values": [42, 44, 46, 50], "unit": "degF"},
    "ambient_temperature": {"values": [75, 85, 95, 105], "unit": "degF"},
    "capacity": {
        "values": [
            [106.2, 100.9, 95.3, 89.4],
            [110.1, 104.7, 98.9, 92.8],
            [114.1, 108.6, 102.6, 96.3],
            [122.4, 116.5, 110.2, 103.6],
        ],
        "unit": "ton",
    },
    "power": {
        "values": [
            [88.4, 98.9, 110.8, 124.3],
            [89.2, 99.7, 111.7, 125.2],
            [90.0, 100.6, 112.6, 126.1],
            [91.7, 102.4, 114.4, 128.0],
        ],
        "unit": "kW",
    },
}
EXAMPLES = (
    Example(
        "table_at_altitude",
        "An invented machine of about 100 ton, read from its table for a site at 1,200 m with a little recirculation.",
        {
            "machine": {"rating_table": _TABLE_EXAMPLE, "envelope": {"ambient_maximum": {"value": 46, "unit": "degC"}}},
            "conditions": {
                "leaving_liquid_temperature": {"value": 44, "unit": "degF"},
                "ambient_temperature": {"value": 95, "unit": "degF"},
                "altitude": {"value": 1200, "unit": "m"},
                "recirculation_temperature_rise": {"value": 1, "unit": "delta_degC"},
            },
        },
    ),
    Example(
        "plate_only",
        "An invented machine of which only the data plate is known, on a hot day with 30 % propylene glycol.",
        {
            "machine": {
                "rated_point": {
                    "refrigerant": "R-410A",
                    "capacity": {"value": 100, "unit": "ton"},
                    "power": {"value": 112, "unit": "kW"},
                    "leaving_liquid_temperature": {"value": 44, "unit": "degF"},
                    "temperature_difference": {"value": 10, "unit": "delta_degF"},
                    "ambient_temperature": {"value": 95, "unit": "degF"},
                }
            },
            "conditions": {
                "leaving_liquid_temperature": {"value": 42, "unit": "degF"},
                "ambient_temperature": {"value": 104, "unit": "degF"},
                "fluid": {"kind": "propylene_glycol", "mass_fraction": 0.3},
            },
        },
    ),
)
