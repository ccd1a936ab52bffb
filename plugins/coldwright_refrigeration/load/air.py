"""Loads of air: a coil that cools and dries, a room by estimate. Moist air by PsychroLib at the site's pressure."""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error, say, tidy
from coldwright.contract.quantities import MassFlow, Power, Temperature, TemperatureDifference
from coldwright_basis.compare import above, below
from coldwright_refrigeration.load.found import Found, Place
from coldwright_refrigeration.load.given import AirCoilLoad, SpaceEstimateLoad
from coldwright_refrigeration.load.tabulated import PEOPLE_TABLE
from coldwright_refrigeration.shared.liquids import must_fall
from coldwright_refrigeration.shared.moist_air import psychrometrics

CONDENSATE_HEAT = 4186.0
"""Specific heat of the condensate, J/kg.K."""
STANDARD_AIR = 1.2
"""kg of dry air in a cubic metre of standard air."""
NEAREST = 2.0
"""K: air leaves a coil at least this much above the liquid that leaves the machines."""
PEOPLE: dict[str, tuple[float, float]] = {name: (sensible, latent) for name, sensible, latent in PEOPLE_TABLE.rows}
LESS_SENSIBLE, TABLE_ROOM, WARM_ROOM = 0.20, 24.0, 27.0
"""Of the people's sensible heat at 24 degC, a fifth has become latent at 27 degC."""
MOISTURE = ("entering_wet_bulb", "entering_relative_humidity", "entering_dew_point", "entering_humidity_ratio")


class _Coil(NamedTuple):
    """Air entering (1) and leaving (2): degC, and kg of vapour for each kg of dry air."""

    t1: float
    w1: float
    t2: float
    w2: float
    dry: bool


def air_coil(entry: AirCoilLoad, place: Place) -> Found:
    """q = m [(h1 - h2) - (W1 - W2) hw2], with the condensate leaving at the leaving dry bulb."""
    air = psychrometrics()
    errors = must_fall(f"{place.pointer}/leaving_dry_bulb", entry.entering_dry_bulb, entry.leaving_dry_bulb)
    errors += _moisture_errors(entry, place)
    if errors:
        raise Refused(errors)
    coil = _coil(entry, place)
    volume = air.GetMoistAirVolume(coil.t1, coil.w1, place.pressure)
    flow = entry.airflow.si / volume if entry.airflow_basis == "actual_at_entering" else entry.airflow.si * STANDARD_AIR
    h1, h2 = (air.GetMoistAirEnthalpy(t, w) for t, w in ((coil.t1, coil.w1), (coil.t2, coil.w2)))
    condensate = flow * (coil.w1 - coil.w2)
    total = flow * (h1 - h2) - condensate * CONDENSATE_HEAT * coil.t2
    sensible = flow * (air.GetMoistAirEnthalpy(coil.t1, coil.w2) - h2)
    latent = 0.0 if coil.dry else total - sensible
    if coil.dry:
        total, condensate = sensible, 0.0
    _show(entry, place, coil, (flow, volume, h1, h2, total, condensate))
    fan = entry.fan_power.si if entry.fan_in_airstream else 0.0
    _judge(entry, place, coil)
    return Found(total + fan, sensible=sensible + fan, latent=latent, condensate=condensate)


def _moisture_errors(entry: AirCoilLoad, place: Place) -> list[FieldError]:
    given = [name for name in MOISTURE if getattr(entry, name) is not UNSET]
    if len(given) != 1:
        text = f"Give exactly one of {', '.join(MOISTURE)}."
        if not given:
            return [field_error(f"{place.pointer}/entering_relative_humidity", text, code="missing")]
        return [field_error(f"{place.pointer}/{name}", text, value=getattr(entry, name)) for name in given[1:]]
    (name,) = given
    value, dry_bulb = getattr(entry, name), entry.entering_dry_bulb
    why = "Air holds no more vapour than saturated air."
    if isinstance(value, Temperature) and above(value.si, dry_bulb.si):
        words = name.removeprefix("entering_").replace("_", " ")
        text = f"The {words} of {value} is above the dry bulb of {dry_bulb}."
        allowed = Allowed(maximum=tidy(dry_bulb.to(value.unit)), unit=value.unit)
        return [field_error(f"{place.pointer}/{name}", text, value=value, allowed=allowed, why=why)]
    if name == "entering_humidity_ratio":
        most = psychrometrics().GetSatHumRatio(dry_bulb.to("degC"), place.pressure)
        if above(value, most):
            text = f"A humidity ratio of {value:g} is above saturation at {dry_bulb}, {most:.5f}."
            allowed = Allowed(minimum=0, maximum=tidy(most))
            return [field_error(f"{place.pointer}/{name}", text, value=value, allowed=allowed, why=why)]
    return []


