"""Where each reading of a start begins to count against it, by the limit in the words of its rule."""

from datetime import UTC, datetime, timedelta
from typing import Any

from CoolProp.CoolProp import PropsSI
from edges import Edge, edges, hold_to
from quantity import q
from startup_histories import PLATE, ask, base, seen, volts

START = "readiness.startup"
STARTED = seen("compressor", "09:05", id="1", state="on")
GLYCOL = {"fluid_kind": "propylene_glycol"}
FREEZES = PropsSI("T_FREEZE", "T", 280, "P", 1e5, "INCOMP::MPG[0.3]") - 273.15
REFERENCE = {"evaporator_reference_flow": q(10, "L/s")}


def told(kind: str, clock: str, configuration: dict[str, Any] | None = None, /, **data: Any) -> dict[str, Any]:
    return ask([*base(), seen(kind, clock, "last", **data)], configuration=configuration)


def running(kind: str, **data: Any) -> dict[str, Any]:
    return ask([*base(), STARTED, seen(kind, "09:05:30", "last", **data)])


def level(volt: float) -> dict[str, Any]:
    return volts(volt, volt, volt)


def apart(share: float) -> dict[str, Any]:
    """Two lines alike, the third so far below the mean of 460 V."""
    return volts(460 * (1 + share / 2), 460 * (1 + share / 2), 460 * (1 - share))


def earth(ohms: float, own: float | None = None) -> dict[str, Any]:
    configuration = {} if own is None else {"ground_run_resistance": q(own, "ohm")}
    return told("earth_continuity", "09:00", configuration, resistance=q(ohms, "ohm"))


def insulation(megohms: float, test: float = 500, rated: float = 460) -> dict[str, Any]:
    reading = {"resistance": q(megohms, "Mohm"), "test_voltage": q(test, "V"), "electronics_disconnected": True}
    row = seen("insulation_test", "07:30", "last", **reading)
    scaled = [o for o in base() if o["kind"] != "line_voltage"]
    return ask(
        [*scaled, row, seen("line_voltage", "08:02", **level(rated))], configuration={"rated_voltage": q(rated, "V")}
    )


def dropped(reference: float, minutes: float = 0) -> dict[str, Any]:
    """A flow as the reference, so that its drop is expected; 35 kPa were read at 09:03."""
    clock = (datetime(2026, 5, 4, 9, 3, tzinfo=UTC) - timedelta(minutes=minutes)).strftime("%H:%M:%S")
    configuration = REFERENCE | {"evaporator_reference_pressure_drop": q(reference, "kPa")}
    return told("flow", clock, configuration, value=q(10, "L/s"))


def trips(hours: float) -> dict[str, Any]:
    """Three resets of one alarm, the first so long before the last."""
    last = datetime(2026, 5, 4, 8, 59, tzinfo=UTC)
    rows = []
    for number, moment in enumerate((last - timedelta(hours=hours), last - timedelta(hours=1), last)):
        for state, seconds in (("active", 0), ("cleared", 30)):
            row = seen("alarm", "08:00", f"{number}{state}", code="HP", state=state)
            row["at"] = (moment + timedelta(seconds=seconds)).strftime("%Y-%m-%dT%H:%M:%SZ")
            rows.append(row)
    return ask([*base(), *rows])


def water(leaving: float, entering: float = 10.0) -> dict[str, Any]:
    return {"leaving": q(leaving, "degC"), "entering": q(entering, "degC")}


def chilled(fahrenheit: float, least: float) -> dict[str, Any]:
    """Water so cold, where the least set point is so low."""
    configuration = {"set_point_minimum_water": q(least, "degF")}
    return told(
        "water_temperature", "09:04", configuration, leaving=q(fahrenheit, "degF"), entering=q(fahrenheit + 0.5, "degF")
    )


def brine(celsius: float) -> dict[str, Any]:
    """A mixture that freezes at -12 degC."""
    read = seen("antifreeze_reading", "09:04", freeze_point=q(-12, "degC"))
    return ask(
        [*base(), read, seen("water_temperature", "09:05", "last", **water(celsius, celsius + 0.3))],
        configuration=GLYCOL,
    )


