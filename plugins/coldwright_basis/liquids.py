"""Properties of the shared `Fluid`: water, plain glycols, or the caller's own figures.

Water is IAPWS-IF97, the glycols are the library's MEG and MPG by mass fraction, both of CoolProp. Everything inside is
SI (K, Pa, kg/m3, J/kg.K, Pa.s, W/m.K). What is outside the range of the method is refused with its field and range.

A calculator that takes a `fluid` calls `check_fluid` first (which properties it needs, and whether it wants the
temperature), then `properties`, `freezing_temperature`, `vapor_pressure`.
"""

from functools import lru_cache
from typing import Any, Literal

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Fluid, Refused, field_error, tidy
from coldwright_basis import coolprop
from coldwright_basis.compare import SLACK
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.freezing import GREATEST_MASS_FRACTION, glycol_freezing_temperature

Property = Literal["density", "specific_heat", "dynamic_viscosity", "conductivity"]
TemperatureRule = Literal["required", "optional", "derived"]

STATE_PRESSURE = 300e3
"""Pa absolute at which properties are taken unless the caller knows better: they hardly depend on it."""
WATER_COLDEST = ZERO_CELSIUS + 0.5
HOTTEST = ZERO_CELSIUS + 95.0
TRIPLE_POINT = 273.16
LEAST_VAPOR_PRESSURE = 612.0
"""Pa: what is taken for water colder than its triple point."""
DENSITY_AT_20C = {"water": 998.2, "ethylene_glycol": 1113.2, "propylene_glycol": 1036.1}
"""kg/m3, of the pure liquids; from memory of the CRC Handbook."""
_BY_MASS = {"ethylene_glycol": "MEG", "propylene_glycol": "MPG"}
_OWN_FIELDS = (
    "density", "dynamic_viscosity", "specific_heat", "vapor_pressure", "freezing_temperature", "bulk_modulus"
)  # fmt: skip


class FluidState:
    """Properties of a liquid at one state, SI. Of a `custom` fluid only those that were asked for are there."""

    __slots__ = ("conductivity", "density", "dynamic_viscosity", "specific_heat")

    density: float
    specific_heat: float
    dynamic_viscosity: float
    conductivity: float

    def __init__(self, **values: float) -> None:
        for name, value in values.items():
            setattr(self, name, value)

    @property
    def volumetric_heat(self) -> float:
        """Density times specific heat, J/m3.K."""
        return self.density * self.specific_heat


# --- what may be asked -------------------------------------------------------------------------------------------


def check_fluid(
    fluid: Fluid,
    pointer: str = "/fluid",
    *,
    temperature: TemperatureRule = "required",
    needs: tuple[Property, ...] = (),
) -> None:
    """Raise `Refused` with everything that is wrong with `fluid`.

    `temperature`: `required` (for `custom` it stays optional), `optional`, or `derived` where the calculator works it
    out and takes none. `needs` names the properties that a `custom` fluid must bring.
    """
    errors = _fraction_errors(fluid, pointer) + _custom_errors(fluid, pointer, needs)
    if fluid.temperature is UNSET:
        if temperature == "required" and fluid.kind != "custom":
            errors.append(
                field_error(f"{pointer}/temperature", "The temperature of the liquid is needed.", code="missing")
            )
    elif temperature == "derived":
        text = "There is no such field here: the calculator works the temperature out from the other fields."
        errors.append(field_error(f"{pointer}/temperature", text, code="unknown_field", value=fluid.temperature))
    elif not errors:
        errors += _temperature_errors(fluid, fluid.temperature.si, f"{pointer}/temperature", fluid.temperature)
    if errors:
        raise Refused(errors)


def _missing_temperature(pointer: str) -> FieldError:
    return field_error(f"{pointer}/temperature", "The temperature of the liquid is needed.", code="missing")


