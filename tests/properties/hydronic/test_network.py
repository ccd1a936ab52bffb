"""Splits of flow over unequal paths: the quick way against the sure way, and the step at Re 2040."""

import pytest
from hypothesis import given as over
from hypothesis import strategies as st

from coldwright_hydronic.loop import network
from coldwright_hydronic.loop.network import Parallel, Path
from coldwright_hydronic.shared.friction import LAMINAR_BELOW, friction_factor, line_drop

DENSITY = 1000.0


@st.composite
def paths(draw):
    viscosity = draw(st.sampled_from([1e-3, 8e-3, 5e-2]))
    found = []
    for _ in range(draw(st.integers(1, 3))):
        diameter, length = draw(st.floats(0.02, 0.2)), draw(st.floats(1, 200))
        found.append(network.line(diameter, length, draw(st.floats(0, 2e-4)), 1, DENSITY, viscosity))
    if draw(st.booleans()):
        found.append(network.valve(draw(st.floats(5, 300)), DENSITY))
    if draw(st.booleans()):
        found.append(network.device(0.01, 4e4, draw(st.floats(1.5, 1.99)), 1.0, 1))
    return Path(found)


@over(inside=st.lists(paths(), min_size=2, max_size=5), flow=st.floats(1e-5, 0.1))
def test_newton_and_brackets_agree(inside, flow):
    quick, sure = Parallel(inside), Parallel(inside)
    settled = quick._newton(flow)
    assert settled is not None
    assert sum(quick.flows) == pytest.approx(flow, rel=1e-9)
    assert settled[0] == pytest.approx(sure._bracketed(flow)[0], rel=1e-6)
    assert quick.flows == pytest.approx(sure.flows, rel=1e-5)


@over(inside=paths(), flow=st.floats(1e-5, 0.1))
def test_slope_is_the_derivative(inside, flow):
    drop, slope = inside.drop_and_slope(flow)
    h = flow * 1e-6
    around = inside.drop(flow + h) - inside.drop(flow - h)
    steps = [LAMINAR_BELOW / line[1] for line in inside.lines]
    if all(abs(flow / step - 1) > 1e-4 for step in steps):
        assert slope == pytest.approx(around / (2 * h), rel=1e-4)
    assert drop == inside.drop(flow) > 0


@over(inside=paths(), drop=st.floats(1, 1e5))
def test_flow_at_a_drop_makes_that_drop(inside, drop):
    flow = inside.flow_at(drop, 100.0)
    assert inside.drop(flow) == pytest.approx(drop, rel=1e-6)


def test_the_ramp_joins_both_laws():
    line = network.line(0.05, 10, 5e-5, 1, DENSITY, 1e-3)
    assert line.line
    step = LAMINAR_BELOW / line.line[1]
    below, above = step * (1 - 2 * network.RAMP), step * (1 + 1e-9)
    assert line.drop(below) == pytest.approx(line_drop(below, 0.05, 10, 5e-5, DENSITY, 1e-3), rel=1e-9)
    assert line.drop(above) == pytest.approx(line_drop(above, 0.05, 10, 5e-5, DENSITY, 1e-3), rel=1e-9)
    middle = line.drop(step * (1 - network.RAMP / 2))
    assert middle == pytest.approx((line.drop(below) + line.drop(above)) / 2, rel=1e-3)
    assert friction_factor(2039.9, 1e-3) == pytest.approx(64 / 2039.9)


def test_a_path_on_the_ramp_takes_what_the_others_leave():
    """The drop lies between the laminar and the turbulent value of the first path at Re 2040."""
    doubtful = Path([network.line(0.05, 100, 0, 1, DENSITY, 1e-2)])
    step = LAMINAR_BELOW / doubtful.lines[0][1]
    middle = doubtful.drop(step * (1 - network.RAMP / 2))
    other = Path([network.valve(20, DENSITY)])
    flow = step + other.flow_at(middle, 1.0)
    both = Parallel([doubtful, other])
    assert both._newton(flow) is not None
    assert both.flows[0] == pytest.approx(step, rel=1e-4)
    assert both.drop(flow) == pytest.approx(middle, rel=0.05)


def test_branches_inside_branches_go_the_sure_way_too():
    def nested():
        inner = Parallel([Path([network.valve(20, DENSITY)]), Path([network.line(0.03, 20, 1e-5, 1, DENSITY, 1e-3)])])
        return Parallel([Path([inner, network.valve(60, DENSITY)]), Path([network.valve(35, DENSITY)])])

    quick, sure = nested(), nested()
    assert quick._newton(0.01)[0] == pytest.approx(sure._bracketed(0.01)[0], rel=1e-9)


@pytest.mark.parametrize(
    ("low", "high", "found"), [(2e-9, 1e-9, 5.0), (1e-9, 3e-9, 1.0), (-1e-9, -2e-9, 1.0), (0.0, 1.0, 1.0)]
)
def test_a_root_that_arithmetic_has_moved_out_is_at_the_nearer_end(low, high, found):
    """Where both ends are of one sign the one is taken that is nearer to nothing."""
    assert network.root(lambda x: low + (high - low) * (x - 1) / 4, 1.0, 5.0) == found
