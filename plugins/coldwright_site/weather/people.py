"""How heat and cold press on people."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Temperature, TemperatureDifference
from coldwright_basis.compare import above, between
from coldwright_site.shared import tabulated
from coldwright_site.weather import comfort
from coldwright_site.weather.given import WeatherGiven
from coldwright_site.weather.results import HeatBand


def heat(given: WeatherGiven, notes: Notes) -> tuple[Temperature | UnsetType, HeatBand | UnsetType]:
    """Heat index in the shade and band of risk; nothing outside the range of the index."""
    if given.air_temperature is UNSET or given.relative_humidity is UNSET:
        return UNSET, UNSET
    t, rh = given.air_temperature.to("degF"), 100 * given.relative_humidity
    if not between(comfort.HEAT_FROM, t, comfort.HEAT_TO):
        notes.note(
            "heat_index_not_defined",
            say(
                "The heat index is defined from {least} to {most}; the air has {air:.1f}.",
                least=Temperature.of(comfort.HEAT_FROM, "degF"),
                most=Temperature.of(comfort.HEAT_TO, "degF"),
                air=Temperature.of(t, "degF"),
            ),
            field="/air_temperature",
            references=("nws_heat_index",),
        )
        return UNSET, UNSET
    index = comfort.heat_index(t, rh)
    notes.show("HI", f"Heat index: {index.way}", f"T {t:.5g} degF, RH {rh:.4g} %", index.value, "degF")
    sun = tabulated.HEAT_BANDS.rows["sun"] if given.in_sun else 0.0
    band = comfort.band(index.value + sun)
    if given.in_sun:
        expression = f"{index.value:.4g} + {sun:g} degF"
        notes.show("HI_s", "Heat index in full sun, upper bound", expression, index.value + sun, "degF")
        notes.note(
            "sun_counted",
            say(
                "Full sun adds up to {sun:g}; the band is that of {upper:.0f}, an upper bound.",
                sun=TemperatureDifference.of(sun, "delta_degF"),
                upper=Temperature.of(index.value + sun, "degF"),
            ),
            field="/in_sun",
            references=("osha_heat_index_bands",),
        )
    if band != "normal":
        work = "" if given.work_rate is UNSET else f" {given.work_rate.capitalize()} work."
        notes.finding(
            "note" if band == "guarded" else "check",
            "heat",
            say(
                "Heat index {index:.0f} in the shade: {band} heat.{work}",
                index=Temperature.of(index.value, "degF"),
                band=band,
                work=work,
            ),
            resolve="Work in the cool hours, water every quarter of an hour, shade, rest, a partner, days to get used "
            "to it.",
            field="/air_temperature",
            references=("osha_heat_index_bands",),
        )
    return Temperature.of(index.value, "degF").as_unit("degC"), band


def chill(given: WeatherGiven, notes: Notes) -> Temperature | UnsetType:
    """Wind chill; nothing outside its range."""
    if given.air_temperature is UNSET or given.wind_speed is UNSET:
        return UNSET
    t, v = given.air_temperature.to("degF"), given.wind_speed.to("mph")
    if above(t, comfort.CHILL_TO) or v <= comfort.CHILL_WIND:
        notes.note(
            "wind_chill_not_defined",
            say(
                "The wind chill is defined up to 50 degF and above 3 mph; here {t:.1f} and {v:.1f} mph.",
                t=Temperature.of(t, "degF"),
                v=v,
            ),
            field="/wind_speed",
            references=("nws_wind_chill",),
        )
        return UNSET
    chill = comfort.wind_chill(t, v)
    notes.show(
        "WC", "Wind chill", f"35.74 + 0.6215 T - 35.75 V^.16 + 0.4275 T V^.16, T {t:.4g}, V {v:.4g}", chill, "degF"
    )
    if chill < 0:
        notes.check(
            "cold",
            say(
                "The wind chill is {chill:.0f}: bare skin freezes, and hands get clumsy.",
                chill=Temperature.of(chill, "degF"),
            ),
            resolve="Shelter, dry layers, warm breaks, two people.",
            field="/wind_speed",
            references=("nws_wind_chill", "site_practice"),
        )
    return Temperature.of(chill, "degF").as_unit("degC")
