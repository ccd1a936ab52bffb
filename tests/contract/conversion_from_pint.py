"""Makes the conversion table of the contract from pint; run it with `--write` to write the table.

The spellings are the API's own and are never handed to pint as they stand: `TR`, `cfm`, `ton` and `gpm` mean other
things there, or nothing. Each maps to a pint expression here.
"""

import json
import sys
from pathlib import Path

import pint

TARGET = Path(__file__).parents[2] / "api/coldwright/contract/conversion.json"

INTERNATIONAL_TABLE_BTU = "(1055.05585262 * joule)"
"""A ton of refrigeration is 12,000 International Table Btu an hour; pint's own Btu is another one."""

EXPRESSIONS = {
    "mohm": "milliohm", "Mohm": "megaohm", "megohm": "megaohm", "ohm/kft": "ohm/(1000*foot)", "m2": "meter**2", "mm2": "mm**2",
    "ft2": "foot**2", "in2": "inch**2", "m3": "meter**3", "gal": "US_liquid_gallon", "L": "liter",
    "gpm": "US_liquid_gallon/minute", "m3/h": "meter**3/hour", "m3/s": "meter**3/second", "L/s": "liter/second",
    "L/min": "liter/minute", "kg/h": "kg/hour", "lb/h": "pound/hour", "kg/s": "kg/second", "lb": "pound",
    "t": "1000*kg", "lbf": "force_pound", "Btu/h": f"{INTERNATIONAL_TABLE_BTU}/hour",
    "ton": f"12000*{INTERNATIONAL_TABLE_BTU}/hour", "hp": "550*foot*force_pound/second", "kVA": "kilovolt*ampere",
    "MVA": "megavolt*ampere", "kWh": "kilowatt*hour", "MJ": "megajoule", "min": "minute", "h": "hour", "d": "day",
    "ft/s": "foot/second", "ft/min": "foot/minute", "m/s": "meter/second", "km/h": "km/hour", "mph": "mile/hour",
    "kg/m3": "kg/meter**3", "lb/ft3": "pound/foot**3", "g/m3": "gram/meter**3",
    "lb/1000ft3": "pound/(1000*foot**3)", "mPa.s": "millipascal*second", "cP": "centipoise", "Pa.s": "pascal*second",
    "kJ/kg.K": "kilojoule/(kg*kelvin)", "Btu/lb.degF": f"{INTERNATIONAL_TABLE_BTU}/(pound*delta_degF)",
    "kJ/kg": "kilojoule/kg", "Btu/lb": f"{INTERNATIONAL_TABLE_BTU}/pound", "W/m2.K": "watt/(meter**2*kelvin)",
    "Btu/h.ft2.degF": f"{INTERNATIONAL_TABLE_BTU}/(hour*foot**2*delta_degF)", "W/m.K": "watt/(meter*kelvin)",
    "m2.K/W": "meter**2*kelvin/watt", "h.ft2.degF/Btu": f"hour*foot**2*delta_degF/{INTERNATIONAL_TABLE_BTU}",
    "kW/m2": "kilowatt/meter**2", "W/m2": "watt/meter**2", "W/K": "watt/kelvin", "kW/K": "kilowatt/kelvin",
    "L/h": "liter/hour", "gal/h": "US_liquid_gallon/hour", "L/kW": "liter/kilowatt",
    "gal/ton": f"US_liquid_gallon/(12000*{INTERNATIONAL_TABLE_BTU}/hour)", "N.m": "newton*meter",
    "kN.m": "kilonewton*meter", "lbf.ft": "force_pound*foot", "m_water": "9806.65*pascal",
    "ft_water": "9806.65*pascal*0.3048", "K": "kelvin", "delta_degC/min": "kelvin/minute",
    "delta_degF/min": "delta_degF/minute", "deg": "degree", "rad": "radian", "psi": "force_pound/inch**2",
    "in": "inch", "ft": "foot", "V": "volt", "A": "ampere",
}  # fmt: skip
"""Conventional heads of water: 1,000 kg/m3 under standard gravity."""

