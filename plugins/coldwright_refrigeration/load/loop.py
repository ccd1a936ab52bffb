"""Loads of the loop itself: a measured flow, hoses, pumps."""

import math

from msgspec import UNSET

from coldwright.contract import Refused, field_error, lazy, say
from coldwright.contract.quantities import Power, Temperature, TemperatureDifference
from coldwright_basis.compare import between, same
from coldwright_basis.constants import STANDARD_GRAVITY
from coldwright_refrigeration.load.found import Found, Place
from coldwright_refrigeration.load.given import HoseLoad, LiquidFlowLoad, PumpLoad
from coldwright_refrigeration.shared import liquids
from coldwright_refrigeration.shared.liquids import must_fall

atmosphere = lazy("fluids.atmosphere")

STEFAN_BOLTZMANN = 5.670374419e-8
AIR_HEAT = 1006.0
"""Specific heat of air, J/kg.K."""
TEN_CELSIUS = 283.15
LEAST_DIFFERENCE, GREATEST_DIFFERENCE = 4 / 1.8, 20 / 1.8


def liquid_flow(entry: LiquidFlowLoad, place: Place) -> Found:
    """Q = V rho(entering) (h(entering) - h(leaving))."""
    at, fluid = place.pointer, place.fluid
    if errors := must_fall(f"{at}/leaving_temperature", entry.entering_temperature, entry.leaving_temperature):
        raise Refused(errors)
    liquids.check_liquid_at(fluid, entry.entering_temperature, f"{at}/entering_temperature")
    liquids.check_liquid_at(fluid, entry.leaving_temperature, f"{at}/leaving_temperature")
    warm, cold = entry.entering_temperature.si, entry.leaving_temperature.si
    density, drop = liquids.density(fluid, warm), liquids.enthalpy_drop(fluid, warm, cold)
    heat = entry.flow.si * density * drop
    expression = f"V rho (h_in - h_out) = {entry.flow} x {density:.3f} kg/m3 x {drop / 1000:.4f} kJ/kg"
    place.notes.show("Q", place.name, expression, Power.from_si(heat, "kW"))
    difference = warm - cold
    if not between(LEAST_DIFFERENCE, difference, GREATEST_DIFFERENCE):
        shown = TemperatureDifference.from_si(difference, "delta_degF")
        place.notes.check(
            "liquid_difference_doubtful",
            say("{name}: the liquid changes by {difference}.", name=place.name, difference=shown),
            why="Outside 4 to 20 delta_degF a reading or an assumption is usually wrong, and small errors weigh much.",
            resolve="Read both temperatures again with one probe, and the flow.",
            field=f"{at}/leaving_temperature",
            references=("refrigeration_practice",),
        )
    return Found(heat)


def pump(entry: PumpLoad, place: Place) -> Found:
    """Shaft power, all of which ends in the loop; the motor's loss as well where the liquid cools it."""
    density = liquids.density(place.fluid, TEN_CELSIUS)
    heat = density * STANDARD_GRAVITY * entry.flow.si * entry.head.si / entry.pump_efficiency
    expression = (
        f"rho g V H / eta_p = {density:.2f} kg/m3 x {STANDARD_GRAVITY} m/s2 x {entry.flow} x {entry.head} / "
        f"{entry.pump_efficiency:g}"
    )
    if entry.motor_in_liquid:
        heat /= entry.motor_efficiency
        expression += f" / {entry.motor_efficiency:g}"
    place.notes.show("Q", place.name, expression, Power.from_si(heat, "kW"))
    return Found(heat)


