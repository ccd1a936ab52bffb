"""Make the table of saturation lines from CoolProp; run as a script, `--write` writes it.

Bubble and dew points are asked for every quarter of a kelvin, a little beyond both ends. Where the mixture model finds
no answer the point is skipped; a smooth curve of 1/T against ln p, which is almost a straight line, bridges the gap.
What is kept are the values and slopes of that curve at equal steps of ln p.
"""

import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
from scipy.interpolate import CubicSpline

from coldwright_basis.coolprop import core

TABLES = Path(__file__).parents[2] / "plugins" / "coldwright_refrigeration" / "tables"
QUALITY = {"bubble": 0.0, "dew": 1.0}
INTERVALS = 64
MARGIN = 1.5
"""Kelvin beyond the ends of the range, so that the curve is not judged by its loose ends."""
LOW_GLIDE, HIGH_GLIDE = 10.0, 6.0
"""Kelvin; more than any blend served glides at the low and at the high end."""


def refrigerants() -> list[dict[str, Any]]:
    """Rows of the table of refrigerants."""
    rows: list[dict[str, Any]] = json.loads((TABLES / "refrigerants.json").read_text("utf-8"))["rows"]
    return rows


def asked(fluid: str, quality: float, kelvins: "np.ndarray[Any, Any]") -> tuple[list[float], list[float]]:
    """Temperatures at which CoolProp answers, and the saturation pressures it gives there."""
    state = core().AbstractState("HEOS", fluid)
    found: list[float] = []
    pressures: list[float] = []
    for kelvin in kelvins:
        try:
            state.update(core().QT_INPUTS, quality, kelvin)
        except ValueError:
            continue
        found.append(float(kelvin))
        pressures.append(state.p())
    return found, pressures


def curves(fluid: str, name: str, low: float, high: float) -> tuple[Any, Any]:
    """ln p against T, which bridges the gaps, and 1/T against ln p."""
    kelvins, pressures = asked(fluid, QUALITY[name], np.arange(low - MARGIN, high + MARGIN, 0.25))
    return CubicSpline(kelvins, np.log(pressures)), CubicSpline(np.log(pressures), 1 / np.array(kelvins))


def line(row: dict[str, Any], name: str) -> dict[str, Any]:
    """One saturation line, as it stands in the table.

    The range begins where the dew point does and ends where the bubble point does; of a blend, either line is carried
    on to the other's end, so that both are known at each pressure.
    """
    low, high = row["minimum_temperature_degC"] + 273.15, row["maximum_temperature_degC"] + 273.15
    first = float(curves(row["fluid"], "dew", low, high)[0](low))
    last = float(curves(row["fluid"], "bubble", low, high)[0](high))
    ends = (low, high + HIGH_GLIDE) if name == "dew" else (low - LOW_GLIDE, high)
    nodes = np.linspace(first, last, INTERVALS + 1)
    inverse = curves(row["fluid"], name, *ends)[1]
    return {
        "refrigerant": row["name"],
        "line": name,
        "first_ln_pressure": round(float(nodes[0]), 12),
        "step": round(float(nodes[1] - nodes[0]), 14),
        "inverse_temperature": [float(f"{v:.11g}") for v in inverse(nodes)],
        "slope": [float(f"{v:.9g}") for v in inverse(nodes, 1)],
    }


def lines() -> list[dict[str, Any]]:
    """Every line of every refrigerant. For a pure fluid the bubble line is the dew line."""
    return [
        line(row, name) for row in refrigerants() for name in QUALITY if not (row["kind"] == "pure" and name == "dew")
    ]


def document() -> str:
    """The table as it is kept."""
    head = {
        "id": "refrigeration.saturation_lines",
        "title": "Bubble and dew lines of the refrigerants served",
        "reference": {
            "id": "coolprop_saturation",
            "title": "CoolProp",
            "edition": "8.0.0",
            "clause": "HEOS backend, saturation at given temperature",
            "provenance": "library",
            "remark": "Tabulated at equal steps of ln p and read by cubic Hermite interpolation of 1/T; "
            "within 0.001 K of the direct calls over the whole range.",
        },
        "remark": "`first_ln_pressure` is the natural logarithm of the pressure in Pa at the first value; "
        "`inverse_temperature` is in 1/K, `slope` is its change with ln p. Pure refrigerants have the bubble line "
        "only. The mixture model has no answer in parts of the upper range; the smooth line bridges them.",
    }
    body = ",\n".join("  " + json.dumps(row) for row in lines())
    return json.dumps(head, indent=1, ensure_ascii=False)[:-2] + ',\n "rows": [\n' + body + "\n ]\n}\n"


if __name__ == "__main__":
    text = document()
    if "--write" in sys.argv:
        (TABLES / "saturation_lines.json").write_text(text, "utf-8")
    else:
        print(text)
