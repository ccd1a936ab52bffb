"""A vapour-compression cycle fitted through one rated point: capacity where no table is at hand."""

import math
from typing import NamedTuple

from coldwright.contract import Allowed, Notes, Refused, field_error, lazy, refuse, tidy
from coldwright.contract.quantities import HeatLossCoefficient, Power, Temperature, TemperatureDifference, VolumeFlow
from coldwright_basis.compare import above, at_most
from coldwright_refrigeration.capacity.given import CapacityAssumed, RatedPoint
from coldwright_refrigeration.capacity.results import CapacityEstimate
from coldwright_refrigeration.shared.refrigerant_states import OutOfEquation, RefrigerantStates

optimize = lazy("scipy.optimize")

POINT = "/machine/rated_point"
VOLUMETRIC_LOSS = 0.02
"""Loss of volumetric efficiency for each unit of pressure ratio above 1: common practice."""
OFF_RATIO_LOSS = 0.15
"""Loss of isentropic efficiency with the square of the pressure ratio's distance from rated: common practice."""
LEAST_EFFICIENCY, GREATEST_EFFICIENCY = 0.45, 0.85
FURTHEST_AMBIENT, FURTHEST_LEAVING = 15.0, 8.0
"""K from the rated point within which the estimate may be used."""
UNCERTAINTY = ((5.0, 0.05), (10.0, 0.08), (math.inf, 0.12))
"""Relative uncertainty up to a distance (K) from the rated point."""
EVAPORATOR_EXPONENT = -0.6
TOLERANCE = 1e-7
"""Relative, of both temperatures: the solver's last step goes far beyond."""


class Cycle(NamedTuple):
    """Specific figures of the cycle between two saturation temperatures, SI."""

    cooling: float
    isentropic_work: float
    suction_density: float
    pressure_ratio: float


class Demand(NamedTuple):
    """What the machine shall do: K, and either a heat capacity flow (W/K) or a temperature difference (K)."""

    leaving: float
    ambient: float
    conductance_ratio: float
    capacity_flow: float | None
    difference: float


class Balance(NamedTuple):
    """Where compressor and heat exchangers agree, SI."""

    evaporating: float
    condensing: float
    capacity: float
    compressor_power: float


