"""The sums behind condenser air, in SI units."""

from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Defect, FieldError, Notes, Refused, field_error, refuse, say
from coldwright.contract.quantities import Length, TemperatureDifference
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.usual import given_or_usual
from coldwright_refrigeration.air_side.given import AirSideGiven, GapGiven
from coldwright_refrigeration.shared.condenser_air import condenser_air
from coldwright_refrigeration.shared.moist_air import psychrometrics, site_pressure, standard_pressure
from coldwright_refrigeration.shared.references import ASHRAE_ATMOSPHERE, PRACTICE

GAS_CONSTANT = 287.042
"""J/(kg.K), dry air (ASHRAE Handbook - Fundamentals, chapter 1)."""
HEAT_CAPACITY = 1006.0
"""J/(kg.K), dry air."""
USUAL_RISE = 10.0
MOST_RISE = 60.0
"""K; above it the air would no longer be of one density."""
MOST_FRACTION = 0.6
THERMOMETER = 1.0
"""K; a measured inlet may read this much below the open air."""
ENTRY_LOSS = 1.5
"""Velocity heads lost by entry and turn. Common practice, no source."""
GAP_SHARE = 0.3
"""Of the fans' static pressure: more than that a gap should not take. Common practice, no source."""
FAN_SLOPE = 0.5
LEAST_AIRFLOW_RATIO = 0.2
CAPACITY_PER_DEGF = -0.007
"""Common practice: 0.6 to 0.8 % for each delta_degF."""
MOST_LOSS = -0.5
"""Beyond half the capacity the straight line says nothing."""


class Gap(NamedTuple):
    """Air in the gap, Pa lost there, the flow that is left, and the m that would keep the loss within its share."""

    velocity: float
    pressure_drop: float
    share_of_static: float
    airflow_ratio: float
    distance_needed: float | None


class Air(NamedTuple):
    """kg/m3, m3/s, K."""

    density: float
    airflow: float
    rise: float
    fraction: float
    recirculation_rise: float
    ambient: float
    gap: Gap | None
    shift: float
    effective: float
    capacity_effect: float


def air_of(given: AirSideGiven, notes: Notes) -> Air:
    """Work it all out; refuses pairs that say the same thing and what no condenser does."""
    if errors := _contradictions(given):
        raise Refused(errors)
    pressure = site_pressure(given.altitude, given.barometric_pressure)
    if isinstance(pressure, FieldError):
        raise Refused([pressure])
    if given.altitude is UNSET and given.barometric_pressure is UNSET:
        notes.assume(
            "sea_level",
            "The site is at sea level.",
            value=Length(0, "m"),
            basis="default",
            references=(ASHRAE_ATMOSPHERE.id,),
        )
    density = _density(given, pressure, notes)
    airflow, rise = _flow_and_rise(given, density, notes)
    fraction, recirculation_rise = _recirculation(given, rise, notes)
    gap = None if given.gap is UNSET else _gap(given.gap, density, notes)
    ratio = pressure / standard_pressure(given.rated_altitude.si)
    shift = _shift(given, ratio, 1.0 if gap is None else gap.airflow_ratio, notes)
    effective = given.ambient_temperature.si + recirculation_rise + shift
    effect = CAPACITY_PER_DEGF * 1.8 * (recirculation_rise + shift)
    notes.show(
        "dQ",
        "Change of capacity",
        f"{CAPACITY_PER_DEGF} x 1.8 x ({recirculation_rise:.4g} + {shift:.4g}) K",
        effect,
    )
    return Air(
        density,
        airflow,
        rise,
        fraction,
        recirculation_rise,
        given.ambient_temperature.si,
        gap,
        shift,
        effective,
        effect,
    )