def _fraction_errors(fluid: Fluid, pointer: str) -> list[FieldError]:
    fractions = (("mass_fraction", fluid.mass_fraction), ("volume_fraction", fluid.volume_fraction))
    given = [(name, value) for name, value in fractions if value is not UNSET]
    if fluid.kind not in _BY_MASS:
        text = f"A fraction belongs to a glycol, not to {fluid.kind}."
        return [field_error(f"{pointer}/{name}", text, value=value) for name, value in given]
    if len(given) != 1:
        text = "A glycol needs exactly one of mass_fraction and volume_fraction."
        if not given:
            return [field_error(f"{pointer}/mass_fraction", text, code="missing")]
        return [field_error(f"{pointer}/volume_fraction", text, value=fluid.volume_fraction)]
    name, value = given[0]
    if glycol_mass_fraction(fluid) > GREATEST_MASS_FRACTION * (1 + 1e-12):
        limit = mass_to_volume_fraction(fluid.kind, GREATEST_MASS_FRACTION)
        return [
            field_error(
                f"{pointer}/{name}",
                f"The mixture holds {glycol_mass_fraction(fluid):.3f} of glycol by mass; the data end at 0.60.",
                code="out_of_range",
                value=value,
                allowed=Allowed(minimum=0.05, maximum=round(limit, 4)),
                why="The freezing line and viscosities of the library reach a mass fraction of 0.60",
            )
        ]
    return []


def _custom_errors(fluid: Fluid, pointer: str, needs: tuple[Property, ...]) -> list[FieldError]:
    if fluid.kind != "custom":
        text = f"Only a custom fluid brings its own figures; those of {fluid.kind} are worked out."
        return [field_error(f"{pointer}/{n}", text) for n in _OWN_FIELDS if getattr(fluid, n) is not UNSET]
    errors = []
    for name in needs:
        if name == "conductivity":
            errors.append(field_error(f"{pointer}/kind", "A custom fluid cannot be used here.", value="custom"))
        elif getattr(fluid, name) is UNSET:
            text = f"A custom fluid must bring its {name.replace('_', ' ')} here."
            errors.append(field_error(f"{pointer}/{name}", text, code="missing"))
    return errors


def _temperature_errors(fluid: Fluid, temperature: float, pointer: str, shown: object) -> list[FieldError]:
    """Errors of a temperature (K) for this fluid; the fractions are known to be right."""
    freezing = freezing_temperature(fluid)
    lowest = WATER_COLDEST if fluid.kind == "water" else freezing
    slack = SLACK * temperature
    if lowest is not None and (temperature < lowest - slack or (temperature <= lowest and fluid.kind != "water")):
        celsius = tidy(round(lowest - ZERO_CELSIUS, 3))
        bound = Allowed(minimum=celsius, maximum=95, unit="degC")
        if fluid.kind != "water":
            bound = Allowed(above=celsius, maximum=95, unit="degC")
        text = f"{temperature - ZERO_CELSIUS:.2f} degC is too cold for this liquid, which freezes at {_text(freezing)}."
        why = "A liquid at or below its freezing point is slush or ice: it does not flow and bursts what holds it"
        return [field_error(pointer, text, code="out_of_range", value=shown, allowed=bound, why=why)]
    if temperature > HOTTEST + slack and fluid.kind != "custom":
        text = f"{temperature - ZERO_CELSIUS:.2f} degC is hotter than the method allows."
        bound = Allowed(maximum=95, unit="degC")
        why = "Chilled-water loops: near boiling the pressures and the data no longer hold"
        return [field_error(pointer, text, code="out_of_range", value=shown, allowed=bound, why=why)]
    return []


def _text(temperature: float | None) -> str:
    return "an unknown point" if temperature is None else f"{temperature - ZERO_CELSIUS:.2f} degC"


def check_temperature(fluid: Fluid, temperature_k: float, pointer: str, shown: object = UNSET) -> None:
    """Refuse a temperature at which this fluid has no properties, in the name of the field `pointer`."""
    if errors := _temperature_errors(fluid, temperature_k, pointer, shown):
        raise Refused(errors)


# --- fractions ---------------------------------------------------------------------------------------------------


def volume_to_mass_fraction(kind: str, volume_fraction: float) -> float:
    """Mass fraction of a glycol from its volume fraction; both liquids measured before mixing, at 20 degC."""
    glycol = volume_fraction * DENSITY_AT_20C[kind]
    return glycol / (glycol + (1.0 - volume_fraction) * DENSITY_AT_20C["water"])


def mass_to_volume_fraction(kind: str, mass_fraction: float) -> float:
    """Volume fraction of a glycol from its mass fraction."""
    glycol = mass_fraction / DENSITY_AT_20C[kind]
    return glycol / (glycol + (1.0 - mass_fraction) / DENSITY_AT_20C["water"])


