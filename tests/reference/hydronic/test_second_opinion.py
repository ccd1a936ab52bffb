"""The fit for inhibited glycol against its source."""

import pytest

from coldwright.contract import Fluid
from coldwright.contract.quantities import Temperature
from coldwright_basis import liquids
from coldwright_hydronic.shared.second_opinion import second_opinion

pytestmark = pytest.mark.check


def test_inhibited_glycol_is_the_second_opinion():
    """Seen: ASHRAE table as reproduced in an open data set: propylene, 0.30 by volume at 10 degC, 4.52 mPa.s."""
    glycol = Fluid(kind="propylene_glycol", volume_fraction=0.3, temperature=Temperature(10, "degC"))
    opinion = second_opinion(glycol, 283.15)
    assert opinion
    assert opinion.dynamic_viscosity.value == pytest.approx(4.52, rel=0.04)
    assert liquids.properties(glycol).dynamic_viscosity == pytest.approx(4.52e-3, rel=0.04)
