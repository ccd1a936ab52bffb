"""Roughness and friction factor of lines against their sources."""

import pytest

pytestmark = pytest.mark.check


def test_roughness_of_commercial_steel():
    """Seen: Crane TP-410, Example 7.14, as worked in the documentation of fluids: 0.0018 in."""
    from coldwright_hydronic.shared.friction import LINE_ROUGHNESS

    assert LINE_ROUGHNESS["steel"] == pytest.approx(0.0018 * 0.0254, rel=0.01)


@pytest.mark.parametrize("re", [500, 2039, 2041, 5000, 1e5, 1e7])
@pytest.mark.parametrize("roughness", [0.0, 5e-4, 0.049])
def test_friction_factor_solves_colebrook(re, roughness):
    """Derived: 64/Re, or the Colebrook equation put back into itself."""
    from math import log10

    from coldwright_hydronic.shared.friction import friction_factor

    f = friction_factor(re, roughness)
    if re < 2040:
        assert f == pytest.approx(64 / re)
    else:
        assert f**-0.5 == pytest.approx(-2 * log10(roughness / 3.7 + 2.51 / (re * f**0.5)), rel=1e-4)