def outdoors(celsius: float) -> dict[str, Any]:
    """Nobody read the water."""
    unread = [o for o in base() if o["kind"] != "water_temperature"]
    return ask(unread, configuration={"ambient_temperature": q(celsius, "degC")})


def leaking(kilopascals: float, cooled: float = 0.0) -> dict[str, Any]:
    """Two readings of the standing loop, ten minutes apart, and of its water."""
    rows = [seen("pump_state", "09:10", pump="machine", state="off")]
    for clock, gauge, warm in (("09:13", 310.0, 20.0), ("09:23", 310.0 - kilopascals, 20.0 - cooled)):
        rows.append(seen("loop_pressure", clock, pump="off", value=q(gauge, "kPa")))
        rows.append(seen("water_temperature", clock, **water(warm, warm)))
    return ask([*base(), *rows], "09:25")


def strained(kilopascals: float, clean: float | None = None) -> dict[str, Any]:
    """The strainer's drop, perhaps after one that was read of it just blown down."""
    first = [] if clean is None else [seen("strainer_pressure_drop", "09:03:30", value=q(clean, "kPa"))]
    return ask([*base(), *first, seen("strainer_pressure_drop", "09:05", value=q(kilopascals, "kPa"))])


def amps(name: str, value: float) -> dict[str, Any]:
    """The plate of 310 A at least and 400 A at most, a cable of 380 A and a breaker of 400 A, one of them otherwise."""
    return told("plate_check", "09:00", **PLATE | {name: q(value, "A")})


def at_rest(psi: float) -> dict[str, Any]:
    return told("loop_pressure", "08:59:30", pump="off", value=q(psi, "psi"))


def moving(gauge: str, kilopascals: float, least: float | None = None) -> dict[str, Any]:
    configuration = {} if least is None else {"suction_pressure_minimum": q(least, "kPa")}
    return told("loop_pressure", "09:05", configuration, pump="on", gauge=gauge, value=q(kilopascals, "kPa"))


def flowing(litres: float, **configuration: Any) -> dict[str, Any]:
    return told("flow", "09:05", configuration, value=q(litres, "L/s"))


def mixed(freezes: float, set_point: float, **configuration: Any) -> dict[str, Any]:
    read = seen("antifreeze_reading", "09:04", freeze_point=q(freezes, "degC"))
    point = seen("set_point", "09:04:30", "point", value=q(set_point, "degC"))
    return ask([*base(), read, point], configuration=GLYCOL | configuration)


