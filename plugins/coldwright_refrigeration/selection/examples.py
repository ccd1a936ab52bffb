"""Examples of `refrigeration.selection`, invented."""

from coldwright.contract import Example


def _row(
    name: str, count: int, tons: float, kw: float, circuits: int, least: float, flow: tuple[float, float]
) -> dict[str, object]:
    return {
        "type": name,
        "count_available": count,
        "capacity": {"value": tons, "unit": "ton"},
        "power": {"value": kw, "unit": "kW"},
        "circuits": circuits,
        "minimum_capacity": {"value": least, "unit": "ton"},
        "flow_minimum": {"value": flow[0], "unit": "gpm"},
        "flow_maximum": {"value": flow[1], "unit": "gpm"},
    }


def _money(value: float) -> dict[str, object]:
    return {"value": value, "currency": "USD"}


_FLEET = [
    _row("small 40", 5, 38, 46, 1, 9.5, (45, 150)) | {"haul_fraction": 0.3, "hire_cost": _money(1150)},
    _row("middle 100", 3, 93, 110, 2, 19, (110, 360)) | {"haul_fraction": 0.6, "hire_cost": _money(2450)},
    _row("large 250", 2, 231, 268, 2, 46, (290, 900)) | {"haul_fraction": 1.0, "hire_cost": _money(5300)},
]
EXAMPLES = (
    Example(
        "spare_unit",
        "An invented fleet for 210 ton with a spare unit; the hall never needs less than 25 ton.",
        {
            "design": {"load": {"value": 210, "unit": "ton"}, "flow": {"value": 504, "unit": "gpm"}},
            "minimum_load": {"value": 25, "unit": "ton"},
            "redundancy": {"rule": "one_unit"},
            "fleet": _FLEET,
            "limits": {"power_available": {"value": 520, "unit": "kW"}},
            "haul_cost": _money(650),
        },
    ),
    Example(
        "not_enough_power",
        "The same invented fleet on a supply of 300 kW: no combination keeps both the spare unit and the supply.",
        {
            "design": {"load": {"value": 210, "unit": "ton"}},
            "redundancy": {"rule": "one_unit"},
            "fleet": _FLEET,
            "limits": {"power_available": {"value": 300, "unit": "kW"}},
        },
    ),
)