def _coil(entry: AirCoilLoad, place: Place) -> _Coil:
    air, pressure = psychrometrics(), place.pressure
    t1, t2 = entry.entering_dry_bulb.to("degC"), entry.leaving_dry_bulb.to("degC")
    if entry.entering_wet_bulb is not UNSET:
        w1 = air.GetHumRatioFromTWetBulb(t1, min(entry.entering_wet_bulb.to("degC"), t1), pressure)
    elif entry.entering_relative_humidity is not UNSET:
        w1 = air.GetHumRatioFromRelHum(t1, entry.entering_relative_humidity, pressure)
    elif entry.entering_dew_point is not UNSET:
        w1 = air.GetHumRatioFromTDewPoint(min(entry.entering_dew_point.to("degC"), t1), pressure)
    else:
        w1 = entry.entering_humidity_ratio if entry.entering_humidity_ratio is not UNSET else 0.0
    w2 = air.GetHumRatioFromRelHum(t2, entry.leaving_relative_humidity, pressure)
    dry = w2 >= w1
    return _Coil(t1, w1, t2, w1 if dry else w2, dry)


def _show(entry: AirCoilLoad, place: Place, coil: _Coil, figures: tuple[float, ...]) -> None:
    flow, volume, h1, h2, total, condensate = figures
    notes = place.notes
    basis = f"V / v1 = {entry.airflow} / {volume:.5f} m3/kg"
    if entry.airflow_basis == "standard":
        basis = f"V x 1.2 kg/m3 = {entry.airflow} x 1.2"
    notes.show("m", f"{place.name}: dry air", basis, MassFlow.from_si(flow, "kg/s"))
    notes.show("W1", f"{place.name}: entering humidity ratio", f"at {place.pressure / 1000:.3f} kPa", coil.w1)
    notes.show("W2", f"{place.name}: leaving humidity ratio", f"at {entry.leaving_dry_bulb}", coil.w2)
    expression = (
        f"m [(h1 - h2) - (W1 - W2) hw2] = {flow:.5g} x [({h1 / 1000:.4f} - {h2 / 1000:.4f}) - "
        f"({coil.w1:.6f} - {coil.w2:.6f}) x {CONDENSATE_HEAT * coil.t2 / 1000:.4f}]"
    )
    notes.show("Q", f"{place.name}: coil", expression, Power.from_si(total, "kW"))
    notes.show("m_w", f"{place.name}: condensate", "m (W1 - W2)", MassFlow.from_si(condensate, "kg/h"))


def _judge(entry: AirCoilLoad, place: Place, coil: _Coil) -> None:
    notes = place.notes
    if coil.dry:
        notes.note(
            "coil_dry",
            say(
                "{name}: air at {leaving_dry_bulb} and {leaving_relative_humidity:.0%} would hold more "
                "vapour than enters, so the coil stays dry and nothing drips.",
                name=place.name,
                leaving_dry_bulb=entry.leaving_dry_bulb,
                leaving_relative_humidity=entry.leaving_relative_humidity,
            ),
            field=f"{place.pointer}/leaving_relative_humidity",
        )
    elif coil.t2 < 0:
        notes.check(
            "coil_frosts",
            say(
                "{name}: wet air leaves at {leaving_dry_bulb}: the coil frosts up.",
                name=place.name,
                leaving_dry_bulb=entry.leaving_dry_bulb,
            ),
            why="Frost blocks the coil, and freezing the condensate takes further heat that is not counted.",
            resolve="Keep the leaving air above freezing, or plan defrosting and add its heat.",
            field=f"{place.pointer}/leaving_dry_bulb",
            references=("refrigeration_practice",),
        )
    liquid = place.coldest_liquid
    if liquid is not None and below(entry.leaving_dry_bulb.si, liquid + NEAREST):
        notes.check(
            "coil_cannot_reach",
            say(
                "{name}: the air is to leave at {leaving_dry_bulb}, and the liquid leaves the machines at {liquid}.",
                name=place.name,
                leaving_dry_bulb=entry.leaving_dry_bulb,
                liquid=Temperature.from_si(liquid, "degC"),
            ),
            why="Air leaves a coil some kelvin warmer than the liquid enters it.",
            resolve=say(
                "Take liquid at least {nearest:g} colder than the leaving air, or accept warmer air.",
                nearest=TemperatureDifference.of(NEAREST, "delta_degC"),
            ),
            field=f"{place.pointer}/leaving_dry_bulb",
            references=("refrigeration_first_principles",),
        )


