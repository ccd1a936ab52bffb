"""Thunder and lightning: when work may begin again."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, Refused, field_error
from coldwright.contract.quantities import Length
from coldwright_basis.instants import NANO, instant, stamp_error
from coldwright_site.weather.given import WeatherGiven

SOUND_IN_AIR = 343.0
"""m/s at 20 degC."""
QUIET_MINUTES = 30
QUIET = QUIET_MINUTES * 60 * NANO


def resume_at(given: WeatherGiven) -> tuple[int | None, int | None]:
    """The instant asked for, and that of the earliest return to work; ns since 1970."""
    stamps = {"/last_thunder_at": given.last_thunder_at, "/evaluated_at": given.evaluated_at}
    if given.last_lightning is not UNSET:
        stamps["/last_lightning/at"] = given.last_lightning.at
    sent = {pointer: stamp for pointer, stamp in stamps.items() if stamp is not UNSET}
    errors = [e for pointer, stamp in sent.items() if (e := stamp_error(pointer, stamp)) is not None]
    seen = [stamp for pointer, stamp in sent.items() if pointer != "/evaluated_at"]
    if seen and given.evaluated_at is UNSET:
        text = "Thunder or lightning needs the moment that is asked about."
        errors.append(field_error("/evaluated_at", text, code="missing"))
    if errors:
        raise Refused(errors)
    resume = max((instant(s) for s in seen), default=None)
    evaluated = None if given.evaluated_at is UNSET else instant(given.evaluated_at)
    return evaluated, None if resume is None else resume + QUIET


def lightning_distance(given: WeatherGiven, notes: Notes) -> Length | UnsetType:
    """Distance of the last flash by the time to its thunder."""
    if given.last_lightning is UNSET or given.last_lightning.flash_to_bang is UNSET:
        return UNSET
    seconds = given.last_lightning.flash_to_bang.si
    distance = SOUND_IN_AIR * seconds
    notes.show("s", "Distance of the last flash", f"{SOUND_IN_AIR:g} m/s x {seconds:g} s", distance, "m")
    return Length.from_si(distance, "km")
