"""Every limit of a start on both sides of it, as near as can be written: a nanosecond, or a millionth of the reading.

The limits are those of the rules of a start, in the words beside each case: common practice, no source, unless a case names one.
What is just good, exactly at the limit and just not is asked for each. All data is invented.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Any, NamedTuple

import pytest
from quantity import q
from start_engine.book import by_the_book, configurations
from startup_histories import PLATE, ask, at, base, seen, volts

Json = dict[str, Any]
Judge = Callable[[Json], bool]
BOOKS = dict(configurations())
NEVER_STOPS = BOOKS["site-pump_never_stops-water"]
GLYCOL = {"fluid_kind": "propylene_glycol"}
TURNED = GLYCOL | {"loop_turnover_time": q(1, "min")}
GENERATOR = {"supply_source": "generator", "rated_frequency": q(50, "Hz")}
PSI = 6.894757293168
NO, YES = False, True
ON = seen("compressor", "09:06", id="1", state="on")
LOCKED = seen("lock", "09:05", "locked", lock_id="L9", state="applied", extra={"by": "ann"})
EARLY = seen("compressor", "09:04:30", "on", id="1", state="on")
ANN = {"extra": {"by": "ann"}}


def moved(clock: str, shift: int, seconds: int = 0) -> str:
    """So many seconds after a time of the day, and a nanosecond sooner, just then, or a nanosecond later."""
    whole = datetime.fromisoformat(at(clock)).timestamp() + seconds
    nanoseconds = int(whole) * 10**9 + shift
    text = datetime.fromtimestamp(nanoseconds // 10**9).astimezone(datetime.fromisoformat(at(clock)).tzinfo)
    return f"{text:%H:%M:%S}.{nanoseconds % 10**9:09d}"


def near(limit: float, shift: int) -> float:
    """The limit, or a millionth of it less or more."""
    return limit * (1 + 1e-6 * shift)


def without(*kinds: str) -> list[Json]:
    return [o for o in base() if o["kind"] not in kinds]


def blocked_by(rule: str) -> Judge:
    return lambda results: rule in {b["rule"] for b in results["blocks"]}


def suspected(rule: str) -> Judge:
    return lambda results: rule in {s["rule"] for s in results["impossible"]}


def status(name: str) -> Judge:
    return lambda results: bool(results["status"] == name)


def fact(name: str, state: str) -> Judge:
    return lambda results: bool(results["facts"][name]["status"] == state)


def next_may_start(results: Json) -> bool:
    return bool(results["may_start_next"]["allowed"])


class Limit(NamedTuple):
    """What is asked just below a limit, at it and just above; whether something is there each time."""

    what: str
    given: Callable[[int], Json]
    there: Judge
    expected: tuple[bool, bool, bool]


# --- readings ---------------------------------------------------------------------------------------------------------


def read(kind: str, name: str, limit: float, unit: str, /, **more: Any) -> Callable[[int], Json]:
    """One reading more, at 09:05 unless told otherwise, of what is limited."""
    clock, configuration = more.pop("clock", "09:05"), more.pop("configuration", None)
    return lambda shift: ask(
        [*base(), seen(kind, clock, "last", **more, **{name: q(near(limit, shift), unit)})], configuration=configuration
    )


def level(limit: float, rated: float = 460.0, runs: bool = False) -> Callable[[int], Json]:
    rows = [*base(), *([ON] if runs else [])]

    def given(shift: int) -> Json:
        v = near(limit, shift)
        return ask(
            [*rows, seen("line_voltage", "09:06:30", "last", **volts(v, v, v))],
            "09:07",
            {"rated_voltage": q(rated, "V")},
        )

    return given


def apart(share: float, runs: bool = False, **configuration: Any) -> Callable[[int], Json]:
    """460 V on average, one line above it and one below."""

    def given(shift: int) -> Json:
        off = 460 * near(share, shift)
        row = seen("line_voltage", "09:06:30", "last", **volts(460 + off, 460, 460 - off))
        return ask([*base(), *([ON] if runs else []), row], "09:07", configuration)

    return given


def hertz(limit: float) -> Callable[[int], Json]:
    return lambda shift: ask(
        [*base(), seen("line_voltage", "09:05", "last", **volts(478, 481, 476), frequency=q(near(limit, shift), "Hz"))],
        configuration=GENERATOR,
    )


def water(name: str, limit: float, unit: str, least: float, **configuration: Any) -> Callable[[int], Json]:
    """One side of the evaporator; the other is warm."""

    def given(shift: int) -> Json:
        other = "entering" if name == "leaving" else "leaving"
        sides = {name: q(limit + 1e-5 * shift, unit), other: q(limit + 0.5, unit)}
        return ask(
            [*base(), seen("water_temperature", "09:05", "last", **sides)],
            configuration={"set_point_minimum_water": q(least, "degF")} | configuration,
        )

    return given


def mixed(freezes: float, point: float, **configuration: Any) -> Callable[[int], Json]:
    def given(shift: int) -> Json:
        rows = [
            seen("antifreeze_reading", "09:04", "read", freeze_point=q(freezes + 1e-5 * shift, "degC")),
            seen("set_point", "09:04:30", "point", value=q(point, "degC")),
        ]
        return ask([*base(), *rows], configuration=GLYCOL | configuration)

    return given


def strained(limit: float, clean: float | None = None) -> Callable[[int], Json]:
    first = [] if clean is None else [seen("strainer_pressure_drop", "09:03:30", value=q(clean, "kPa"))]
    return lambda shift: ask(
        [*base(), *first, seen("strainer_pressure_drop", "09:05", value=q(near(limit, shift), "kPa"))]
    )


def standing(fell: float, cooled: float = 0.0, warm: float = 20.0, unit: str = "degC") -> Json:
    """The pump off from 09:10 on: the pressure read twice, ten minutes apart, and the temperature of the water beside it."""
    rows = [seen("pump_state", "09:10", pump="machine", state="off")]
    for clock, kilopascals, degrees in (("09:13", 310.0, warm), ("09:23", 310.0 - fell, warm - cooled)):
        rows.append(seen("loop_pressure", clock, pump="off", value=q(kilopascals, "kPa")))
        rows.append(seen("water_temperature", clock, entering=q(degrees, unit), leaving=q(degrees, unit)))
    return ask([*base(), *rows], "09:25")


def high_point(kilopascals: float) -> Json:
    """Water of 998 kg/m3, 20 m up, where 4 psi are to be left."""
    configuration = {"high_point_rise": q(20, "m"), "fill_pressure_minimum": q(20, "psi")}
    return ask(
        [*base(), seen("loop_pressure", "08:59:30", pump="off", value=q(kilopascals, "kPa"))],
        configuration=configuration,
    )


def never_stops(gauge: str, psi: float) -> Callable[[int], Json]:
    rows = by_the_book(NEVER_STOPS)

    def given(shift: int) -> Json:
        last = seen("loop_pressure", "09:05", "last", pump="on", gauge=gauge, value=q(near(psi, shift), "psi"))
        return {"configuration": NEVER_STOPS, "evaluated_at": at("09:06"), "observations": [*rows, last]}

    return given


def running(kind: str, name: str, limit: float, unit: str, **more: Any) -> Callable[[int], Json]:
    configuration = more.pop("configuration", None)
    return lambda shift: ask(
        [*base(), ON, seen(kind, "09:06:30", "last", **more, **{name: q(near(limit, shift), unit)})],
        "09:07",
        configuration,
    )


def colder(least: float, limit: float) -> Callable[[int], Json]:
    def given(shift: int) -> Json:
        sides = {"leaving": q(limit + 1e-5 * shift, "degF"), "entering": q(50, "degF")}
        rows = [*base(), ON, seen("water_temperature", "09:06:30", "last", **sides)]
        return ask(rows, "09:07", {"set_point_minimum_water": q(least, "degF")})

    return given


def presumed(entering: float) -> Json:
    read = seen("water_temperature", "09:05", leaving=q(9, "degC"), entering=q(entering, "degC"))
    return ask([*base(), read])


def outdoors(shift: int) -> Json:
    return ask(without("water_temperature"), configuration={"ambient_temperature": q(4 + 1e-6 * shift, "degC")})


def insulation(megohms: float, test: float, rated: float, shift: int, which: str) -> Json:
    scaled = [o for o in base() if o["kind"] != "line_voltage"]
    values = {"resistance": megohms, "test_voltage": test}
    values[which] = near(values[which], shift)
    row = seen(
        "insulation_test", "07:30", "last", electronics_disconnected=True,
        resistance=q(values["resistance"], "Mohm"), test_voltage=q(values["test_voltage"], "V"),
    )  # fmt: skip
    rows = [*scaled, row, seen("line_voltage", "08:02", **volts(rated, rated, rated))]
    return ask(rows, configuration={"rated_voltage": q(rated, "V")})


def plate(name: str, limit: float) -> Callable[[int], Json]:
    return lambda shift: ask(
        [*base(), seen("plate_check", "09:00", "last", **PLATE | {name: q(near(limit, shift), "A")})]
    )


READINGS = (
    # common practice: 40 to 50 psi at rest, 4 psi at the highest point; 35 kPa at the suction, 125 psi of rated pressure
    Limit("filled to 40 psi", read("loop_pressure", "value", 40, "psi", pump="off", clock="08:59:30"),
          blocked_by("R10"), (YES, NO, NO)),
    Limit("filled to 50 psi", read("loop_pressure", "value", 50, "psi", pump="off", clock="08:59:30"),
          blocked_by("R10"), (NO, NO, YES)),
    Limit("4 psi at the top", lambda s: high_point(near(4 * PSI + 0.998 * 9.80665 * 20, s)),
          blocked_by("R10"), (YES, NO, NO)),
    Limit("suction", read("loop_pressure", "value", 35, "kPa", pump="on", gauge="suction"),
          blocked_by("R10"), (YES, NO, NO)),
    Limit("weakest part", read("loop_pressure", "value", 125, "psi", pump="on", gauge="discharge"),
          blocked_by("R10"), (NO, NO, YES)),
    Limit("weakest part, at rest", read("loop_pressure", "value", 125, "psi", pump="off", gauge="other"),
          blocked_by("R10"), (NO, NO, YES)),
    # a pump that cannot stop: the same at its suction, with it on, and nothing of that at its discharge
    Limit("suction of 40 psi", never_stops("suction", 40), blocked_by("R10"), (YES, NO, NO)),
    Limit("suction of 50 psi", never_stops("suction", 50), blocked_by("R10"), (NO, NO, YES)),
    Limit("discharge of 50 psi", never_stops("discharge", 50), blocked_by("R10"), (NO, NO, NO)),
    # the maker's drop at its least and greatest flow; the least flow as given, and none at all
    Limit("least drop", read("evaporator_pressure_drop", "value", 15, "kPa"), blocked_by("R15"), (YES, NO, NO)),
    Limit("greatest drop", read("evaporator_pressure_drop", "value", 60, "kPa"), blocked_by("R15"), (NO, NO, YES)),
    Limit("least flow", read("flow", "value", 5, "L/s", configuration={"flow_minimum": q(5, "L/s")}),
          blocked_by("R15"), (YES, NO, NO)),
    Limit("half of rated", read("flow", "value", 6, "L/s", configuration={"rated_flow": q(12, "L/s")}),
          blocked_by("R15"), (YES, NO, NO)),
    Limit("no flow", lambda s: read("flow", "value", max(0, s) * 1e-3, "L/s")(0), blocked_by("R15"), (YES, YES, NO)),
    # common practice: 40 degF of set point with water; 15 delta_degF above the freezing point of a mixture
    Limit("set point", read("set_point", "value", 42, "degF", configuration={"set_point_minimum_water": q(42, "degF")}),
          blocked_by("R17"), (YES, NO, NO)),
    Limit("freeze margin", mixed(6 - 15 / 1.8, 6), blocked_by("R17"), (NO, NO, YES)),
    Limit("freeze margin as given", mixed(6 - 9, 6, freeze_margin=q(9, "delta_degC")),
          blocked_by("R17"), (NO, NO, YES)),
    Limit("frost of the weather", mixed(-15, 6, required_freeze_point=q(-15, "degC")),
          blocked_by("R13"), (NO, NO, YES)),
    # 38 degF, 2 delta_degF below the least set point, never under 35 degF; 5 delta_degF above the freezing point of a mixture
    Limit("water of 38 degF, leaving", water("leaving", 38, "degF", 45), blocked_by("R31"), (YES, NO, NO)),
    Limit("water of 38 degF, entering", water("entering", 38, "degF", 45), blocked_by("R31"), (YES, NO, NO)),
    Limit("water below its set point", water("leaving", 36.5, "degF", 38.5), blocked_by("R31"), (YES, NO, NO)),
    Limit("water of 35 degF", water("entering", 35, "degF", 36), blocked_by("R31"), (YES, NO, NO)),
    Limit("air of 4 degC", outdoors, blocked_by("R31"), (YES, NO, NO)),
    # common practice: a strainer of 35 kPa, of twice its clean drop, never of more than 70 kPa
    Limit("strainer", strained(35, 10), blocked_by("R16"), (NO, NO, YES)),
    Limit("twice clean", strained(40, 20), blocked_by("R16"), (NO, NO, YES)),
    Limit("strainer at the most", strained(70, 40), blocked_by("R16"), (NO, NO, YES)),
    # common practice: 7 kPa in ten minutes is a leak; cooling by more than 1 K excuses
    Limit("falling", lambda s: standing(near(7, s)), blocked_by("R10"), (NO, NO, YES)),
    Limit("cooled", lambda s: standing(8, near(1, s)), blocked_by("R10"), (YES, YES, NO)),
    Limit("cooled by 1.8 delta_degF", lambda s: standing(8, near(1.8, s), 69.4, "degF"), blocked_by("R10"), (YES, YES, NO)),
    # NEMA MG 1 12.44 (seen condensed): 0.9 to 1.1 of rated; common practice: 2 % apart, 5 % of a generator's hertz
    Limit("least volts", level(0.9 * 460), blocked_by("R06"), (YES, NO, NO)),
    Limit("greatest volts", level(1.1 * 460), blocked_by("R06"), (NO, NO, YES)),
    Limit("least volts of 575", level(0.9 * 575, 575), blocked_by("R06"), (YES, NO, NO)),
    Limit("unbalance", apart(0.02), blocked_by("R06"), (NO, NO, YES)),
    Limit("unbalance as given", apart(0.01, voltage_unbalance_limit=0.01), blocked_by("R06"), (NO, NO, YES)),
    Limit("least hertz", hertz(47.5), blocked_by("R06"), (YES, NO, NO)),
    Limit("greatest hertz", hertz(52.5), blocked_by("R06"), (NO, NO, YES)),
    # common practice: 1 ohm, 0.1 ohm above the run's own; 1 Mohm at 500 V, at 1000 V above 500 V of rating
    Limit("earth", read("earth_continuity", "resistance", 1, "ohm", clock="09:00"), blocked_by("R24"), (NO, NO, YES)),
    Limit("earth above its own", read("earth_continuity", "resistance", 0.4, "ohm", clock="09:00",
          configuration={"ground_run_resistance": q(0.3, "ohm")}), blocked_by("R24"), (NO, NO, YES)),
    Limit("insulation", lambda s: insulation(1, 500, 460, s, "resistance"), blocked_by("R25"), (YES, NO, NO)),
    Limit("tested at 500 V", lambda s: insulation(2, 500, 500, s, "test_voltage"), blocked_by("R25"), (YES, NO, NO)),
    Limit("tested at 1000 V", lambda s: insulation(2, 1000, 501, s, "test_voltage"), blocked_by("R25"), (YES, NO, NO)),
    # the plate: the cable carries its least ampacity; the breaker lies between that and the greatest device; 1 % of voltage
    Limit("cable", plate("cable_ampacity", 310), blocked_by("R02"), (YES, NO, NO)),
    Limit("breaker", plate("breaker_rating", 310), blocked_by("R02"), (YES, NO, NO)),
    Limit("greatest device", plate("breaker_rating", 400), blocked_by("R02"), (NO, NO, YES)),
    Limit("plate of 460 V", read("plate_check", "rated_voltage", 464.6, "V", clock="09:00", **PLATE),
          blocked_by("R02"), (NO, NO, YES)),
    # while it runs: at once under 0.8 of the least drop, out of 0.85 to 1.15, 5 % apart, 2 delta_degF below the coldest water
    Limit("runs, drop", running("evaporator_pressure_drop", "value", 12, "kPa"), status("stop_now"), (YES, NO, NO)),
    Limit("runs, least volts", level(0.85 * 460, runs=True), status("stop_now"), (YES, NO, NO)),
    Limit("runs, greatest volts", level(1.15 * 460, runs=True), status("stop_now"), (NO, NO, YES)),
    Limit("runs, unbalance", apart(0.05, runs=True), status("stop_now"), (NO, NO, YES)),
    Limit("runs, water", colder(45, 36), status("stop_now"), (YES, NO, NO)),
    # leaving more than 1 K below entering, and no compressor on record: one runs
    Limit("presumed", lambda s: presumed(10 + 1e-6 * s),
          status("stop_now"), (NO, NO, YES)),
)  # fmt: skip


# --- times ------------------------------------------------------------------------------------------------------------


def aged(clock: str, minutes: int, **configuration: Any) -> Callable[[int], Json]:
    return lambda shift: ask(base(), moved(clock, shift, 60 * minutes), configuration)


def unsure(kind: str, clock: str, minutes: int) -> Callable[[int], Json]:
    """The last record of a kind is not sure by 30 s: its age counts from as early as it can have been."""
    rows = [o | {"time_uncertainty": q(30, "s")} if o["kind"] == kind and o["at"] == at(clock) else o for o in base()]
    return lambda shift: ask(rows, moved(clock, shift, 60 * minutes - 30))


def after_the_stop(shift: int) -> Json:
    """The pump off at 09:10, a pressure two minutes later, and another that fell since."""
    rows = [seen("pump_state", "09:10", pump="machine", state="off")]
    rows += [
        seen("loop_pressure", clock, pump="off", value=q(kilopascals, "kPa"))
        for clock, kilopascals in ((moved("09:12", shift), 310.0), ("09:22:30", 302.0))
    ]
    return ask([*base(), *rows], "09:25")


def two_pressures(seconds: int, fell: float) -> Callable[[int], Json]:
    def given(shift: int) -> Json:
        rows = [seen("pump_state", "09:10", pump="machine", state="off")]
        rows += [
            seen("loop_pressure", clock, pump="off", value=q(kilopascals, "kPa"))
            for clock, kilopascals in (("09:13", 310.0), (moved("09:13", shift, seconds), 310.0 - fell))
        ]
        return ask([*base(), *rows], "10:10")

    return given


def held(seconds: int) -> Callable[[int], Json]:
    """After a fall from 09:13 to 09:16, the same pressure read again."""

    def given(shift: int) -> Json:
        rows = [seen("pump_state", "09:10", pump="machine", state="off")]
        rows += [
            seen("loop_pressure", clock, pump="off", value=q(kilopascals, "kPa"))
            for clock, kilopascals in (("09:13", 310), ("09:16", 304), (moved("09:16", shift, seconds), 304))
        ]
        return ask([*base(), *rows], "10:10")

    return given


def taken_back(by: str, role: str = "") -> Callable[[int], Json]:
    """An opening of the loop, which its author takes back ten minutes later."""

    def given(shift: int) -> Json:
        who = {"by": by, "supersedes": "opened"} | ({"role": role} if role else {})
        rows = [
            seen("loop_opened", "08:51", "opened", where="strainer", **ANN),
            seen("withdrawn", moved("09:01", shift), "back", reason="wrong machine", extra=who),
        ]
        return ask([*base(), *rows])

    return given


def interrupted(shift: int) -> Json:
    """Dark for 60 s from 08:30 on, give or take 10 s: the oil warms from 08:31:10 on, for an hour."""
    gap = seen("supply", "08:30", "gap", u=10, state="interrupted", duration=q(60, "s"))
    again = seen("line_voltage", "08:50", "volts", **volts(478, 481, 476))
    fresh = [o | {"id": f"again-{o['id']}", "at": at("09:28")} for o in base() if o["at"] > at("09:00")]
    return ask([*base(), gap, again, *fresh], moved("09:31:10", shift))


def rested(shift: int) -> Json:
    off = seen("compressor", "09:03", "off", u=20, id="1", state="off")
    return ask([*base(), off], moved("09:03:20", shift, 180), {"anti_recycle": q(3, "min")})


def next_of_two(shift: int) -> Json:
    rows = [*base(), seen("oil_heater", "08:51", compressor="2", working=True), ON]
    return ask(rows, moved("09:06", shift, 180), {"compressors": 2, "anti_recycle": q(3, "min")})


def low_drop_asked(shift: int) -> Json:
    return ask([*base(), ON, seen("evaporator_pressure_drop", "09:10", value=q(13, "kPa"))], moved("09:15", shift))


def low_drop_answered(shift: int) -> Json:
    low = seen("evaporator_pressure_drop", "09:10", value=q(13, "kPa"))
    return ask(
        [*base(), ON, low, seen("evaporator_pressure_drop", moved("09:15", shift), "good", value=q(35, "kPa"))], "09:30"
    )


def low_drop_twice(shift: int) -> Json:
    lows = [seen("evaporator_pressure_drop", clock, value=q(13, "kPa")) for clock in ("09:10", moved("09:11", shift))]
    return ask([*base(), ON, *lows], "09:12")


def made_twice(shift: int) -> Json:
    rows = [seen("flow_switch", "09:10", state="not_made"), seen("flow_switch", "09:11", state="made")]
    return ask([*base(), ON, *rows, seen("flow_switch", moved("09:12", shift), "again", state="made")], "09:20")


def first_run(shift: int) -> Json:
    """The pump off five minutes after its flow was proved, and the strainer blown down then."""
    kept = [o for o in base() if o["id"] not in ("pump_state.machine.08:58", "strainer..08:58")]
    off = seen("pump_state", moved("08:57:30", shift), "off", pump="machine", state="off")
    return ask([*kept, off, seen("strainer", "08:58:10", "blown", blown_down=True)])


def blown_down(shift: int) -> Json:
    return ask([*without("strainer"), seen("strainer", moved("08:57:30", shift), "blown", blown_down=True)])


def vented_twice(shift: int) -> Json:
    rows = [o for o in by_the_book(NEVER_STOPS) if o["kind"] != "purge"]
    rows += [
        seen("purge", clock, f"v{clock}", point="high_point", result="steady_water", pump="on")
        for clock in ("08:40", moved("08:50", shift))
    ]
    return {"configuration": NEVER_STOPS, "evaluated_at": at("09:06"), "observations": rows}


def turned(of: str) -> Callable[[int], Json]:
    """A turn of the loop takes a minute: three after the pump went on at 09:02, or after water went in."""

    def given(shift: int) -> Json:
        begun = "09:02" if of == "pump" else "09:05:30"
        fill = [] if of == "pump" else [seen("fill", "09:05:30", "in", medium="water", purpose="top_up")]
        last = seen("antifreeze_reading", moved(begun, shift, 180), freeze_point=q(-12, "degC"))
        return ask([*base(), *fill, last], "09:12", TURNED)

    return given


def resets(shift: int) -> Json:
    """Three resets of one alarm: the first a day before the last."""
    rows = []
    for number, stamp in enumerate(("2026-05-03T08:59:00Z", "2026-05-04T08:00:00Z", at(moved("08:59", shift)))):
        for state in ("active", "cleared"):
            row = seen("alarm", "08:00", f"{number}{state}", code="HP", state=state)
            rows.append(
                row | {"at": stamp if state == "cleared" else f"2026-05-0{3 if not number else 4}T07:5{number}:00Z"}
            )
    return ask([*base(), *rows, seen("alarm_check", "09:05", none_shown=True)])


def follows(first: Json, kind: str, /, **data: Any) -> Callable[[int], Json]:
    """What makes good comes a nanosecond before what spoiled, with it, or after it."""
    extra = data.pop("extra", {})
    return lambda shift: ask([*base(), first, seen(kind, moved("09:05", shift), "good", extra=extra, **data)])


def settled(shift: int) -> Json:
    """A start with cold oil is settled by its owner; the machine stands again since."""
    off = seen("compressor", "09:05", "off", id="1", state="off")
    done = seen(
        "settled", moved("09:04:30", shift), "settled", check="I12", records=["on"], found="mixed up", done="read anew",
        extra={"by": "otto", "role": "owner"},
    )  # fmt: skip
    return ask([*base(), EARLY, off, done], "09:20")


FROZEN = seen("flow_switch", "08:46", "early", state="made")


def seen_open(shift: int) -> Json:
    """A switch that was made before any pump was on, seen open when the pump had stopped at 08:58."""
    return ask([*base(), FROZEN, seen("flow_switch", moved("08:58", shift), "open", state="not_made")])


def seen_open_behind_a_valve(shift: int) -> Json:
    """The same with a pump that cannot stop: the return valve was closed from 09:00 to 09:01."""
    rows = [
        *by_the_book(NEVER_STOPS),
        seen("flow_switch", "08:10", "early", state="made"),
        seen("valve_position", "09:00", "shut", valve="return", position="closed"),
        seen("flow_switch", moved("09:00", shift), "open", state="not_made"),
        seen("valve_position", "09:01", "opened", valve="return", position="open"),
    ]
    return {"configuration": NEVER_STOPS, "evaluated_at": at("09:06"), "observations": rows}


def filled_again(shift: int) -> Json:
    """A pump that cannot stop: the flow of its first run was proved at 08:34, the first fill then, or on either side of it."""
    rows = [o | {"at": at(moved("08:34", -shift))} if o["kind"] == "fill" else o for o in by_the_book(NEVER_STOPS)]
    return {"configuration": NEVER_STOPS, "evaluated_at": at("09:06"), "observations": rows}


def alive_after_off(kind: str, **data: Any) -> Callable[[int], Json]:
    """The supply off at 08:10 and on at 08:11: a sign of life between the two."""
    off, on = seen("supply", "08:10", "x", state="off"), seen("supply", "08:11", "y", state="on")
    return lambda shift: ask([*base(), off, on, seen(kind, moved("08:10", shift), "alive", **data)])


TIMES = (
    # what ages counts for so long, from as early as it can have been made
    Limit("people for 10 min", aged("09:04", 10), fact("people_clear", "stale"), (NO, NO, YES)),
    Limit("people, unsure", unsure("area_clear", "09:04", 10), fact("people_clear", "stale"), (NO, NO, YES)),
    Limit("alarms for 15 min", aged("09:01", 15), fact("no_alarm", "stale"), (NO, NO, YES)),
    Limit("alarms, unsure", unsure("alarm_check", "09:01", 15), fact("no_alarm", "stale"), (NO, NO, YES)),
    Limit("flow for 15 min", aged("09:03", 15), fact("flow_proven", "stale"), (NO, NO, YES)),
    Limit("switch, unsure", unsure("flow_switch", "09:03", 15), fact("flow_proven", "stale"), (NO, NO, YES)),
    Limit("drop, unsure", unsure("evaporator_pressure_drop", "09:03", 15), fact("flow_proven", "stale"), (NO, NO, YES)),
    Limit("water for 15 min", aged("09:03", 15), fact("water_warm", "stale"), (NO, NO, YES)),
    Limit("pump for 30 min", aged("09:02", 30), fact("pump_running", "stale"), (NO, NO, YES)),
    Limit("volts for 4 h", aged("08:02", 240), fact("voltage_in_limits", "stale"), (NO, NO, YES)),
    Limit("supply for 12 h", aged("08:03", 720), fact("energised", "stale"), (NO, NO, YES)),
    Limit("pressure for 12 h", aged("08:59", 720), fact("loop_pressurised", "stale"), (NO, NO, YES)),
    # the oil's heat: an hour, or as long as the machine asks; from the end of an interruption as late as it can have been
    Limit("heat for an hour", aged("08:05", 60), status("wait"), (YES, NO, NO)),
    Limit("heat for two hours", aged("08:05", 120, warm_up_duration=q(2, "h")),
          fact("oil_warm", "waiting"), (YES, NO, NO)),
    Limit("heat after a gap", interrupted, status("wait"), (YES, NO, NO)),
    Limit("rest of a compressor", rested, status("wait"), (YES, NO, NO)),
    Limit("starts spaced out", next_of_two, next_may_start, (NO, YES, YES)),
    Limit("a cold start for 10 min", lambda s: ask([*base(), EARLY], moved("09:14:30", s)),
          status("stop_now"), (YES, YES, NO)),
    Limit("the hour before a start", lambda s: ask([*base(), seen("compressor", moved("09:05", s), id="1", state="on")], "09:20"),
          suspected("I12"), (YES, NO, NO)),
    # flow: a first run of 5 min; a purge or blow-down surely after it; signs of it a minute round the pump's run
    Limit("a first run", first_run, blocked_by("R16"), (YES, NO, NO)),
    Limit("blown down after it", blown_down, blocked_by("R16"), (YES, YES, NO)),
    Limit("a switch before the pump", lambda s: ask([*base(), seen("flow_switch", moved("08:51", s), state="made")]),
          suspected("I2"), (YES, NO, NO)),
    Limit("seen open, pump off", seen_open, blocked_by("R15"), (YES, YES, NO)),
    Limit("seen open, valve shut", seen_open_behind_a_valve, suspected("I2"), (YES, YES, YES)),
    Limit("seen open, valve shut, cured", seen_open_behind_a_valve,
          lambda r: r["facts"]["flow_proven"]["status"] == "contradicted", (YES, YES, NO)),
    Limit("proved on this filling", filled_again, blocked_by("R16"), (YES, YES, NO)),
    # volts or a rotation with the supply seen off, and not seen on since
    Limit("volts after off", alive_after_off("line_voltage", **volts(478, 481, 476)), blocked_by("I3"), (NO, YES, YES)),
    Limit("rotation after off", alive_after_off("phase_indicator", rotation="correct"), blocked_by("I3"), (NO, YES, YES)),
    # pressure: pairs of 2 to 30 min, both 2 min after the stop; held for 10 min it is cleared
    Limit("2 min after the stop", after_the_stop, blocked_by("R10"), (NO, YES, YES)),
    Limit("a pair of 2 min", two_pressures(120, 5), blocked_by("R10"), (NO, YES, YES)),
    Limit("a pair of 30 min", two_pressures(1800, 30), blocked_by("R10"), (YES, YES, NO)),
    Limit("held for 10 min", held(600), blocked_by("R10"), (YES, NO, NO)),
    Limit("held for 30 min", held(1800), blocked_by("R10"), (NO, NO, YES)),
    Limit("vented twice in 10 min", vented_twice, blocked_by("R11"), (YES, NO, NO)),
    Limit("three turns of the pump", turned("pump"), blocked_by("R13"), (YES, NO, NO)),
    Limit("three turns of new water", turned("water"), blocked_by("R13"), (YES, NO, NO)),
    # a mistaken event is taken back by its author within 10 min, later by a supervisor
    Limit("taken back", taken_back("ann"), blocked_by("R12"), (NO, NO, YES)),
    Limit("taken back by another", taken_back("bo"), blocked_by("R12"), (YES, YES, YES)),
    Limit("taken back by a supervisor", taken_back("sue", "supervisor"), blocked_by("R12"), (NO, NO, NO)),
    # while it runs: none within 5 min, or a second one a minute later, is a stop; two good ones a minute apart clear it
    Limit("asked within 5 min", low_drop_asked, status("stop_now"), (NO, NO, YES)),
    Limit("answered within 5 min", low_drop_answered, status("stop_now"), (NO, NO, YES)),
    Limit("a second breach", low_drop_twice, status("stop_now"), (NO, YES, YES)),
    Limit("two good ones", made_twice, status("stop_now"), (YES, NO, NO)),
    Limit("three resets in a day", resets, blocked_by("repeated_trips"), (YES, YES, NO)),
    Limit("a stamp 2 min ahead", lambda s: ask([*base(), seen("area_clear", moved("09:08", s), "ahead", clear=True)]),
          suspected("I1"), (NO, NO, YES)),
    # good after something is surely after it: not before, nor at the same instant
    Limit("a lock taken off", follows(LOCKED, "lock", lock_id="L9", state="removed", **ANN),
          lambda r: "L9" in str(r["blocks"]), (YES, YES, NO)),
    Limit("a look at the locks", follows(seen("lock_check", "09:05", none_seen=False), "lock_check", none_seen=True),
          blocked_by("R01"), (YES, YES, NO)),
    Limit("a look at the alarms", follows(seen("alarm", "09:05", code="HP", state="active"), "alarm_check", none_shown=True),
          lambda r: any(b["rule"] == "R18" and "list of alarms" in b["statement"] for b in r["blocks"]), (YES, YES, NO)),
    Limit("people gone", follows(seen("area_clear", "09:05", "near", clear=False), "area_clear", clear=True),
          blocked_by("R19"), (YES, YES, NO)),
    Limit("a new set point", follows(seen("set_point", "09:05", "cold", value=q(38, "degF")), "set_point", value=q(44, "degF")),
          blocked_by("R17"), (YES, YES, NO)),
    Limit("settled after it", settled, blocked_by("I12"), (YES, YES, NO)),
)  # fmt: skip


@pytest.mark.parametrize("limit", [*READINGS, *TIMES], ids=lambda limit: limit.what)
def test_just_below_at_and_just_above(answer_of: Any, limit: Limit) -> None:
    found = tuple(limit.there(answer_of("readiness.startup", limit.given(shift))["results"]) for shift in (-1, 0, 1))
    assert found == limit.expected


# --- rotation ---------------------------------------------------------------------------------------------------------

SITE: Json = {}
SWITCHED: Json = {"transfer_switch": True}
OFF_AND_ON: dict[str, list[Json]] = {
    "plain": [seen("supply", "08:10", "x", state="off"), seen("supply", "08:11", "y", state="on")],
    "switched": [seen("supply", "08:10", "x", state="off", cause="switched"), seen("supply", "08:11", "y", state="on")],
    "storm": [seen("supply", "08:10", "x", state="off", cause="storm"), seen("supply", "08:11", "y", state="on")],
    "line work": [seen("supply", "08:10", "x", state="off", cause="line_work"), seen("supply", "08:11", "y", state="on")],
    "source work": [seen("supply", "08:10", "x", state="off", cause="source_work"), seen("supply", "08:11", "y", state="on")],
    "short": [seen("supply", "08:10", "x", state="interrupted", duration=q(5, "s"))],
    "storm, short": [seen("supply", "08:10", "x", state="interrupted", duration=q(5, "s"), cause="storm")],
    "isolator": [seen("isolator", "08:10", "x", state="open"), seen("isolator", "08:11", "y", state="closed"),
                 seen("supply", "08:11", "z", state="on")],
    "leads": [seen("leads_swapped", "08:10", "x", where="source"), seen("supply", "08:11", "y", state="on")],
    "moved": [seen("moved", "08:10", "x"), seen("supply", "08:11", "y", state="on")],
}  # fmt: skip
ASKS_AGAIN = {
    "utility": {"storm", "line work", "source work", "storm, short", "leads", "moved"},
    "transfer switch": set(OFF_AND_ON),
    "generator": set(OFF_AND_ON),
}
"""Rotation is read again after each loss where the source is a generator or stands behind a transfer switch; of a utility after
its leads or source were touched, after line work and after a storm; a plain outage of it is a check."""


@pytest.mark.parametrize("source", ASKS_AGAIN)
@pytest.mark.parametrize("loss", OFF_AND_ON)
def test_rotation_is_read_again_after_what_can_have_turned_it(answer_of: Any, source: str, loss: str) -> None:
    configuration = {"utility": SITE, "transfer switch": SWITCHED, "generator": GENERATOR}[source]
    told = answer_of("readiness.startup", ask([*base(), *OFF_AND_ON[loss]], configuration=configuration))
    assert blocked_by("R07")(told["results"]) == (loss in ASKS_AGAIN[source])
    plain = source == "utility" and loss in ("plain", "switched", "short")
    assert ("rotation_after_outage" in {f["code"] for f in told["findings"]}) == plain
    for shift, asked in ((-1, YES), (0, YES), (1, NO)):
        after = "08:11" if len(OFF_AND_ON[loss]) > 1 else "08:10:05"
        spoiled = moved("08:10", shift)
        reading = seen(
            "phase_indicator", spoiled if "short" not in loss else moved(after, shift), "read", rotation="correct"
        )
        again = answer_of("readiness.startup", ask([*base(), *OFF_AND_ON[loss], reading], configuration=configuration))
        assert blocked_by("R07")(again["results"]) == (asked and loss in ASKS_AGAIN[source]), shift
