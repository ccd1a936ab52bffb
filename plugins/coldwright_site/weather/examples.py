"""Examples of `site.weather`, invented."""

from coldwright.contract import Example

HOT_AND_WINDY = Example(
    "hot_and_windy",
    "A machine on its skid in a gusty, hot afternoon, with a lift to come. Invented.",
    {
        "machine": {
            "mass": {"value": 5200, "unit": "kg"},
            "base_width": {"value": 2.2, "unit": "m"},
            "length": {"value": 5.8, "unit": "m"},
            "height": {"value": 2.4, "unit": "m"},
            "stand_height": {"value": 0.3, "unit": "m"},
        },
        "gust_speed": {"value": 60, "unit": "km/h"},
        "air_temperature": {"value": 34, "unit": "degC"},
        "relative_humidity": 0.55,
        "in_sun": True,
        "work_rate": "heavy",
        "crane": {
            "chart_wind_speed": {"value": 9.8, "unit": "m/s"},
            "load_mass": {"value": 5200, "unit": "kg"},
            "load_face_area": {"value": 14, "unit": "m2"},
        },
    },
)
THUNDER = Example(
    "thunder",
    "Thunder a while ago. Invented.",
    {
        "last_thunder_at": "2026-07-14T14:10:00-05:00",
        "last_lightning": {"at": "2026-07-14T14:09:48-05:00", "flash_to_bang": {"value": 12, "unit": "s"}},
        "evaluated_at": "2026-07-14T14:45:00-05:00",
    },
)
