"""Examples of `refrigeration.performance`, invented."""

from coldwright.contract import Example


def _readings(litres: float, entering: float, leaving: float, kilowatts: float) -> dict[str, object]:
    return {
        "flow": {"value": litres, "unit": "L/s"},
        "entering_temperature": {"value": entering, "unit": "degC"},
        "leaving_temperature": {"value": leaving, "unit": "degC"},
        "power": {"value": kilowatts, "unit": "kW"},
    }


EXAMPLES = (
    Example(
        "held_against_expected",
        "Invented readings of a machine of which 340 kW are expected, give or take 3 %.",
        {
            "readings": _readings(15.2, 12.1, 7.2, 108),
            "uncertainty": {"flow": 0.03, "temperature": {"value": 0.15, "unit": "delta_degC"}},
            "expected": {"capacity": {"value": 340, "unit": "kW"}, "uncertainty": 0.03},
        },
    ),
    Example(
        "part_load",
        "Invented readings at three quarters of the load, with invented efficiencies at four loads.",
        {
            "readings": _readings(15.2, 11.0, 7.1, 74),
            "load_fraction": 0.75,
            "part_load": {"rule": "iplv", "metric": "eer", "a": 10.3, "b": 12.6, "c": 14.4, "d": 14.9},
        },
    ),
)