def glycol_mass_fraction(fluid: Fluid) -> float:
    """Mass fraction of glycol; 0 for water and `custom`."""
    if fluid.mass_fraction is not UNSET:
        return fluid.mass_fraction
    if fluid.volume_fraction is not UNSET and fluid.kind in _BY_MASS:
        return volume_to_mass_fraction(fluid.kind, fluid.volume_fraction)
    return 0.0


# --- properties --------------------------------------------------------------------------------------------------


def properties(
    fluid: Fluid,
    temperature_k: float | None = None,
    pressure_pa: float = STATE_PRESSURE,
    pointer: str = "/fluid",
    *,
    needs: tuple[Property, ...] = ("density", "specific_heat", "dynamic_viscosity"),
) -> FluidState:
    """Properties of `fluid` at a temperature: its own unless `temperature_k` is given.

    Raises `Refused`, naming `pointer`/temperature, where the temperature is missing or outside the liquid's range, and
    `pointer`/PROPERTY where a `custom` fluid lacks one of `needs`. `fluid` has passed `check_fluid`.
    """
    if fluid.kind == "custom":
        return _custom_state(fluid, pointer, needs)
    if temperature_k is None:
        if fluid.temperature is UNSET:
            raise Refused([_missing_temperature(pointer)])
        temperature_k = fluid.temperature.si
    check_temperature(fluid, temperature_k, f"{pointer}/temperature")
    if fluid.kind == "water":
        return water(temperature_k, pressure_pa)
    return glycol(fluid.kind, glycol_mass_fraction(fluid), temperature_k, pressure_pa)


def _custom_state(fluid: Fluid, pointer: str, needs: tuple[Property, ...]) -> FluidState:
    if errors := _custom_errors(fluid, pointer, needs):
        raise Refused(errors)
    names = ("density", "specific_heat", "dynamic_viscosity")
    return FluidState(**{n: getattr(fluid, n).si for n in names if getattr(fluid, n) is not UNSET})


@lru_cache(maxsize=4096)
def water(temperature_k: float, pressure_pa: float = STATE_PRESSURE) -> FluidState:
    """Liquid water at a temperature that is known to be in range."""
    state = coolprop.state("IF97", "Water")
    state.update(coolprop.core().PT_INPUTS, pressure_pa, temperature_k)
    return _read(state)


@lru_cache(maxsize=4096)
def glycol(kind: str, mass_fraction: float, temperature_k: float, pressure_pa: float = STATE_PRESSURE) -> FluidState:
    """Plain glycol and water, at a temperature that is known to be in range."""
    state = coolprop.state("INCOMP", _BY_MASS[kind])
    state.set_mass_fractions([min(mass_fraction, GREATEST_MASS_FRACTION)])
    state.update(coolprop.core().PT_INPUTS, pressure_pa, temperature_k)
    return _read(state)


def _read(state: Any) -> FluidState:
    return FluidState(
        density=state.rhomass(),
        specific_heat=state.cpmass(),
        dynamic_viscosity=state.viscosity(),
        conductivity=state.conductivity(),
    )


def freezing_temperature(fluid: Fluid) -> float | None:
    """Freezing point, K; None for a `custom` fluid without one."""
    if fluid.kind == "custom":
        return None if fluid.freezing_temperature is UNSET else fluid.freezing_temperature.si
    if fluid.kind == "water":
        return ZERO_CELSIUS
    return glycol_freezing_temperature(fluid.kind, glycol_mass_fraction(fluid))


def vapor_pressure(fluid: Fluid, temperature_k: float) -> float | None:
    """Vapour pressure, Pa absolute; None for a `custom` fluid without one.

    For the glycols that of pure water is taken, which is higher: the safe side for suction.
    """
    if fluid.kind == "custom":
        return None if fluid.vapor_pressure is UNSET else fluid.vapor_pressure.si
    return water_vapor_pressure(temperature_k)


@lru_cache(maxsize=4096)
def water_vapor_pressure(temperature_k: float) -> float:
    """Saturation pressure of water, Pa absolute; 612 Pa below the triple point."""
    if temperature_k <= TRIPLE_POINT:
        return LEAST_VAPOR_PRESSURE
    state = coolprop.state("IF97", "Water")
    state.update(coolprop.core().QT_INPUTS, 0.0, temperature_k)
    pressure: float = state.p()
    return pressure