LIMITS = (
    # the machine's plate: the cable carries its least ampacity, the breaker lies between that and the greatest device
    Edge(START, "R02", 310, lambda a: amps("cable_ampacity", a), below=True, step=1),
    Edge(START, "R02", 310, lambda a: amps("breaker_rating", a), below=True, step=1),
    Edge(START, "R02", 400, lambda a: amps("breaker_rating", a), step=1, says="is above 400 A"),
    # common practice: 40 to 50 psi at rest; 35 kPa at the suction and 125 psi anywhere with the pump on
    Edge(START, "R10", 40, at_rest, below=True, step=0.1),
    Edge(START, "R10", 50, at_rest, step=0.1),
    Edge(START, "R10", 35, lambda k: moving("suction", k), below=True, step=0.5),
    Edge(START, "R10", 20, lambda k: moving("suction", k, 20), below=True, step=0.5),
    Edge(START, "R10", 125 * 6.894757, lambda k: moving("discharge", k), step=2),
    Edge(START, "R10", 125 * 6.894757, lambda k: moving("other", k), step=2),
    # the maker's drop at least and at greatest flow; the least flow as given, by the square law, or half of rated
    Edge(START, "R15", 15, lambda k: told("evaporator_pressure_drop", "09:05", value=q(k, "kPa")), below=True),
    Edge(START, "R15", 60, lambda k: told("evaporator_pressure_drop", "09:05", value=q(k, "kPa"))),
    Edge(START, "R15", 5, lambda f: flowing(f, flow_minimum=q(5, "L/s")), below=True),
    Edge(START, "R15", 6, lambda f: flowing(f, rated_flow=q(12, "L/s")), below=True),
    Edge(
        START, "R15", 10 * (15 / 35) ** 0.5,
        lambda f: flowing(f, **REFERENCE, evaporator_reference_pressure_drop=q(35, "kPa")), below=True,
    ),
    # common practice: 40 degF of set point with plain water; a mixture freezes 15 delta_degF below it, or as the plan asks
    Edge(START, "R17", 42, lambda f: told("set_point", "09:05", {"set_point_minimum_water": q(42, "degF")}, value=q(f, "degF")),
         below=True, step=0.1),
    Edge(START, "R17", 4.4, lambda t: told("set_point", "09:05", value=q(t, "degC")), below=True, step=0.05),
    Edge(START, "R17", 6 - 15 / 1.8, lambda t: mixed(t, 6), step=0.05),
    Edge(START, "R17", 6 - 9, lambda t: mixed(t, 6, freeze_margin=q(9, "delta_degC")), step=0.05),
    Edge(START, "R13", -15, lambda t: mixed(t, 6, required_freeze_point=q(-15, "degC")), step=0.05),
    # 1 K colder behind the evaporator than before it: something cools, and no compressor is on record
    Edge(START, "stop_now", 1.0, lambda k: told("water_temperature", "09:04", **water(10 - k))),
    # common practice: a strainer of 35 kPa, or of twice its clean drop, and never of more than 70 kPa
    Edge(START, "R16", 40.0, lambda k: strained(k, 20)),
    Edge(START, "R16", 35.0, lambda k: strained(k, 10)),
    Edge(START, "R16", 70.0, lambda k: strained(k, 40)),
    # common practice: 7 kPa in ten minutes is a leak, where the water has not cooled by more than 1 K meanwhile
    Edge(START, "R10", 7.0, leaking),
    Edge(START, "R10", 1.0, lambda k: leaking(10, k), below=True),
    # plain water is watched below 4 degC of air
    Edge(START, "R31", 4.0, outdoors, below=True),
    # 2 delta_degF below the least set point of water, not below 35 and not above 38 degF; 5 above the freezing point
    Edge(START, "R31", 38.0, lambda f: chilled(f, 45), below=True, step=0.05),
    Edge(START, "R31", 36.5, lambda f: chilled(f, 38.5), below=True, step=0.05),
    Edge(START, "R31", 35.0, lambda f: chilled(f, 36), below=True, step=0.05),
    Edge(START, "R31", -12 + 5 / 1.8, brine, below=True, step=0.05),
    Edge(
        START, "stop_now", 36.0,
        lambda f: ask(
            [*base(), STARTED, seen("water_temperature", "09:05:30", leaving=q(f, "degF"), entering=q(50, "degF"))],
            configuration={"set_point_minimum_water": q(45, "degF")},
        ), below=True, step=0.05,
    ),
    # 2 kPa of drop are more than standing liquid makes: before any pump was on they show an instrument that is not to be trusted
    Edge(START, "I2", 2.0, lambda k: told("evaporator_pressure_drop", "08:46", value=q(k, "kPa"))),
    # NEMA MG 1 12.44 (seen condensed): 0.9 to 1.1 of 460 V, 5 % of the plate's frequency; common practice: 2 % apart
    Edge(
        START, "R06", 414, lambda v: told("line_voltage", "09:00", **level(v)), below=True, step=0.5,
        says="limits 414 to 506 V",
    ),
    Edge(
        START, "R06", 506, lambda v: told("line_voltage", "09:00", **level(v)), step=0.5,
        says="limits 414 to 506 V",
    ),
    Edge(
        START, "R06", 0.02, lambda u: told("line_voltage", "09:00", **apart(u)), step=0.001, says="at most 2 %"
    ),
    Edge(
        START, "R06", 63,
        lambda f: told("line_voltage", "09:00", {"rated_frequency": q(60, "Hz")}, **level(460), frequency=q(f, "Hz")), step=0.1,
    ),
    # common practice: 1 ohm, and 0.1 ohm above the run's own; 1 Mohm at 500 V, at 1000 V for machines above 500 V
    Edge(START, "R24", 1.0, earth),
    Edge(START, "R24", 0.4, lambda r: earth(r, 0.3), step=0.01),
    Edge(START, "R25", 1.0, insulation, below=True),
    Edge(START, "R25", 500, lambda v: insulation(2, v), below=True),
    Edge(START, "R25", 1000, lambda v: insulation(2, v, 575), below=True),
    # common practice: the cable's plate within 1 % of the configured voltage
    Edge(START, "R02", 1.01, lambda r: told("plate_check", "09:00", **PLATE, rated_voltage=q(460 * r, "V")), step=0.002),
    # suspicions, all common practice: 10 kPa of rise, 3 K of freezing point, a quarter of the drop, 15 min apart
    Edge(START, "I5", 10, lambda k: told("loop_pressure", "08:50", pump="off", value=q(45 * 6.894757 + k, "kPa"))),
    Edge(
        START, "I7", 3,
        lambda k: told("antifreeze_reading", "09:04", GLYCOL, freeze_point=q(FREEZES - k, "degC"), mass_fraction=0.3),
        says="30 % by mass freezes at ",
    ),
    Edge(START, "I8", 35 / 1.25, dropped, below=True),
    Edge(START, "I8", 35 / 0.75, dropped),
    Edge(START, "I8", 15, lambda minutes: dropped(20, minutes), below=True),
    # half of the voltage is a live supply, whatever the record says of its switch
    Edge(
        START, "I3", 0.5,
        lambda s: ask([*base(), seen("supply", "08:30", state="off"), seen("line_voltage", "08:35", **level(460 * s))]),
    ),
    # a tenth of the voltage is no longer a dead supply, but one that was out of its limits
    Edge(
        START, "I14", 0.1,
        lambda s: ask([*base(), seen("line_voltage", "08:10", **level(460 * s)), seen("line_voltage", "08:20", **level(478))]),
    ),
    # the wrong way round: 0.5 K warmer with a compressor on, 1 K colder without
    Edge(START, "I9", 0.5, lambda k: running("water_temperature", **water(10 + k))),
    Edge(START, "I9", 1.0, lambda k: told("water_temperature", "09:04", **water(10 - k))),
    # three resets within a day
    Edge(START, "repeated_trips", 24, trips, below=True, step=0.1),
    # while it runs: a stop at once under 0.8 of the least drop, out of 0.85 to 1.15 of the voltage, above 5 % apart
    Edge(START, "stop_now", 0.8 * 15, lambda k: running("evaporator_pressure_drop", value=q(k, "kPa")), below=True),
    Edge(START, "stop_now", 0.85 * 460, lambda v: running("line_voltage", **level(v)), below=True, step=1),
    Edge(START, "stop_now", 1.15 * 460, lambda v: running("line_voltage", **level(v)), step=1),
    Edge(START, "stop_now", 0.05, lambda u: running("line_voltage", **apart(u)), step=0.001),
)  # fmt: skip


@edges(LIMITS)
def test_a_reading_counts_from_its_limit_on(answer_of: Any, edge: Edge) -> None:
    hold_to(edge, answer_of)


def test_without_a_plate_it_is_460_volts_and_an_hour(answer_of: Any) -> None:
    """Common practice: what is taken where the set-up does not say, as the answer's assumptions name it."""
    unsaid = {"rated_voltage": None, "warm_up_duration": None}
    for volt, good in ((504.0, True), (508.0, False), (416.0, True), (412.0, False)):
        plain = [o for o in base() if o["kind"] != "line_voltage"]
        answer = answer_of(START, ask([*plain, seen("line_voltage", "08:02", **level(volt))], configuration=unsaid))
        assert (answer["results"]["facts"]["voltage_in_limits"]["status"] == "established") == good
        assert answer["results"].get("warm_up_until", "2026-05-04T09:05:00Z") == "2026-05-04T09:05:00Z"
    assert answer_of(START, ask(base(), configuration=unsaid))["results"]["warm_up_until"] == "2026-05-04T09:05:00Z"