def space_estimate(entry: SpaceEstimateLoad, place: Place) -> Found:
    """People, lighting, equipment, envelope and infiltration, added up."""
    share = LESS_SENSIBLE * max(entry.room_temperature.to("degC") - TABLE_ROOM, 0.0) / (WARM_ROOM - TABLE_ROOM)
    sensible = entry.lighting_power.si + entry.equipment_power.si
    latent = 0.0
    for group in entry.people:
        dry, wet = PEOPLE[group.activity]
        sensible += group.count * dry * (1 - share)
        latent += group.count * (wet + dry * share)
    sensible += sum(part.area.si * part.u_value.si * part.temperature_difference.si for part in entry.envelope)
    warm, moist = _infiltration(entry, place)
    sensible, latent = sensible + warm, latent + moist
    total = sensible + latent
    notes = place.notes
    parts = tuple(Power.from_si(part, "kW") for part in (sensible, latent))
    expression = f"sensible and latent heat of people and infiltration and all others = {parts[0]} + {parts[1]}"
    notes.show("Q", place.name, expression, Power.from_si(total, "kW"))
    low, high = (Power.from_si(total * factor, "kW") for factor in (0.8, 1.4))
    notes.note(
        "estimate_band",
        say(
            "{name} is an estimate of {total:us=ton}; it may be anything from {low:us=ton} to {high:us=ton}.",
            name=place.name,
            total=Power.from_si(total, "kW"),
            low=low,
            high=high,
        ),
        field=place.pointer,
        references=("refrigeration_practice",),
    )
    return Found(total, sensible=sensible, latent=latent, is_estimate=True)


def _infiltration(entry: SpaceEstimateLoad, place: Place) -> tuple[float, float]:
    """Sensible and latent heat of outside air, W."""
    if not entry.infiltration_airflow.si:
        return 0.0, 0.0
    if entry.outside_temperature.si < entry.room_temperature.si:
        text = f"Outside air at {entry.outside_temperature} cools a room at {entry.room_temperature}: it is no load."
        pointer = f"{place.pointer}/outside_temperature"
        raise Refused([field_error(pointer, text, value=entry.outside_temperature, why="Leave infiltration out then.")])
    air = psychrometrics()
    outside, room = entry.outside_temperature.to("degC"), entry.room_temperature.to("degC")
    w_out = air.GetHumRatioFromRelHum(outside, entry.outside_relative_humidity, place.pressure)
    w_room = air.GetHumRatioFromRelHum(room, entry.room_relative_humidity, place.pressure)
    flow = entry.infiltration_airflow.si / air.GetMoistAirVolume(outside, w_out, place.pressure)
    h_moist, h_dried = air.GetMoistAirEnthalpy(outside, w_out), air.GetMoistAirEnthalpy(outside, w_room)
    sensible = flow * (h_dried - air.GetMoistAirEnthalpy(room, w_room))
    if w_out < w_room:
        place.notes.note(
            "dry_outside_air",
            f"{place.name}: the outside air is drier than the room; the moisture that it takes away is not counted.",
            field=f"{place.pointer}/outside_relative_humidity",
        )
        return sensible, 0.0
    return sensible, flow * (h_moist - h_dried)
