"""The inhibited fluid beside a strength by volume."""

import pytest

from coldwright.contract import Fluid
from coldwright_hydronic.shared.second_opinion import second_opinion

BY_VOLUME = {"kind": "ethylene_glycol", "volume_fraction": 0.35}


def test_second_opinion_needs_a_volume_fraction_in_its_range():
    assert not second_opinion(Fluid(kind="ethylene_glycol", mass_fraction=0.3))
    assert not second_opinion(Fluid(kind="ethylene_glycol", volume_fraction=0.08))
    cold = second_opinion(Fluid(kind="ethylene_glycol", volume_fraction=0.3), 250.0)
    assert cold
    assert cold.freezing_temperature.value == pytest.approx(-15.7, abs=0.1)
    assert not cold.density


@pytest.mark.parametrize(
    "name", ["loop", "heat_balance", "fill", "exchanger_flow", "air_removal", "surge", "drain_down"]
)
def test_a_strength_by_volume_brings_the_inhibited_fluid_beside(answer_of, registry, name):
    calculator = registry.lookup(f"hydronic.{name}")
    given = next(dict(e.given) for e in calculator.examples if "fluid" in e.given)
    at = {} if name == "heat_balance" else {"temperature": {"value": 8, "unit": "degC"}}
    plain = answer_of(calculator.id, given | {"fluid": {"kind": "ethylene_glycol", "mass_fraction": 0.35} | at})
    beside = answer_of(calculator.id, given | {"fluid": BY_VOLUME | at})
    assert "second_opinion" not in plain["results"]
    opinion = beside["results"]["second_opinion"]
    assert -22 < opinion["freezing_temperature"]["value"] < -16
    assert opinion["density"]["value"] == pytest.approx(1050, rel=0.02)