def hose(entry: HoseLoad, place: Place) -> Found:
    """Heat through the wall from the sol-air temperature: the air's, raised by the sun that the surface takes up."""
    if entry.inside_diameter.si >= entry.outside_diameter.si:
        text = f"The inside diameter of {entry.inside_diameter} is not below the outside diameter."
        raise Refused([field_error(f"{place.pointer}/inside_diameter", text, value=entry.inside_diameter)])
    notes = place.notes
    wall = math.log(entry.outside_diameter.si / entry.inside_diameter.si) / (2 * math.pi * entry.wall_conductivity.si)
    film = (
        _film(entry, place.pressure, wall)
        if entry.outside_film_coefficient is UNSET
        else entry.outside_film_coefficient.si
    )
    sol_air, each = _through(entry, film, wall)
    shown = Temperature.from_si(sol_air, "degC")
    expression = (
        f"Ta + a G / (pi h) = {entry.air_temperature} + {entry.solar_absorptance:g} x "
        f"{entry.solar_irradiance} / (pi x {film:.6g} W/m2.K)"
    )
    notes.show("T_sol", f"{place.name}: sol-air temperature", expression, shown)
    expression = (
        f"(T_sol - T) / (ln(Do/Di)/(2 pi k) + 1/(h pi Do)) = ({shown} - {entry.liquid_temperature}) / ({wall:.6g} m.K/W + "
        f"1/({film:.6g} W/m2.K x pi x {entry.outside_diameter}))"
    )
    notes.show("q", f"{place.name}: heat for each metre", expression, each, "W/m")
    if each < 0:
        lost = Power.from_si(-each * entry.length.si, "kW")
        notes.show("Q_lost", f"{place.name}: heat that the hose loses", f"-q x {entry.length}", lost)
        notes.note(
            "hose_loses_heat",
            say(
                "{name}: the surroundings, at {warmest} with the sun, are colder than the liquid. The hose "
                "brings no load; what it loses ({lost}) is not taken off.",
                name=place.name,
                warmest=shown,
                lost=lost,
            ),
            field=f"{place.pointer}/air_temperature",
        )
        return Found(0.0)
    return Found(each * entry.length.si)


def _through(entry: HoseLoad, film: float, wall: float) -> tuple[float, float]:
    """Sol-air temperature, K, and heat for each metre, W/m."""
    sol_air = entry.air_temperature.si + entry.solar_absorptance * entry.solar_irradiance.si / (math.pi * film)
    outside = 1 / (film * math.pi * entry.outside_diameter.si)
    return sol_air, (sol_air - entry.liquid_temperature.si) / (wall + outside)


def _film(entry: HoseLoad, pressure: float, wall: float) -> float:
    """Wind across a cylinder (Churchill and Bernstein) and radiation, settled on the surface temperature, W/m2.K."""
    air, liquid = entry.air_temperature.si, entry.liquid_temperature.si
    speed, diameter = entry.wind_speed.si, entry.outside_diameter.si
    surface = air
    film = 0.0
    for _ in range(100):
        mean = (air + surface) / 2
        viscosity, conductivity = (
            atmosphere.ATMOSPHERE_1976.viscosity(mean),
            atmosphere.ATMOSPHERE_1976.thermal_conductivity(mean),
        )
        reynolds = pressure / (287.042 * mean) * speed * diameter / viscosity
        prandtl = AIR_HEAT * viscosity / conductivity
        wind = churchill_bernstein(reynolds, prandtl) * conductivity / diameter
        radiation = entry.emissivity * STEFAN_BOLTZMANN * (surface**2 + air**2) * (surface + air)
        film = wind + radiation
        _, each = _through(entry, film, wall)
        settled = liquid + each * wall
        if same(settled, surface):
            break
        surface += 0.7 * (settled - surface)
    return film


def churchill_bernstein(reynolds: float, prandtl: float) -> float:
    """Nusselt number of a cylinder in cross-flow; holds for Re Pr above 0.2."""
    laminar = 0.62 * reynolds**0.5 * prandtl ** (1 / 3) / (1 + (0.4 / prandtl) ** (2 / 3)) ** 0.25
    nusselt: float = 0.3 + laminar * (1 + (reynolds / 282000) ** (5 / 8)) ** (4 / 5)
    return nusselt
