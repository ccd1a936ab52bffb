"""Cooling by flow and temperatures against a worked answer that others publish.

| source | what | theirs | ours |
| --- | --- | --- | --- |
| A public encyclopedic site, "How to convert GPM to cooling rate in tons" (seen) | 350 gpm by 21 degF | 306.25 tons | -0.1 % |

It counts 500 Btu/h for a gpm and a degree; the density of the water that enters at 75 degF, and its specific heat, give 499.3.
"""

from typing import Any

import pytest
from quantity import q

pytestmark = pytest.mark.check


def test_tons_of_350_gallons_a_minute(answer_of: Any) -> None:
    asked = {
        "fluid": {"kind": "water"},
        "flow": q(350, "gpm"),
        "entering_temperature": q(75, "degF"),
        "leaving_temperature": q(54, "degF"),
        "set_point": q(54, "degF"),
        "compressors": [{"id": "1", "capacity": q(1200, "kW"), "started_at": "2026-05-04T09:00:00Z"}],
        "evaluated_at": "2026-05-04T09:20:00Z",
    }
    found = answer_of("readiness.cooling_proof", asked, units="us")["results"]["measured_capacity"]
    assert found["unit"] == "ton"
    assert found["value"] == pytest.approx(306.25, rel=0.003)
