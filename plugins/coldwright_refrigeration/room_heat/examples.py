"""Invented inputs of `refrigeration.room_heat` that run."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        name="hall_with_fans",
        summary="Two machines in a hall with fans. Invented.",
        given={
            "heat_rejected": {"value": 400, "unit": "kW"},
            "outdoor_temperature": {"value": 35, "unit": "degC"},
            "room_limit": {"value": 46, "unit": "degC"},
            "ventilation_flow": {"value": 25000, "unit": "L/s"},
            "room_volume": {"value": 1200, "unit": "m3"},
        },
    ),
    Example(
        name="plant_room",
        summary="A plant room whose fans are not given. Invented.",
        given={
            "heat_rejected": {"value": 100000, "unit": "Btu/h"},
            "outdoor_temperature": {"value": 95, "unit": "degF"},
            "room_limit": {"value": 110, "unit": "degF"},
            "room_volume": {"value": 300, "unit": "m3"},
            "altitude": {"value": 1600, "unit": "m"},
        },
    ),
)
