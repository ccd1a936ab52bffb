"""Loads that come in batches: products cooled or frozen in a time, stirred vessels with a jacket."""

import math
from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import FieldError, Refused, field_error, say
from coldwright.contract.quantities import Duration, Power, Temperature
from coldwright_basis.compare import below
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_refrigeration.load.found import Found, Place
from coldwright_refrigeration.load.given import JacketedVesselLoad, ProductLoad
from coldwright_refrigeration.load.tabulated import PRODUCTS_TABLE
from coldwright_refrigeration.shared import liquids
from coldwright_refrigeration.shared.liquids import must_fall

PRODUCTS: dict[str, tuple[float, float, float]] = {
    name: (above * 1000, below * 1000, latent * 1000) for name, above, below, latent in PRODUCTS_TABLE.rows
}
"""Specific heat above and below freezing, J/kg.K, and heat of freezing, J/kg."""


class _Heats(NamedTuple):
    above: float
    frozen: float | None
    latent: float | None


def product(entry: ProductLoad, place: Place) -> Found:
    """Q = m [c (T1 - Tf) + L + cf (Tf - T2)] / t x peak over mean; without freezing m c (T1 - T2) / t."""
    at = place.pointer
    errors = must_fall(f"{at}/final_temperature", entry.initial_temperature, entry.final_temperature)
    if (entry.specific_heat is UNSET) == (entry.product_name is UNSET):
        text = "Give exactly one of specific_heat and product_name."
        errors.append(
            field_error(f"{at}/specific_heat", text, code="missing" if entry.product_name is UNSET else "refused")
        )
    if errors:
        raise Refused(errors)
    heats = _heats(entry)
    if _freezes(entry) and (errors := _freezing_errors(heats, at)):
        raise Refused(errors)
    each, expression = _each_kilogram(entry, heats)
    mean = entry.mass.si * each / entry.duration.si
    peak = mean * entry.peak_to_mean
    expression = f"{entry.mass} x [{expression}] / {entry.duration} x {entry.peak_to_mean:g}"
    place.notes.show("Q", place.name, expression, Power.from_si(peak, "kW"))
    if entry.freezing_temperature is UNSET and below(entry.final_temperature.si, ZERO_CELSIUS):
        place.notes.check(
            "product_may_freeze",
            say(
                "{name} is cooled to {final_temperature} and no freezing point was given: its heat of "
                "freezing is not counted.",
                name=place.name,
                final_temperature=entry.final_temperature,
            ),
            why="Freezing takes several times the heat of cooling.",
            resolve="Give freezing_temperature, latent_heat and specific_heat_frozen.",
            field=f"{at}/freezing_temperature",
        )
    return Found(peak, mean=mean)


def _heats(entry: ProductLoad) -> _Heats:
    table = PRODUCTS[entry.product_name] if entry.product_name is not UNSET else None
    above = entry.specific_heat.si if entry.specific_heat is not UNSET else table[0] if table else 0.0
    frozen = entry.specific_heat_frozen.si if entry.specific_heat_frozen is not UNSET else table[1] if table else None
    latent = entry.latent_heat.si if entry.latent_heat is not UNSET else table[2] if table else None
    return _Heats(above, frozen, latent)


def _freezes(entry: ProductLoad) -> bool:
    freezing = entry.freezing_temperature
    return freezing is not UNSET and entry.final_temperature.si < freezing.si < entry.initial_temperature.si


def _freezing_errors(heats: _Heats, at: str) -> list[FieldError]:
    needed = (("latent_heat", heats.latent), ("specific_heat_frozen", heats.frozen))
    text = "Needed: the product passes its freezing point."
    return [field_error(f"{at}/{name}", text, code="missing") for name, value in needed if value is None]


def _each_kilogram(entry: ProductLoad, heats: _Heats) -> tuple[float, str]:
    """Heat out of a kilogram, J, with its sum in words."""
    start, end = entry.initial_temperature.si, entry.final_temperature.si
    if _freezes(entry) and entry.freezing_temperature is not UNSET:
        freezing = entry.freezing_temperature.si
        frozen, latent = heats.frozen or 0.0, heats.latent or 0.0
        heat = heats.above * (start - freezing) + latent + frozen * (freezing - end)
        return heat, (
            f"{heats.above / 1000:g} kJ/kg.K x {start - freezing:.4g} K + {latent / 1000:g} kJ/kg + "
            f"{frozen / 1000:g} kJ/kg.K x {freezing - end:.4g} K"
        )
    specific = heats.above
    if entry.freezing_temperature is not UNSET and start <= entry.freezing_temperature.si and heats.frozen is not None:
        specific = heats.frozen  # frozen from the start
    return specific * (start - end), f"{specific / 1000:g} kJ/kg.K x {start - end:.4g} K"


