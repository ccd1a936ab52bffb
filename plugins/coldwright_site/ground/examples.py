"""Examples of `site.ground`, invented."""

from coldwright.contract import Example

SKID = Example(
    "skid",
    "A machine on its skid, the centre of gravity a little to one side, on sand. Invented.",
    {
        "contact": "skid",
        "load": {"value": 5800, "unit": "kg"},
        "contact_length": {"value": 5.6, "unit": "m"},
        "contact_width": {"value": 2.2, "unit": "m"},
        "eccentricity": {"x": {"value": 0.3, "unit": "m"}, "y": {"value": 0.1, "unit": "m"}},
        "soil_class": "sand",
        "slope": {"x": 0.004, "y": 0.006},
        "services_known": True,
    },
)
OUTRIGGERS = Example(
    "outriggers",
    "A crane on four outriggers with pads of 1.5 m. Invented.",
    {
        "contact": "outrigger",
        "crane": {
            "mass": {"value": 48, "unit": "t"},
            "load_mass": {"value": 6.4, "unit": "t"},
            "radius": {"value": 8, "unit": "m"},
            "slew_angle": {"value": 30, "unit": "deg"},
            "outriggers": [
                {"x": {"value": x, "unit": "m"}, "y": {"value": y, "unit": "m"}}
                for x, y in ((3.4, 3.2), (-3.4, 3.2), (-3.4, -3.2), (3.4, -3.2))
            ],
        },
        "contact_length": {"value": 1.5, "unit": "m"},
        "contact_width": {"value": 1.5, "unit": "m"},
        "allowable_bearing_pressure": {"value": 180, "unit": "kPa"},
        "excavation": {"depth": {"value": 1.2, "unit": "m"}, "distance": {"value": 4, "unit": "m"}},
    },
)
