"""The margin is for the machines: no part of it moves liquid. Invented data."""

from typing import Any

import pytest
from orders import order
from quantity import q


def _plan(answer_of: Any, margin: float, **more: Any) -> dict[str, Any]:
    results: dict[str, Any] = answer_of("booking.assessment", order(duty__margin_fraction=margin, **more))["results"]
    return results


def test_flow_is_that_of_the_load_whatever_the_margin(answer_of: Any) -> None:
    tight, wide = (_plan(answer_of, m, duty__temperature_difference=q(5, "delta_degC")) for m in (0.0, 0.25))
    # 200 kW over 5 K of water at 4.2 kJ/(kg K) and 1000 kg/m3 (ordinary figures of water, 0.3 %)
    assert tight["loop"]["wanted_flow"]["value"] == pytest.approx(200 / (4.2 * 5), rel=3e-3)
    assert wide["loop"]["wanted_flow"]["value"] == pytest.approx(tight["loop"]["wanted_flow"]["value"], rel=1e-9)
    assert wide["design_load"]["value"] == pytest.approx(1.25 * wide["load"]["gross"]["value"], rel=1e-6)


def test_a_flow_that_is_given_makes_the_difference_of_the_load(answer_of: Any) -> None:
    """The machines are asked at the difference that the load makes on the flow, not at that of load and margin."""
    plan = _plan(answer_of, 0.25, duty__liquid_flow=q(9.524, "L/s"))
    (asked, *_) = plan["asked"]["capacities"]
    assert asked["conditions"]["temperature_difference"]["value"] == pytest.approx(5.0, rel=3e-3)
