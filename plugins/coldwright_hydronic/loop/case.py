"""A loop that has been worked out, as its findings and its report look at it. SI."""

from dataclasses import dataclass

from msgspec import UNSET

from coldwright_basis.liquids import FluidState, vapor_pressure
from coldwright_hydronic.loop.building import Loop, build
from coldwright_hydronic.loop.duty_point import duty_flow
from coldwright_hydronic.loop.given import LoopGiven
from coldwright_hydronic.loop.power import air_at, npsh_available
from coldwright_hydronic.loop.pressures import Pressures, Reading, pressures


@dataclass(frozen=True, slots=True)
class Case:
    """The loop at its duty."""

    given: LoopGiven
    state: FluidState
    loop: Loop
    flow: float
    press: Pressures
    readings: tuple[Reading, ...]
    """All of them, those inside branches too."""
    resistance: float
    """Friction of all elements and stopped pumps, Pa."""
    vapor: float | None
    npsh: float | None
    """Suction head available at the first pump, m."""

    @property
    def rise(self) -> float:
        """Of the pumps, or what pumps would have to make, Pa."""
        return self.resistance + self.loop.lift

    @property
    def highest_unlike(self) -> float:
        """Highest gauge pressure that the loop can see: running, standing, or against a shut valve."""
        highest = max(max(r.pressure_in, r.pressure_out) for r in self.readings)
        if self.press.shut_off_rise is None:
            return highest
        lowest_place = min(min(r.node.bottom, r.node.top) for r in self.readings)
        height = lowest_place - self.given.pump_elevation.si
        return max(highest, self.press.standing_at_pump + self.press.shut_off_rise - self.loop.weight * height)


def required_flow(given: LoopGiven, state: FluidState) -> float | None:
    """Wanted flow, m3/s: given, or load over rho cp dT."""
    wanted = given.required
    if wanted is UNSET:
        return None
    if wanted.flow is not UNSET:
        return wanted.flow.si
    if wanted.load is UNSET or wanted.temperature_difference is UNSET:
        return None
    return wanted.load.si / (state.volumetric_heat * wanted.temperature_difference.si)


def work_out(given: LoopGiven, state: FluidState) -> Case:
    """Build the loop, find its flow, walk its pressures."""
    loop = build(given, state)
    flow = duty_flow(loop)
    press = pressures(loop, flow)
    return Case(
        given=given,
        state=state,
        loop=loop,
        flow=flow,
        press=press,
        readings=tuple(press),
        resistance=loop.resistance(flow),
        vapor=vapor_at(given),
        npsh=suction_head(given, state, press.suction),
    )


def vapor_at(given: LoopGiven) -> float | None:
    """Vapour pressure of the liquid, Pa absolute; None where it is not known."""
    fluid = given.fluid
    if fluid.kind == "custom" or fluid.temperature is UNSET:
        return None if fluid.vapor_pressure is UNSET else fluid.vapor_pressure.si
    return vapor_pressure(fluid, fluid.temperature.si)


def suction_head(given: LoopGiven, state: FluidState, suction: float) -> float | None:
    """Suction head available, m; None where the vapour pressure is not known."""
    vapor = vapor_at(given)
    return None if vapor is None else npsh_available(suction, air_at(given), vapor, state.density)