def jacketed_vessel(entry: JacketedVesselLoad, place: Place) -> Found:
    """Cooling of a stirred batch after Kern, with a flowing coolant or one at a constant temperature."""
    at = place.pointer
    errors = must_fall(f"{at}/final_temperature", entry.initial_temperature, entry.final_temperature)
    start, end, coolant = entry.initial_temperature.si, entry.final_temperature.si, entry.coolant_temperature.si
    if start <= coolant:
        text = (
            f"The batch at {entry.initial_temperature} is not warmer than its coolant at {entry.coolant_temperature}."
        )
        errors.append(field_error(f"{at}/initial_temperature", text, value=entry.initial_temperature))
    if errors:
        raise Refused(errors)
    batch = entry.mass.si * entry.specific_heat.si + entry.metal_mass.si * entry.metal_specific_heat.si
    conductance, words = _conductance(entry, place)
    peak = conductance * (start - coolant) + entry.agitator_power.si
    notes = place.notes
    notes.show("G", f"{place.name}: heat for each kelvin of batch over coolant", words, conductance / 1000, "kW/K")
    expression = f"{conductance / 1000:.5g} x {start - coolant:.5g} + {entry.agitator_power}"
    notes.show("Q_peak", f"{place.name}: at the start", expression, Power.from_si(peak, "kW"))
    if end <= coolant:
        _never(entry, place)
        return Found(peak, never=True)
    seconds = batch / conductance * math.log((start - coolant) / (end - coolant))
    mean = batch * (start - end) / seconds + entry.agitator_power.si
    time = Duration.from_si(seconds, "h")
    expression = f"M c / G ln((T1 - t1)/(T2 - t1)), M c = {batch / 1e6:.5g} MJ/K"
    notes.show("t", f"{place.name}: time until the batch is cold", expression, time)
    notes.show(
        "Q_mean", f"{place.name}: mean", f"M c (T1 - T2) / t + {entry.agitator_power}", Power.from_si(mean, "kW")
    )
    return Found(peak, mean=mean, time=time)


def _conductance(entry: JacketedVesselLoad, place: Place) -> tuple[float, str]:
    """Heat for each kelvin of batch over entering coolant, W/K."""
    surface = entry.heat_transfer_coefficient.si * entry.area.si
    if entry.coolant_mass_flow is UNSET:
        return surface, f"U A = {entry.heat_transfer_coefficient} x {entry.area}"
    if entry.coolant_specific_heat is UNSET:
        liquids.check_liquid_at(place.fluid, entry.coolant_temperature, f"{place.pointer}/coolant_temperature")
        specific = liquids.specific_heat(place.fluid, entry.coolant_temperature.si)
    else:
        specific = entry.coolant_specific_heat.si
    stream = entry.coolant_mass_flow.si * specific
    words = f"W c_w (K - 1)/K, K = exp(U A/(W c_w)), U A = {surface:.5g} W/K, W c_w = {stream:.5g} W/K"
    return -stream * math.expm1(-surface / stream), words


def _never(entry: JacketedVesselLoad, place: Place) -> None:
    place.notes.stop(
        "jacket_never_reaches",
        say(
            "{name} is to reach {final_temperature} with a coolant_temperature of {coolant_temperature}: "
            "it never will.",
            name=place.name,
            final_temperature=entry.final_temperature,
            coolant_temperature=entry.coolant_temperature,
        ),
        why="A batch only comes near the temperature of its coolant, and never below it.",
        resolve=say(
            "Take colder coolant, or a final temperature above {coolant_temperature}.",
            coolant_temperature=Temperature.from_si(entry.coolant_temperature.si, "degC"),
        ),
        field=f"{place.pointer}/final_temperature",
        references=("kern_batch_cooling",),
    )