class Fit:
    """The machine fitted through its rated point."""

    def __init__(self, rated: RatedPoint, assumed: CapacityAssumed) -> None:
        self._states = RefrigerantStates(rated.refrigerant)
        self._cycles: dict[tuple[float, float], Cycle] = {}  # a solver comes back to where it was
        self._outlet = 0.0  # temperature at the end of the last compression: the next ends near it
        self._superheat, self._subcooling = assumed.superheat.si, assumed.subcooling.si
        fans = assumed.fan_power_fraction * rated.power.si if rated.power_includes_fans else 0.0
        self.fan_power = fans
        self.rated_power = compressors = rated.power.si - fans
        leaving, difference, heat = (
            rated.leaving_liquid_temperature.si,
            rated.temperature_difference.si,
            rated.capacity.si,
        )
        self.rated_evaporating = leaving - assumed.rated_evaporating_approach.si
        self.rated_condensing = rated.ambient_temperature.si + assumed.rated_condensing_over_ambient.si
        try:
            at_rating = self.cycle(self.rated_evaporating, self.rated_condensing)
        except OutOfEquation as error:
            raise _no_cycle(rated, str(error)) from None
        if at_rating.cooling <= 0 or at_rating.isentropic_work <= 0:
            raise _no_cycle(rated, "the cycle gives no cooling")
        self.at_rating = at_rating
        mass_flow = heat / at_rating.cooling
        self.rated_ratio = at_rating.pressure_ratio
        self.swept_flow = mass_flow / (at_rating.suction_density * _volumetric(at_rating.pressure_ratio))
        self.efficiency = mass_flow * at_rating.isentropic_work / compressors
        if not LEAST_EFFICIENCY <= self.efficiency <= GREATEST_EFFICIENCY:
            raise _do_not_belong(rated, self.efficiency)
        self.rated_capacity_flow = heat / difference
        self.effectiveness = difference / (leaving + difference - self.rated_evaporating)
        self._ntu = -math.log1p(-self.effectiveness)
        self.conductance = (heat + compressors) / (self.rated_condensing - rated.ambient_temperature.si)
        self._at_rating = (leaving, rated.ambient_temperature.si)

    def cycle(self, evaporating: float, condensing: float) -> Cycle:
        """Specific figures between a dew temperature and a mean condensing temperature, K."""
        pair = (evaporating, condensing)
        if pair not in self._cycles:
            self._cycles[pair] = self._cycle(evaporating, condensing)
        return self._cycles[pair]

    def _cycle(self, evaporating: float, condensing: float) -> Cycle:
        saturation = self._states.saturation
        low, high = saturation.dew.lowest_temperature, saturation.bubble.highest_temperature
        if not low <= evaporating < condensing <= high:
            raise OutOfEquation(
                f"{evaporating:.1f} K and {condensing:.1f} K do not lie, rising, in {low:.1f} to {high:.1f} K"
            )
        suction, discharge = saturation.dew.pressure(evaporating), saturation.pressure_at_mean(condensing)
        if not saturation.lowest_pressure <= suction < discharge <= saturation.highest_pressure:
            raise OutOfEquation("a pressure lies outside the tabulated saturation lines")
        inlet = self._states.gas(suction, evaporating + self._superheat)
        liquid = self._states.liquid(discharge, saturation.bubble.temperature(discharge) - self._subcooling)
        outlet = self._states.at(discharge, "entropy", inlet.entropy, self._outlet)
        self._outlet = outlet.temperature
        return Cycle(
            inlet.enthalpy - liquid.enthalpy, outlet.enthalpy - inlet.enthalpy, inlet.density, discharge / suction
        )

    def compressor(self, evaporating: float, condensing: float) -> tuple[float, float]:
        """Capacity and compressor power between two saturation temperatures, W."""
        cycle = self.cycle(evaporating, condensing)
        mass_flow = self.swept_flow * cycle.suction_density * _volumetric(cycle.pressure_ratio)
        return mass_flow * cycle.cooling, mass_flow * cycle.isentropic_work / self.efficiency_at(cycle)

    def efficiency_at(self, cycle: Cycle) -> float:
        """Isentropic efficiency of the compressor."""
        off = cycle.pressure_ratio / self.rated_ratio - 1
        return self.efficiency * max(1 - OFF_RATIO_LOSS * off**2, 0.1)

    def evaporator_approach(self, capacity: float, demand: Demand) -> float:
        """Leaving liquid over evaporating temperature, K, that passes a capacity."""
        flow = demand.capacity_flow or capacity / demand.difference
        ntu = self._ntu * (flow / self.rated_capacity_flow) ** EVAPORATOR_EXPONENT
        return capacity / flow / math.expm1(ntu)

    def balance(self, demand: Demand, start: tuple[float, float] | None = None) -> Balance | None:
        """Evaporating and condensing temperature at which all three parts agree; None where there is no such pair."""
        saturation = self._states.saturation
        low, high = saturation.dew.lowest_temperature, saturation.bubble.highest_temperature

        def gaps(pair: "list[float]") -> list[float]:
            cold, warm = map(float, pair)  # numpy's own numbers are slow to reckon with one by one
            evaporating = min(max(cold, low), demand.leaving)
            condensing = min(max(warm, evaporating + 1), high)
            capacity, power = self.compressor(evaporating, condensing)
            evaporator = demand.leaving - self.evaporator_approach(capacity, demand) - cold
            rise = (capacity + power) / (self.conductance * demand.conductance_ratio)
            return [evaporator, demand.ambient + rise - warm]

        try:
            found = optimize.root(gaps, start or self._rated_differences(demand), tol=TOLERANCE)
            evaporating, condensing = (float(x) for x in found.x)
            if max(abs(gap) for gap in gaps(found.x)) > 1e-6:
                return None
            return Balance(evaporating, condensing, *self.compressor(evaporating, condensing))
        except OutOfEquation:
            return None

    def _rated_differences(self, demand: Demand) -> tuple[float, float]:
        """Evaporating and condensing temperature as far from liquid and air as at the rated point, K."""
        leaving, ambient = self._at_rating
        return demand.leaving + self.rated_evaporating - leaving, demand.ambient + self.rated_condensing - ambient