def _contradictions(given: AirSideGiven) -> list[FieldError]:
    errors = []
    parts = [n for n in ("capacity", "power") if getattr(given, n) is not UNSET]
    if given.heat_rejected is not UNSET:
        errors += [
            field_error(f"/{n}", "`heat_rejected` is there already: give it or both of the others.") for n in parts
        ]
    elif len(parts) < 2:
        missing = ({"capacity", "power"} - set(parts)).pop() if parts else "heat_rejected"
        errors.append(
            field_error(
                f"/{missing}", "Either `heat_rejected` or both `capacity` and `power` is needed.", code="missing"
            )
        )
    for first, second in (
        ("airflow", "air_temperature_rise"),
        ("recirculated_fraction", "measured_inlet_temperature"),
    ):
        if getattr(given, first) is not UNSET and getattr(given, second) is not UNSET:
            errors.append(field_error(f"/{second}", f"`{first}` and `{second}` say the same thing: give one."))
    return errors


def _density(given: AirSideGiven, pressure: float, notes: Notes) -> float:
    """Density of the open air."""
    kelvin = given.ambient_temperature.si
    if given.relative_humidity == 0:
        density = pressure / (GAS_CONSTANT * kelvin)
        expression = f"{pressure:.0f} Pa / ({GAS_CONSTANT} x {kelvin:.2f} K)"
    else:
        library = psychrometrics()
        celsius = kelvin - ZERO_CELSIUS
        humidity = library.GetHumRatioFromRelHum(celsius, given.relative_humidity, pressure)
        density = float(library.GetMoistAirDensity(celsius, humidity, pressure))
        expression = f"moist air at {celsius:.2f} degC, {humidity:.5f} kg/kg, {pressure:.0f} Pa"
    notes.show("rho", "Density of the open air", expression, density, "kg/m3")
    return density


def _flow_and_rise(given: AirSideGiven, density: float, notes: Notes) -> tuple[float, float]:
    """Airflow and rise, each from the other."""
    if not isinstance(given.heat_rejected, UnsetType):
        heat = given.heat_rejected.si
    elif isinstance(given.capacity, UnsetType) or isinstance(given.power, UnsetType):
        raise Defect("heat, or capacity and power, were asked for before")
    else:
        heat = given.capacity.si + given.power.si
        notes.show("Q", "Heat rejected", f"{given.capacity} + {given.power}", heat / 1000, "kW")
    if given.airflow is not UNSET:
        airflow = given.airflow.si
        rise = heat / (density * airflow * HEAT_CAPACITY)
        if rise > MOST_RISE:
            raise refuse(
                "/airflow",
                f"{given.airflow} would warm by {rise:.4g} K; the method holds to {MOST_RISE:g} K.",
                value=given.airflow,
                allowed=Allowed(minimum=heat / (density * MOST_RISE * HEAT_CAPACITY), unit="m3/s"),
                why="No air-cooled condenser warms its air that far; heat and airflow do not belong together.",
            )
        expression = f"{heat / 1000:.5g} kW / ({density:.4f} kg/m3 x {airflow:.5g} m3/s x 1.006 kJ/(kg.K))"
        notes.show("dT", "Rise over the coil", expression, rise, "K")
        return airflow, rise
    usual = TemperatureDifference(USUAL_RISE, "delta_degC")
    statement = say(
        "Neither airflow nor rise was given: {usual:g} over the coil. Usual are {least:g} to {most:g}.",
        usual=usual,
        least=TemperatureDifference(8.0, "delta_degC"),
        most=TemperatureDifference(14.0, "delta_degC"),
    )
    taken = given_or_usual(
        given.air_temperature_rise, usual, notes, "usual_air_rise", statement, references=(PRACTICE.id,)
    )
    rise = taken.si
    airflow = heat / (density * rise * HEAT_CAPACITY)
    expression = f"{heat / 1000:.5g} kW / ({density:.4f} kg/m3 x {rise:.4g} K x 1.006 kJ/(kg.K))"
    notes.show("V", "Airflow", expression, airflow, "m3/s")
    return airflow, rise


