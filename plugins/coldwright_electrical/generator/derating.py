"""What altitude and heat leave of engine and alternator."""

from typing import Final, NamedTuple

from msgspec import UnsetType

from coldwright.contract import Allowed, Notes, Reference, refuse, tidy
from coldwright.contract.quantities import Temperature
from coldwright_basis.atmosphere import air_pressure
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_electrical.generator.given import GeneratorDeratingGiven, GeneratorGiven
from coldwright_electrical.shared.references import COMMON_PRACTICE, NOT_SEEN

ISO_3046_1 = Reference(
    id="iso_3046_1",
    title="ISO 3046-1, Reciprocating internal combustion engines: declarations of power",
    edition=NOT_SEEN,
    clause="power adjustment; exponents 0.7, 1.2, 1 turbocharged with charge cooling, 1, 0.75, 0 naturally aspirated",
    provenance="memory",
    remark="Ask the engine's maker for the exponents.",
)

STANDARD_ATMOSPHERE = Reference(
    id="isa_pressure",
    title="International Standard Atmosphere: p = 101.325 (1 - 2.25577e-5 h)^5.25588 kPa",
    edition=NOT_SEEN,
    provenance="memory",
)

LEAST_FACTOR: Final = 0.4

_TURBOCHARGED: Final = (0.7, 1.2, 1.0)


_REFERENCE_KELVIN: Final = 298.15


class Derating(NamedTuple):
    """Shares of the rating that are left."""

    engine: float
    alternator: float


def derating_of(given: GeneratorGiven, notes: Notes) -> Derating:
    """Both factors; refused below 0.4, where no step rule holds."""
    if given.derating.method == "none":
        return Derating(1.0, 1.0)
    height, heat = given.altitude.to("m"), given.ambient_temperature.to("degC")
    if given.derating.method == "per_step":
        engine = _per_step(given.derating, notes, height, heat)
    else:
        engine = _iso_3046(given.derating, notes, height, heat)
    higher, hotter = (height - 1000) / 500, (heat - 40) / 5
    alternator = (1 - 0.03 * max(0.0, higher)) * (1 - 0.03 * max(0.0, hotter))
    notes.show(
        "k_a",
        "Alternator factor",
        f"(1 - 0.03 max(0, {height:g} - 1000)/500) (1 - 0.03 max(0, {heat:.4g} - 40)/5)",
        alternator,
    )
    for name, factor in (("engine", engine), ("alternator", alternator)):
        if factor < LEAST_FACTOR:
            raise refuse(
                "/altitude" if higher > hotter else "/ambient_temperature",
                f"The {name} would keep {factor:.3g} of its rating, outside the method.",
                value=tidy(factor),
                allowed=Allowed(minimum=LEAST_FACTOR),
                why="Rules of derating hold near the usual conditions: ask the maker of the set.",
            )
    return Derating(engine, alternator)


def _per_step(how: GeneratorDeratingGiven, notes: Notes, height: float, heat: float) -> float:
    above = max(0.0, height - how.engine_altitude_start.to("m"))
    hotter = max(0.0, heat - how.engine_temperature_start.to("degC"))
    by_height = max(0.0, 1 - how.engine_altitude_rate_fraction * above / 100)
    by_heat = max(0.0, 1 - how.engine_temperature_rate_fraction * hotter / 5)
    notes.show(
        "k_e",
        "Engine factor",
        f"(1 - {how.engine_altitude_rate_fraction:g} x {above:.5g} m / 100 m) "
        f"(1 - {how.engine_temperature_rate_fraction:g} x {hotter:.4g} K / 5 K)",
        by_height * by_heat,
    )
    return by_height * by_heat


def _iso_3046(how: GeneratorDeratingGiven, notes: Notes, height: float, heat: float) -> float:
    given = (how.exponent_m, how.exponent_n, how.exponent_s)
    m, n, s = (
        usual if isinstance(value, UnsetType) else value for value, usual in zip(given, _TURBOCHARGED, strict=True)
    )
    if any(isinstance(value, UnsetType) for value in given):
        notes.assume(
            "turbocharged_exponents",
            f"Exponents m {m:g}, n {n:g}, s {s:g}: those left out are of an engine turbocharged with charge cooling.",
            value=[m, n, s],
            basis="standard",
            references=(ISO_3046_1.id,),
        )
    coolant = heat
    if not isinstance(how.charge_coolant_temperature, UnsetType):
        coolant = how.charge_coolant_temperature.to("degC")
    elif s > 0:
        notes.assume(
            "charge_coolant_is_ambient",
            "The charge cooler is taken to be cooled by the ambient air.",
            value=Temperature.of(heat, "degC"),
            basis="common_practice",
            references=(COMMON_PRACTICE.id,),
        )
    pressure = air_pressure(height) / 1000
    notes.show("p_x", "Pressure of the air", f"101.325 (1 - 2.25577e-5 x {height:g})^5.25588", pressure, "kPa")
    k: float = (
        (pressure / 100) ** m
        * (_REFERENCE_KELVIN / (heat + ZERO_CELSIUS)) ** n
        * (_REFERENCE_KELVIN / (coolant + ZERO_CELSIUS)) ** s
    )
    notes.show("k", "Ratio of indicated power", f"(p_x/100)^{m:g} (298.15/T_x)^{n:g} (298.15/T_cx)^{s:g}", k)
    alpha = k - 0.7 * (1 - k) * (1 / how.mechanical_efficiency - 1)
    notes.show("alpha", "Power adjustment; above 1 counts as 1", "k - 0.7 (1 - k) (1/eta_m - 1)", alpha)
    return min(1.0, alpha)