def _volumetric(pressure_ratio: float) -> float:
    return max(1 - VOLUMETRIC_LOSS * (pressure_ratio - 1), 0.1)


def _no_cycle(rated: RatedPoint, reason: str) -> Refused:
    return refuse(
        POINT,
        f"No cycle of {rated.refrigerant} can be drawn through this rated point: {reason}",
        why="The estimate needs both saturation temperatures inside the data of the refrigerant.",
    )


def _do_not_belong(rated: RatedPoint, efficiency: float) -> Refused:
    return refuse(
        f"{POINT}/power",
        f"{rated.capacity} with {rated.power} asks for an isentropic efficiency of {efficiency:.3f}: the rated data "
        "do not "
        "belong together.",
        value=rated.power,
        allowed=Allowed(
            minimum=tidy(round(rated.power.value * efficiency / GREATEST_EFFICIENCY, 6)),
            maximum=tidy(round(rated.power.value * efficiency / LEAST_EFFICIENCY, 6)),
            unit=rated.power.unit,
        ),
        why=f"Compressors of such machines work at {LEAST_EFFICIENCY} to {GREATEST_EFFICIENCY}; a capacity in the "
        "wrong unit "
        "or of another point is the usual cause.",
    )


def check_reach(rated: RatedPoint, leaving: float, ambient: float, shifted: tuple[float, float]) -> float:
    """Relative uncertainty at conditions in K, which penalties have shifted; refused too far from the rated point."""
    off_leaving = leaving - rated.leaving_liquid_temperature.si
    off_ambient = ambient - rated.ambient_temperature.si
    errors = []
    for name, off, most, of, shift in (
        ("ambient_temperature", off_ambient, FURTHEST_AMBIENT, rated.ambient_temperature, shifted[1]),
        ("leaving_liquid_temperature", off_leaving, FURTHEST_LEAVING, rated.leaving_liquid_temperature, shifted[0]),
    ):
        if above(abs(off), most):
            value = Temperature.from_si(of.si + off, of.unit)
            errors.append(
                field_error(
                    f"/conditions/{name}",
                    f"{value}, with the penalties that act, is {abs(off):.2f} K from the rated {of}; the estimate "
                    "reaches "
                    f"{most:g} K.",
                    value=Temperature.from_si(of.si + off - shift, of.unit),
                    allowed=Allowed(
                        minimum=tidy(round(Temperature.from_si(of.si - most - shift, of.unit).value, 6)),
                        maximum=tidy(round(Temperature.from_si(of.si + most - shift, of.unit).value, 6)),
                        unit=of.unit,
                    ),
                    why="A fit through one point is trusted only near it. A rating table reaches further.",
                )
            )
    if errors:
        raise Refused(errors)
    distance = max(abs(off_leaving), abs(off_ambient))
    return next(u for reach, u in UNCERTAINTY if at_most(distance, reach))


