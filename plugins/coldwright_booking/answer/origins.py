"""From where in the order a plan took what it asked the calculators: their findings point there.

Only what the plan hands on as it stands; what it decides by itself no field of the order says.
"""

from collections.abc import Mapping

PRACTICE, FREQUENCY = "/practice", "/supply/frequency"
ORIGINS: Mapping[str, Mapping[str, str]] = {
    "electrical.service": {
        "/practice": PRACTICE,
        "/frequency": FREQUENCY,
        "/available/breaker_rating": "/supply/breaker_rating",
        "/available/supply_current": "/supply/available_current",
    },
    "electrical.feeder": {
        "/practice": PRACTICE,
        "/frequency": FREQUENCY,
        "/length": "/routes/cable_length",
        "/crossings": "/routes/crossings",
    },
    "electrical.generator": {"/frequency": FREQUENCY, "/critical": "/critical"},
    "electrical.transformer": {"/practice": PRACTICE, "/frequency": FREQUENCY, "/primary_voltage": "/supply/voltage"},
    "hydronic.fill": {"/tap/flow": "/site/fill_flow"},
    "refrigeration.load": {"/margin": "/duty/margin_fraction"},
    "refrigeration.selection": {"/redundancy": "/redundancy"},
    "site.lift": {
        "/crane_chart_capacity": "/access/crane_chart_capacity",
        "/hook_block_mass": "/access/hook_block_mass",
        "/chart_wind_speed": "/access/crane_wind_limit",
        "/expected_gust": "/access/expected_gust",
        "/expected_wind": "/access/expected_wind",
        "/rated_lift_height": "/access/fork_truck/rated_lift_height",
    },
    "site.ground": {"/slope": "/site/ground/slope", "/services_known": "/site/ground/services_known"},
}
