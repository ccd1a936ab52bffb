"""R03, R04, R18, R19, R30 and R31: level, ground, alarms, people, items of the machine, water not too cold."""

from collections.abc import Callable
from functools import cache

from msgspec import UNSET

from coldwright.contract.quantities import Temperature
from coldwright_basis.compare import at_least
from coldwright_basis.trade_words import word as trade_word
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.record import Record, parted
from coldwright_readiness.startup.limits import FIVE_FAHRENHEIT, fresh_for
from coldwright_readiness.startup.rules.fact import Fact, Need, judged
from coldwright_readiness.startup.rules.mixture import weakest_mixture
from coldwright_readiness.startup.words import in_unit_of

AGAIN_AFTER_MOVE = ("transport_restraints_removed", "refrigerant_valves_open")
SIDES = ("entering", "leaving")


def level(e: Evidence) -> Fact:
    """R03: it stands level."""
    good, bad = e.such("unit_level", lambda d: d.ok), e.such("unit_level", lambda d: not d.ok)
    return judged(
        "R03", [Need("the level", good, bad, e.moves, e.doubts("unit_level"), fault="the machine is not level")], e.now
    )


def ground_connected(e: Evidence) -> Fact:
    """R04: the equipment ground is connected."""
    good, bad = e.such("ground", lambda d: d.connected), e.such("ground", lambda d: not d.connected)
    name, fault = trade_word("protective_conductor", e.limits.practice), f"the {e.limits.earth} is not connected"
    need = Need(name, good, bad, e.moves, e.doubts("ground"), fault=fault)
    return judged("R04", [need], e.now)


def no_alarm(e: Evidence) -> Fact:
    """R18: the controller was seen to show no alarm, and every alarm on record was cleared."""
    active = e.such("alarm", lambda d: d.state == "active")
    needs = [
        Need(
            "the controller's list of alarms",
            e.such("alarm_check", lambda d: d.none_shown),
            e.such("alarm_check", lambda d: not d.none_shown),
            active,
            e.doubts("alarm_check"),
            fresh=fresh_for("R18"),
            fault="an alarm is shown",
        )
    ]
    for (code,), records in e.subjects("alarm").items():
        bad = [r for r in records if r.data.state == "active"]
        doubts = e.doubts("alarm", code)
        if bad or doubts:
            good = [r for r in records if r.data.state == "cleared"]
            good += [] if bad else needs[0].goods
            needs.append(Need(f"alarm {code}", good, bad, doubts=doubts, fault=f"alarm {code} is active"))
    return judged("R18", needs, e.now)


def people_clear(e: Evidence) -> Fact:
    """R19: nobody near, seen within ten minutes."""
    good, bad = e.such("area_clear", lambda d: d.clear), e.such("area_clear", lambda d: not d.clear)
    need = Need(
        "the surroundings", good, bad, doubts=e.doubts("area_clear"), fresh=fresh_for("R19"), fault="somebody is near"
    )
    return judged("R19", [need], e.now)


def machine_checks_ok(e: Evidence) -> Fact:
    """R30: no item of the look over the machine out of order; two are looked at again after a move."""
    needs = []
    for subject, records in e.subjects("machine_check").items():
        good, bad = [r for r in records if r.data.ok], [r for r in records if not r.data.ok]
        moves = e.moves if subject[0] in AGAIN_AFTER_MOVE else []
        name = subject[-1].replace("_", " ")
        needs.append(Need(name, good, bad, moves, e.doubts("machine_check", *subject), detail="not in order"))
    return judged("R30", needs, e.now)


def coldest_allowed(e: Evidence) -> float | None:
    """K: a side of the evaporator colder than this has no compressor running on it; None where it is not known."""
    if not e.limits.glycol:
        return e.limits.coldest_water
    freezes = weakest_mixture(e)
    return None if freezes is None else freezes + FIVE_FAHRENHEIT


def water_asked(e: Evidence) -> bool:
    """Whether R31 is asked at all."""
    return e.limits.watch_water or bool(e.of("water_temperature"))


def water_warm(e: Evidence) -> Fact:
    """R31: entering and leaving warm enough, read since the pump was started where frost is to be expected."""
    lowest = coldest_allowed(e)
    needs = []
    for side in SIDES:
        good, bad = parted(side_readings(e, side), _at_least(side, lowest))
        watched = e.limits.watch_water
        if not (watched or bad):
            continue
        need = Need(f"{side} temperature", good, bad, doubts=e.doubts("water_temperature"))
        if bad and lowest is not None:
            coldest = min(bad, key=lambda r: (-r.latest, r.id))
            read = getattr(coldest.data, side)
            need.detail = f"{side} {read}, at least {in_unit_of(Temperature.from_si(lowest, 'K'), read)}"
            need.fault = need.detail
        if watched:
            run = e.pumping.run
            need.admit, need.undone_by, need.fresh = cache(run.within_spell), run.against.last, fresh_for("R31")
        needs.append(need)
    return judged("R31", needs, e.now)


def _at_least(side: str, lowest: float | None) -> Callable[[Record], bool]:
    return lambda r: lowest is None or at_least(getattr(r.data, side).si, lowest)


def side_readings(e: Evidence, side: str) -> list[Record]:
    """Water temperatures that tell of one side."""
    return [r for r in e.of("water_temperature") if getattr(r.data, side) is not UNSET]