def show_fit(fit: Fit, rated: RatedPoint, assumed: CapacityAssumed, notes: Notes) -> None:
    """The fit in the working."""
    te, tc = (Temperature.from_si(t, "degC") for t in (fit.rated_evaporating, fit.rated_condensing))
    at, power = fit.at_rating, Power.from_si(fit.rated_power, "kW")
    expression = f"leaving - approach = {rated.leaving_liquid_temperature} - {assumed.rated_evaporating_approach}"
    notes.show("Te_r", "Evaporating (dew) temperature at the rated point", expression, te)
    expression = f"ambient + rise = {rated.ambient_temperature} + {assumed.rated_condensing_over_ambient}"
    notes.show("Tc_r", "Condensing temperature (mean) at the rated point", expression, tc)
    notes.show("PR_r", "Pressure ratio at the rated point", f"p({tc}) / p({te}), {rated.refrigerant}", fit.rated_ratio)
    expression = f"Q / q_e = {rated.capacity} / ({at.cooling / 1000:.6g} kJ/kg)"
    notes.show("m_r", "Refrigerant at the rated point", expression, rated.capacity.si / at.cooling, "kg/s")
    expression = f"m / (rho_1 eta_v) = m_r / ({at.suction_density:.6g} kg/m3 x {_words_of_volume(at)})"
    notes.show("V", "Swept volume flow", expression, fit.swept_flow, "m3/s")
    expression = f"m w_s / P_compressors = m_r x {at.isentropic_work / 1000:.6g} kJ/kg / {power}"
    notes.show("eta_r", "Isentropic efficiency at the rated point", expression, fit.efficiency)
    entering = Temperature.from_si(rated.leaving_liquid_temperature.si + rated.temperature_difference.si, "degC")
    expression = f"dT / (entering - Te) = {rated.temperature_difference} / ({entering} - {te})"
    notes.show("eps_e", "Evaporator effectiveness", expression, fit.effectiveness)
    expression = (
        f"(Q + P_compressors) / (Tc - Ta) = ({rated.capacity} + {power}) / ({tc} - {rated.ambient_temperature})"
    )
    notes.show("K_c", "Condenser conductance", expression, fit.conductance / 1000, "kW/K")


def _words_of_volume(cycle: Cycle) -> str:
    return f"(1 - {VOLUMETRIC_LOSS:g} x ({cycle.pressure_ratio:.6g} - 1))"


def show_balance(fit: Fit, balance: Balance, demand: Demand, notes: Notes) -> None:
    """The balance in the working."""
    te, tc = (Temperature.from_si(t, "degC") for t in (balance.evaporating, balance.condensing))
    leaving, ambient = (Temperature.from_si(t, "degC") for t in (demand.leaving, demand.ambient))
    heat, work = Power.from_si(balance.capacity, "kW"), Power.from_si(balance.compressor_power, "kW")
    approach = TemperatureDifference.from_si(fit.evaporator_approach(balance.capacity, demand), "delta_degC")
    notes.show("Te", "Evaporating (dew) temperature", f"leaving - approach = {leaving} - {approach}", te)
    expression = f"Ta + (Q + P) / (K_c x) = {ambient} + ({heat} + {work}) / (K_c x {demand.conductance_ratio:.6g})"
    notes.show("Tc", "Condensing temperature (mean)", expression, tc)
    cycle = fit.cycle(balance.evaporating, balance.condensing)
    expression = f"V rho_1 eta_v q_e = V x {cycle.suction_density:.6g} kg/m3 x {_words_of_volume(cycle)} x "
    notes.show("Q_fit", "Capacity by the estimate", f"{expression}{cycle.cooling / 1000:.6g} kJ/kg", heat)
    mass_flow, efficiency = balance.capacity / cycle.cooling, fit.efficiency_at(cycle)
    expression = (
        f"m w_s / eta + fans = {mass_flow:.6g} kg/s x {cycle.isentropic_work / 1000:.6g} kJ/kg / {efficiency:.6g}"
    )
    fans = Power.from_si(fit.fan_power, "kW")
    power = Power.from_si(balance.compressor_power + fit.fan_power, "kW")
    notes.show("P_fit", "Power by the estimate", f"{expression} + {fans}", power)


def described(fit: Fit, balance: Balance) -> CapacityEstimate:
    """The fit and the balance, for the answer."""
    return CapacityEstimate(
        swept_volume_flow=VolumeFlow.from_si(fit.swept_flow, "m3/s"),
        isentropic_efficiency=tidy(fit.efficiency),
        evaporator_effectiveness=tidy(fit.effectiveness),
        condenser_conductance=HeatLossCoefficient.from_si(fit.conductance, "kW/K"),
        evaporating_temperature=Temperature.from_si(balance.evaporating, "degC"),
        condensing_temperature=Temperature.from_si(balance.condensing, "degC"),
    )
