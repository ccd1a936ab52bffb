"""Examples of `refrigeration.load`, invented."""

from coldwright.contract import Example

_DEGC, _DEGF = "degC", "degF"
EXAMPLES = (
    Example(
        "dairy",
        "An invented dairy: a flow that was measured, milk to be cooled, and the hoses in the sun.",
        {
            "loads": [
                {
                    "kind": "liquid_flow",
                    "name": "existing plant",
                    "flow": {"value": 180, "unit": "gpm"},
                    "entering_temperature": {"value": 54, "unit": _DEGF},
                    "leaving_temperature": {"value": 45, "unit": _DEGF},
                },
                {
                    "kind": "product",
                    "name": "morning milk",
                    "product_name": "milk",
                    "mass": {"value": 6, "unit": "t"},
                    "duration": {"value": 3, "unit": "h"},
                    "initial_temperature": {"value": 33, "unit": _DEGC},
                    "final_temperature": {"value": 5, "unit": _DEGC},
                    "peak_to_mean": 1.3,
                },
                {
                    "kind": "hose",
                    "name": "hoses across the yard",
                    "length": {"value": 80, "unit": "m"},
                    "outside_diameter": {"value": 120, "unit": "mm"},
                    "inside_diameter": {"value": 102, "unit": "mm"},
                    "liquid_temperature": {"value": 8, "unit": _DEGC},
                    "air_temperature": {"value": 34, "unit": _DEGC},
                    "solar_irradiance": {"value": 900, "unit": "W/m2"},
                },
            ]
        },
    ),
    Example(
        "event_tent",
        "An invented tent at 1,200 m: fresh air through a coil, people and lighting by estimate, the loop's pump.",
        {
            "site": {"altitude": {"value": 1200, "unit": "m"}},
            "loads": [
                {
                    "kind": "air_coil",
                    "name": "fresh air",
                    "airflow": {"value": 4, "unit": "m3/s"},
                    "airflow_basis": "actual_at_entering",
                    "entering_dry_bulb": {"value": 33, "unit": _DEGC},
                    "entering_relative_humidity": 0.45,
                    "leaving_dry_bulb": {"value": 13, "unit": _DEGC},
                },
                {
                    "kind": "space_estimate",
                    "name": "guests",
                    "people": [{"activity": "at_desk", "count": 350}],
                    "lighting_power": {"value": 12, "unit": "kW"},
                    "diversity": 0.9,
                },
                {
                    "kind": "pump",
                    "name": "loop pump",
                    "flow": {"value": 9, "unit": "L/s"},
                    "head": {"value": 22, "unit": "m"},
                },
            ],
        },
    ),
)
