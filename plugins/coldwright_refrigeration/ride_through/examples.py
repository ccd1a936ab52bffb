"""Invented inputs of `refrigeration.ride_through` that run."""

from coldwright.contract import Example

EXAMPLES = (
    Example(
        name="room_of_computers",
        summary="A computer room whose pumps run on. Invented.",
        given={
            "loop": {
                "volume": {"value": 8, "unit": "m3"},
                "supply_volume": {"value": 2, "unit": "m3"},
                "buffer_volume": {"value": 3, "unit": "m3"},
                "leaving_temperature": {"value": 10, "unit": "degC"},
                "temperature_difference": {"value": 6, "unit": "delta_degC"},
            },
            "load": {"value": 350, "unit": "kW"},
            "capacity": {"value": 450, "unit": "kW"},
            "warmest_supply": {"value": 16, "unit": "degC"},
            "interruptions": [
                {"name": "trip", "outage": {"value": 0, "unit": "min"}, "circulation": "keeps", "stages": 4},
                {"name": "supply", "outage": {"value": 15, "unit": "s"}, "circulation": "keeps", "stages": 4},
            ],
        },
    ),
    Example(
        name="plant_on_a_set",
        summary="A plant on a generating set that stops with its pumps. Invented.",
        given={
            "loop": {
                "fluid": {"kind": "propylene_glycol", "mass_fraction": 0.35},
                "volume": {"value": 600, "unit": "gal"},
                "supply_volume": {"value": 200, "unit": "gal"},
                "leaving_temperature": {"value": 36, "unit": "degF"},
                "temperature_difference": {"value": 10, "unit": "delta_degF"},
            },
            "load": {"value": 60, "unit": "ton"},
            "capacity": {"value": 66, "unit": "ton"},
            "warmest_supply": {"value": 41, "unit": "degF"},
            "interruptions": [
                {"name": "set", "outage": {"value": 10, "unit": "min"}, "circulation": "stops", "stages": 2}
            ],
        },
    ),
)
