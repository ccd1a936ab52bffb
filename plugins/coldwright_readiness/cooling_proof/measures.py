"""What flow and temperatures come to: cooling, trend, times. SI inside."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Fluid, Notes, say, tidy
from coldwright.contract.quantities import Temperature, TemperatureDifference
from coldwright_basis.compare import at_most
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.instants import NANO, instant, span
from coldwright_basis.liquids import HOTTEST, WATER_COLDEST, FluidState, freezing_temperature, properties
from coldwright_readiness.cooling_proof.given import CoolingProofGiven
from coldwright_readiness.shared.pull_down import LOOP_PRESSURE, Cooling, loop_state

TREND: Final = 600 * NANO
SOON: Final = 180 * NANO
NEAR_SET_POINT: Final = TemperatureDifference(2.0, "delta_degF").si


class Measures:
    """The numbers behind the verdict."""

    def __init__(self, given: CoolingProofGiven, notes: Notes) -> None:
        self.now = instant(given.evaluated_at)
        starts = [instant(c.started_at) for c in given.compressors]
        self.running_for = self.now - min(starts)
        self.next_start = max(starts) + span(given.anti_recycle)
        self.power = sum(c.capacity.si for c in given.compressors)
        self._measure_cooling(given, notes)
        self._look_ahead(given, notes)
        self._follow_trend(given)
        self.turnover = None if given.loop_volume is UNSET else given.loop_volume.si / given.flow.si
        circulated = self.turnover is None or self.running_for >= self.turnover * NANO
        self.too_soon = self.running_for < SOON or not circulated

    def _measure_cooling(self, given: CoolingProofGiven, notes: Notes) -> None:
        entering, leaving, flow = given.entering_temperature.si, given.leaving_temperature.si, given.flow.si
        density = _liquid(given.fluid, entering, notes).density
        heat = _liquid(given.fluid, (entering + leaving) / 2, notes).specific_heat
        per_kelvin = density * heat * flow
        self.difference = entering - leaving
        self.capacity = per_kelvin * self.difference
        self.expected_difference = self.power / per_kelvin
        self.ratio = tidy(self.capacity / self.power)
        notes.show(
            "Q",
            "Cooling: rho cp V (T_in - T_out)",
            f"{density:.5g} kg/m3 x {heat:.5g} J/kg.K x {flow:.5g} m3/s x {self.difference:.5g} K",
            self.capacity / 1000,
            "kW",
        )
        notes.show(
            "dT_expected", "Sum of capacity / (rho cp V)", f"{self.power:.5g} / {per_kelvin:.5g}",
            self.expected_difference, "delta_degC",
        )  # fmt: skip

    def _look_ahead(self, given: CoolingProofGiven, notes: Notes) -> None:
        self.heat_capacity: float | None = None
        self.time_to_set_point: float | None = None
        self.expected_rate: float | None = None
        if given.loop_volume is UNSET:
            return
        now, target = given.leaving_temperature.si, given.set_point.si
        coldest = _coldest(given.fluid)
        state = loop_state(given.fluid, now if coldest is None else max(now, coldest), target)
        load = 0.0 if given.load is UNSET else given.load.si
        self.heat_capacity = given.loop_volume.si * state.volumetric_heat
        cooling = Cooling(self.heat_capacity, self.power, load, given.load_model)
        self.time_to_set_point = cooling.time_between(now, target)
        self.expected_rate = cooling.fall_rate(now) if now > target else 0.0
        volume = given.loop_volume.si
        notes.show(
            "C", "Heat capacity of the loop: V rho cp", f"{volume:.5g} m3 x {state.volumetric_heat:.6g} J/m3.K",
            self.heat_capacity / 1e6, "MJ/K",
        )  # fmt: skip
        settles = cooling.final_temperature()
        if settles is not None:
            driving = cooling.driving - ZERO_CELSIUS
            expression = f"T_d - (Q - load) / UA = {driving:.5g} - {self.power - load:.5g} / {cooling.ua:.5g}"
            notes.show(
                "T_inf", "Temperature at which the loop would settle", expression, settles - ZERO_CELSIUS, "degC"
            )
        if self.time_to_set_point is not None:
            if settles is None:
                expression = (
                    f"C (T - T_set) / (Q - load) = C x {max(0.0, now - target):.5g} K / {self.power - load:.5g} W"
                )
            else:
                expression = "(C / UA) ln((T - T_inf) / (T_set - T_inf)), 0 when already there"
            notes.show("t", "Time to the set point", expression, self.time_to_set_point, "s")

    def _follow_trend(self, given: CoolingProofGiven) -> None:
        points = [(instant(s.at), s.leaving.si) for s in given.samples]
        recent = [(t, leaving) for t, leaving in points if self.now - TREND <= t <= self.now]
        self.measured_rate = _fall_rate(recent, self.now)
        self.rate_ratio: float | None = None
        if self.measured_rate is not None and self.expected_rate is not None and self.expected_rate > 0:
            self.rate_ratio = self.measured_rate / self.expected_rate
        self.falling = self.difference > 0 if self.measured_rate is None else self.measured_rate > 0
        limit = given.set_point.si + NEAR_SET_POINT
        reach_back = bool(recent) and min(t for t, _ in points) <= self.now - TREND
        cold = all(at_most(leaving, limit) for leaving in (given.leaving_temperature.si, *(v for _, v in recent)))
        self.held_cold = reach_back and cold


def _fall_rate(points: list[tuple[int, float]], now: int) -> float | None:
    """K/s by least squares, positive when falling; None without two different instants."""
    if len({t for t, _ in points}) < 2:
        return None
    times = [(t - now) / NANO for t, _ in points]
    middle = sum(times) / len(times)
    mean = sum(value for _, value in points) / len(points)
    spread = sum((t - middle) ** 2 for t in times)
    if spread == 0:
        return None
    slope = sum((t - middle) * (value - mean) for t, (_, value) in zip(times, points, strict=True)) / spread
    return -slope


def _coldest(fluid: Fluid) -> float | None:
    """K, from which on the liquid has properties."""
    if fluid.kind == "water":
        return WATER_COLDEST
    freezing = freezing_temperature(fluid)
    return None if freezing is None else freezing + 0.01


def _liquid(fluid: Fluid, temperature: float, notes: Notes) -> FluidState:
    """Properties; a reading colder than the liquid can be takes those at its coldest, and a note says so."""
    coldest = _coldest(fluid)
    used = min(temperature, HOTTEST) if coldest is None else min(max(temperature, coldest), HOTTEST)
    if used != temperature and all(f.code != "outside_fluid_data" for f in notes.findings):
        notes.show("T", "Temperature read", "as given, or their mean", temperature - ZERO_CELSIUS, "degC")
        notes.show("T_p", "Temperature of the properties taken", "nearest with data", used - ZERO_CELSIUS, "degC")
        notes.note(
            "outside_fluid_data",
            say(
                "The liquid has no properties at {temperature:.2f}; those at {used:.2f} were taken.",
                temperature=Temperature.from_si(temperature, "degC"),
                used=Temperature.from_si(used, "degC"),
            ),
        )
    return properties(fluid, used, LOOP_PRESSURE, needs=("density", "specific_heat"))