def _recirculation(given: AirSideGiven, rise: float, notes: Notes) -> tuple[float, float]:
    """Share that comes round again, and how much warmer the coil's air is for it."""
    if given.measured_inlet_temperature is UNSET:
        fraction = 0.0 if given.recirculated_fraction is UNSET else given.recirculated_fraction
        warmer = fraction / (1 - fraction) * rise
        notes.show(
            "r", "Air at the coil above the open air", f"{fraction:g}/(1 - {fraction:g}) x {rise:.4g} K", warmer, "K"
        )
        return fraction, warmer
    inlet = given.measured_inlet_temperature
    warmer = inlet.si - given.ambient_temperature.si
    if warmer < -THERMOMETER:
        raise refuse(
            "/measured_inlet_temperature",
            f"{inlet} is more than {THERMOMETER:g} K below the open air of {given.ambient_temperature}.",
            value=inlet,
            allowed=Allowed(minimum=given.ambient_temperature.to("degC") - THERMOMETER, unit="degC"),
            why="Recirculation only warms; one of the two readings is wrong.",
        )
    if warmer < 0:
        notes.note(
            "inlet_below_ambient",
            say(
                "The air at the coil reads {warmer:.2f} below the open air: taken as no recirculation.",
                warmer=TemperatureDifference.of(-warmer, "delta_degC"),
            ),
            why="Two thermometers differ by as much.",
            field="/measured_inlet_temperature",
        )
        return 0.0, 0.0
    fraction = warmer / (warmer + rise)
    if fraction >= MOST_FRACTION:
        most = MOST_FRACTION / (1 - MOST_FRACTION) * rise
        raise refuse(
            "/measured_inlet_temperature",
            f"{inlet} would mean that {fraction:.2f} of the air comes round again.",
            value=inlet,
            allowed=Allowed(below=given.ambient_temperature.to("degC") + most, unit="degC"),
            why=f"Above {MOST_FRACTION:g} no steady state is known; another source warms the air, or a reading is wrong.",
        )
    notes.show("f", "Share that comes round again", f"{warmer:.5g} / ({warmer:.5g} + {rise:.5g})", fraction)
    return fraction, warmer


def _gap(gap: GapGiven, density: float, notes: Notes) -> Gap:
    """Velocity and loss in the gap, and the flow that the fans still move."""
    flow, length, distance = gap.airflow_through.si, gap.length.si, gap.distance.si
    velocity = flow / (length * distance)
    drop = ENTRY_LOSS * density * velocity**2 / 2
    share = drop / gap.fan_static.si
    ratio = 1 - FAN_SLOPE * share
    if ratio < LEAST_AIRFLOW_RATIO:
        allowed = distance * (share * FAN_SLOPE / (1 - LEAST_AIRFLOW_RATIO)) ** 0.5
        raise refuse(
            "/gap/distance",
            f"The gap would take {drop:.4g} Pa, {share:.3g} times the fans' static pressure: they could not move this "
            "air through it.",
            value=gap.distance,
            allowed=Allowed(minimum=allowed, unit="m"),
            why="The straight line for the fans' flow ends there; the true flow is far below the one given.",
        )
    notes.show("v", "Air in the gap", f"{flow:.4g} m3/s / ({length:.4g} m x {distance:.4g} m)", velocity, "m/s")
    notes.show(
        "dp", "Loss in the gap", f"{ENTRY_LOSS:g} x {density:.4f} kg/m3 x ({velocity:.6g} m/s)^2 / 2", drop, "Pa"
    )
    notes.show("R", "Airflow left", f"1 - {FAN_SLOPE:g} x {drop:.2f} / {gap.fan_static.si:.4g}", ratio)
    needed = distance * (share / GAP_SHARE) ** 0.5 if share > GAP_SHARE else None
    return Gap(velocity, drop, share, ratio, needed)


def _shift(given: AirSideGiven, density_ratio: float, airflow_ratio: float, notes: Notes) -> float:
    """Ambient rise, K, that costs as much as thin or scarce air."""
    air = condenser_air(density_ratio, airflow_ratio, given.condenser_ntu, given.air_film_exponent)
    over = given.condensing_over_ambient.si
    shift = air.shift(over)
    notes.show(
        "s", "Air by mass, over rating", f"{density_ratio:.6f} x {airflow_ratio:.6f}", density_ratio * airflow_ratio
    )
    notes.show("x", "Heat for each degree, over rating", "s (1 - e^-NTU')/(1 - e^-NTU)", air.conductance_ratio)
    notes.show("dTa", "Equal rise of the ambient", f"(1/{air.conductance_ratio:.8g} - 1) x {over:.8g} K", shift, "K")
    return shift
