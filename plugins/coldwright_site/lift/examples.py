"""Examples of `site.lift`, invented."""

from coldwright.contract import Example

FOUR_LEGS = Example(
    "four_legs",
    "Four legs, the centre of gravity a little off the middle. Invented.",
    {
        "method": "crane",
        "load_mass": {"value": 5200, "unit": "kg"},
        "load_mass_basis": "data_plate",
        "rigging_mass": {"value": 180, "unit": "kg"},
        "hook_block_mass": {"value": 250, "unit": "kg"},
        "pick_points": [
            {
                "id": f"{i}",
                "x": {"value": x, "unit": "m"},
                "y": {"value": y, "unit": "m"},
                "z": {"value": 2.4, "unit": "m"},
            }
            for i, x, y in (("a", -2.1, -1.0), ("b", 2.1, -1.0), ("c", 2.1, 1.0), ("d", -2.1, 1.0))
        ],
        "centre_of_gravity": {
            "x": {"value": 0.25, "unit": "m"},
            "y": {"value": 0.05, "unit": "m"},
            "z": {"value": 1.1, "unit": "m"},
        },
        "hook_z": {"value": 7.0, "unit": "m"},
        "leg_rated_load": {"value": 5000, "unit": "kg"},
        "crane_chart_capacity": {"value": 9.5, "unit": "t"},
        "chart_wind_speed": {"value": 9.8, "unit": "m/s"},
        "load_face_area": {"value": 14, "unit": "m2"},
    },
)
OFF_A_TRUCK = Example(
    "fork_truck",
    "A small machine taken off a truck by fork truck. Invented.",
    {
        "method": "fork_truck",
        "load_mass": {"value": 1150, "unit": "kg"},
        "load_mass_basis": "weighed",
        "rated_capacity": {"value": 2500, "unit": "kg"},
        "rated_load_centre": {"value": 0.5, "unit": "m"},
        "rated_lift_height": {"value": 3.3, "unit": "m"},
        "load_centre": {"value": 0.75, "unit": "m"},
        "lift_height": {"value": 1.4, "unit": "m"},
        "front_axle_to_fork_face": {"value": 0.42, "unit": "m"},
        "fork_length": {"value": 1.2, "unit": "m"},
        "load_depth": {"value": 1.5, "unit": "m"},
    },
)