KINDS = {
    "temperature": ("K", "degC", "degF", "degC degF K"),
    "temperature_difference": ("K", "delta_degC", "delta_degF", "delta_degC delta_degF"),
    "temperature_rate": ("K/s", "delta_degC/min", "delta_degF/min", "delta_degC/min delta_degF/min"),
    "gauge_pressure": ("Pa", "kPa", "psi", "kPa bar psi"),
    "absolute_pressure": ("Pa", "kPa", "psi", "kPa bar psi"),
    "pressure_difference": ("Pa", "kPa", "psi", "kPa bar psi m_water ft_water Pa"),
    "volume_flow": ("m3/s", "L/s", "gpm", "L/s m3/h gpm m3/s L/min"),
    "mass_flow": ("kg/s", "kg/s", "lb/h", "kg/s kg/h lb/h"),
    "power": ("W", "kW", "kW", "kW W Btu/h ton hp MW"),
    "apparent_power": ("VA", "kVA", "kVA", "kVA MVA"),
    "energy": ("J", "kWh", "kWh", "kWh MJ"),
    "current": ("A", "A", "A", "A kA"),
    "voltage": ("V", "V", "V", "V"),
    "frequency": ("Hz", "Hz", "Hz", "Hz"),
    "impedance": ("ohm", "ohm", "ohm", "ohm mohm"),
    "insulation_resistance": ("ohm", "megohm", "megohm", "megohm Mohm ohm"),
    "impedance_per_length": ("ohm/m", "ohm/km", "ohm/kft", "ohm/km ohm/kft"),
    "length": ("m", "m", "ft", "m mm km ft in"),
    "area": ("m2", "m2", "ft2", "m2 mm2 ft2 in2"),
    "volume": ("m3", "L", "gal", "L m3 gal"),
    "mass": ("kg", "kg", "lb", "kg t lb"),
    "force": ("N", "N", "lbf", "N kN lbf"),
    "duration": ("s", "min", "min", "s min h d"),
    "velocity": ("m/s", "m/s", "ft/s", "m/s ft/s ft/min"),
    "speed": ("m/s", "km/h", "mph", "km/h mph m/s"),
    "density": ("kg/m3", "kg/m3", "lb/ft3", "kg/m3 lb/ft3"),
    "concentration": ("kg/m3", "g/m3", "lb/1000ft3", "g/m3 lb/1000ft3"),
    "dynamic_viscosity": ("Pa.s", "mPa.s", "cP", "mPa.s cP Pa.s"),
    "specific_heat": ("J/kg.K", "kJ/kg.K", "Btu/lb.degF", "kJ/kg.K Btu/lb.degF"),
    "specific_enthalpy": ("J/kg", "kJ/kg", "Btu/lb", "kJ/kg Btu/lb"),
    "heat_transfer_coefficient": ("W/m2.K", "W/m2.K", "Btu/h.ft2.degF", "W/m2.K Btu/h.ft2.degF"),
    "thermal_conductivity": ("W/m.K", "W/m.K", "W/m.K", "W/m.K"),
    "thermal_resistance": ("m2.K/W", "m2.K/W", "h.ft2.degF/Btu", "m2.K/W h.ft2.degF/Btu"),
    "heat_flux": ("W/m2", "kW/m2", "kW/m2", "kW/m2 W/m2"),
    "heat_loss_coefficient": ("W/K", "W/K", "W/K", "W/K kW/K"),
    "angle": ("rad", "deg", "deg", "deg rad"),
    "sound_level": ("dB", "dBA", "dBA", "dB dBA"),
    "fuel_rate": ("m3/s", "L/h", "gal/h", "L/h gal/h"),
    "volume_per_power": ("m3/W", "L/kW", "gal/ton", "L/kW gal/ton"),
    "modulus": ("Pa", "GPa", "GPa", "GPa MPa"),
    "moment": ("N.m", "kN.m", "lbf.ft", "N.m kN.m lbf.ft"),
}  # fmt: skip
"""Kind: SI unit that calculators see, unit of metric answers, unit of US answers, spellings that callers may send."""

SI = {
    "K": "kelvin", "K/s": "kelvin/second", "Pa": "pascal", "m3/s": "meter**3/second", "kg/s": "kg/second", "W": "watt",
    "VA": "volt*ampere", "J": "joule", "A": "ampere", "V": "volt", "Hz": "hertz", "ohm": "ohm", "ohm/m": "ohm/meter",
    "m": "meter", "m2": "meter**2", "m3": "meter**3", "kg": "kg", "N": "newton", "s": "second", "m/s": "meter/second",
    "kg/m3": "kg/meter**3", "Pa.s": "pascal*second", "J/kg.K": "joule/(kg*kelvin)", "J/kg": "joule/kg",
    "W/m2.K": "watt/(meter**2*kelvin)", "W/m.K": "watt/(meter*kelvin)", "m2.K/W": "meter**2*kelvin/watt",
    "W/m2": "watt/meter**2", "W/K": "watt/kelvin", "rad": "radian", "dB": "dimensionless", "m3/W": "meter**3/watt",
    "N.m": "newton*meter",
}  # fmt: skip


def factors(registry: "pint.UnitRegistry[float]", kind: str, unit: str, si: str) -> tuple[float, float]:
    """Scale and offset from `unit` to the SI unit of its kind, by pint."""
    if kind == "sound_level":  # a level is already a logarithm: both spellings are the same number
        return 1.0, 0.0
    if kind == "temperature":
        at_zero = registry.Quantity(0.0, EXPRESSIONS.get(unit, unit)).to("kelvin").magnitude
        at_hundred = registry.Quantity(100.0, EXPRESSIONS.get(unit, unit)).to("kelvin").magnitude
        return float(f"{(at_hundred - at_zero) / 100:.16g}"), float(f"{at_zero:.16g}")
    one = registry.parse_expression(EXPRESSIONS.get(unit, unit))
    return float(f"{one.to(registry.parse_expression(SI[si]).units).magnitude:.16g}"), 0.0


def table() -> dict[str, object]:
    """The whole conversion table."""
    registry: pint.UnitRegistry[float] = pint.UnitRegistry()
    return {
        kind: {
            "si": si,
            "metric": metric,
            "us": us,
            "units": {unit: factors(registry, kind, unit, si) for unit in spellings.split()},
        }
        for kind, (si, metric, us, spellings) in KINDS.items()
    }


if __name__ == "__main__" and "--write" in sys.argv:
    TARGET.write_text(json.dumps(table(), indent=1) + "\n", "utf-8")
