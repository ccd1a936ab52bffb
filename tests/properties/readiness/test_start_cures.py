"""What a crew is asked to do about each trouble: what to do first, what to record, and the likeliest cause.

Common practice, no source: the words of the trade for each trouble, and never how it should be where it is not. All invented.
"""

from typing import Any, NamedTuple

import pytest
from quantity import q
from start_engine.book import by_the_book, configurations
from startup_histories import GOOD_VOLTS, HOSE_GOOD, PLATE, ask, at, base, connected_by_the_book, seen, volts

Json = dict[str, Any]
GLYCOL = {"fluid_kind": "propylene_glycol"}
LOOKED = seen("lock_check", "08:10", "looked", none_seen=True)
PUMP_OFF = seen("pump_state", "09:04", "stop", pump="machine", state="off")
BAD_LEVER: Json = HOSE_GOOD | {"lever_locked": False}
SMALL_BREAKER: Json = PLATE | {"breaker_rating": q(500, "A")}
ROUTE: Json = dict.fromkeys(("off_water", "strain_relieved", "surplus_uncoiled"), True)
TEST: Json = {"test_voltage": q(500, "V"), "electronics_disconnected": True}


class Cure(NamedTuple):
    """A record beside a start by the book; the short form of what is asked for, the kinds to record, the likeliest cause."""

    trouble: Json
    short: str
    kinds: tuple[str, ...]
    cause: str = ""
    says: str = ""
    configuration: Json | None = None
    pump_off: bool = False


def after(kind: str, /, *, clock: str = "09:05", **data: Any) -> Json:
    return seen(kind, clock, "trouble", **data)


FLOW = ("strainer_pressure_drop", "evaporator_pressure_drop")
CURES: dict[str, Cure] = {
    "not level": Cure(after("unit_level", ok=False), "Level and chock the machine", ("unit_level",), says="Level it both ways"),
    "ground off": Cure(after("ground", connected=False), "Dead and locked: connect the ground first", ("ground",)),
    "plate": Cure(after("plate_check", **SMALL_BREAKER),
                  "Fit cable and breaker to the plate, read again", ("plate_check",), says="500 A is above 400 A"),
    "a lock seen": Cure(after("lock_check", none_seen=False), "A lock was seen: find its owner, then look again", ("lock_check",)),
    "low volts": Cure(after("line_voltage", **volts(400, 402, 401)), "Voltage out of limits: find the cause, read again",
                      ("line_voltage",), "Long or thin cable, loose connection"),
    "high volts": Cure(after("line_voltage", **volts(520, 521, 519)), "Voltage out of limits: find the cause, read again",
                       ("line_voltage",), "Wrong tap or generator setting"),
    "unbalanced": Cure(after("line_voltage", **volts(478, 455, 440)), "Voltage out of limits: find the cause, read again",
                       ("line_voltage",), "Loose or burnt connection"),
    "hertz": Cure(after("line_voltage", **GOOD_VOLTS, frequency=q(50, "Hz")), "Voltage out of limits: find the cause, read again",
                  ("line_voltage",), "Generator set wrong or overloaded", configuration={"rated_frequency": q(60, "Hz")}),
    "a dead line": Cure(after("line_voltage", **volts(478, 10, 20)), "A line is lost: open, lock, find it", ("supply",),
                        "Breaker tripped at closing: a fault in cable or machine"),
    "no indication": Cure(after("phase_indicator", rotation="no_indication"), "Indicator shows nothing: check it, read again",
                          ("phase_indicator",), says="Swap no leads"),
    "cold heater": Cure(after("oil_heater", compressor="1", working=False), "Heater of compressor 1 is cold: repair it",
                        ("oil_heater",), "Control switch or its fuse off"),
    "insulation": Cure(after("insulation_test", clock="07:30", resistance=q(0.2, "Mohm"), **TEST),
                       "Cable's insulation not good: change it, test again", ("supply", "lock", "proved_dead", "insulation_test")),
    "ground path": Cure(after("earth_continuity", resistance=q(5, "ohm")), "Path of the ground not good: mend, measure again",
                        ("supply", "lock", "proved_dead", "earth_continuity")),
    "route": Cure(after("cable_route", ramps_fitted=False, **ROUTE), "Put the cable's route right, look again", ("cable_route",)),
    "transfer": Cure(after("transfer_interlock", ok=False), "Put the transfer equipment right", ("transfer_interlock",)),
    "guards": Cure(after("machine_check", item="guards_on", ok=False), "Put right: guards on", ("machine_check",)),
    "lever": Cure(after("hose_connection", end="machine_inlet", **BAD_LEVER), "Pump off: make the hose at machine inlet good",
                  ("pump_state", "hose_connection"), says="lever not locked"),
    "lever, pump off": Cure(after("hose_connection", end="machine_inlet", **BAD_LEVER), "Make the hose at machine inlet good",
                            ("hose_connection",), pump_off=True),
    "return shut": Cure(after("valve_position", valve="return", position="closed"), "Set the return valve open",
                        ("valve_position",), says="The return valve is not open"),
    "bypass": Cure(after("valve_position", valve="pump_bypass", position="open"), "Set the pump bypass valve closed",
                   ("valve_position",), says="sends the liquid round itself"),
    "starved": Cure(after("loop_pressure", pump="on", gauge="suction", value=q(2, "psi")),
                    "Pump off: pressure wrong at the suction gauge", ("pump_state", "loop_pressure"), "Filling pressure too low",
                    says="2 psi at the suction gauge: stop the pump, it is starved; find why, fill to 40 to 50 psi"),
    "over its rating": Cure(after("loop_pressure", pump="on", gauge="discharge", value=q(140, "psi")),
                            "Pump off: pressure wrong at the discharge gauge", ("pump_state", "loop_pressure"),
                            "Filling pressure too high", says="let pressure off"),
    "too low": Cure(after("loop_pressure", pump="off", value=q(38, "psi")), "Top up, read the pressure again",
                    ("fill", "valve_position", "loop_pressure"), says="38 psi", pump_off=True),
    "too high": Cure(after("loop_pressure", pump="off", value=q(55, "psi")), "Bleed it, read the pressure again",
                     ("loop_pressure",), says="Bleed down to 40 to 50 psi (55 psi)", pump_off=True),
    "weep": Cure(after("leak_check", result="weep"), "Make it tight, look for leaks again", ("leak_check",), says="a joint weeps"),
    "spitting": Cure(after("purge", point="high_point", result="spitting", pump="off"), "Pump off: vent the high point once more",
                     ("purge",), "High point below its least pressure"),
    "vented running": Cure(after("purge", point="high_point", result="steady_water", pump="on"),
                           "Pump off: vent the high point once more", ("pump_state", "purge")),
    "drop too low": Cure(after("evaporator_pressure_drop", value=q(10, "kPa")), "Drop across the evaporator wrong: find the cause",
                         FLOW, "Strainer clogged", says="10 kPa, limits 15 to 60 kPa"),
    "drop too high": Cure(after("evaporator_pressure_drop", value=q(80, "kPa")), "Drop across the evaporator wrong: find the cause",
                          FLOW[1:], "Too much flow: balancing valve too far open"),
    "flow too low": Cure(after("flow", value=q(3, "L/s")), "Flow wrong: find the cause", ("strainer_pressure_drop", "flow"),
                         "Strainer clogged", says="3 L/s, at least 5 L/s", configuration={"flow_minimum": q(5, "L/s")}),
    "switch frozen": Cure(after("flow_switch", clock="08:46", state="made"), "Pump off: see the flow switch show none",
                          ("pump_state", "flow_switch")),
    "drop frozen": Cure(after("evaporator_pressure_drop", clock="08:46", value=q(30, "kPa")),
                        "Pump off: see the drop across the evaporator show none", ("pump_state", "evaporator_pressure_drop")),
    "strainer": Cure(after("strainer", blown_down=False), "Blow the strainer down", ("strainer",)),
    "set point": Cure(after("set_point", value=q(38, "degF")), "Raise the set point", ("set_point",), says="38 degF"),
    "weak for its set point": Cure(after("antifreeze_reading", freeze_point=q(-1, "degC")), "Mixture too weak: add antifreeze",
                                   ("antifreeze_charge", "set_point"), configuration=GLYCOL),
    "weak for the frost": Cure(after("antifreeze_reading", freeze_point=q(-12, "degC")),
                               "Mixture too weak: add concentrate, read again", ("antifreeze_charge", "antifreeze_reading"),
                               "Too little concentrate put in", configuration=GLYCOL | {"required_freeze_point": q(-15, "degC")}),
    "cold water": Cure(after("water_temperature", leaving=q(34, "degF"), entering=q(34, "degF")),
                       "Water too cold: circulate, load on, read again", ("water_temperature",), "Ice in the evaporator"),
    "alarm": Cure(after("alarm", code="HP", state="active"), "Alarm HP: find the cause, reset once", ("alarm",),
                  "High pressure: hot air at the coils, fans, overcharge"),
    "an alarm shown": Cure(after("alarm_check", none_shown=False), "Alarm shown: find the cause, look again", ("alarm_check",),
                           "High pressure: hot air at the coils, fans, overcharge"),
    "people": Cure(after("area_clear", clear=False, where="fans"), "Look round: is everybody clear?", ("area_clear",),
                   says="Have everybody leave fans, leads and couplings"),
    "pump stopped": Cure(after("pump_state", pump="machine", state="off"), "Start the machine's pump", ("pump_state",)),
}  # fmt: skip


@pytest.mark.parametrize("name", CURES)
def test_each_trouble_has_its_cure(answer_of, name):
    cure = CURES[name]
    history = [*base(), *([PUMP_OFF] if cure.pump_off else []), cure.trouble]
    action = answer_of("readiness.startup", ask(history, configuration=cure.configuration))["results"]["next_action"]
    assert action["short"] == cure.short
    assert tuple(t["kind"] for t in action["record"]) == cure.kinds
    assert action["causes"][:1] == [] or not cure.cause or action["causes"][0]["look_at"] == cure.cause
    assert bool(action["causes"]) or not cure.cause
    assert cure.says in action["do"]


UNSEEN = {
    "unit_level": "See that it stands level",
    "ground": "See that the ground is connected",
    "plate_check": "Read the data plate, cable and breaker",
    "leak_check": "Look for leaks",
    "set_point": "Enter and record the set point",
    "alarm_check": "Look whether an alarm is shown",
    "oil_heater": "Feel the oil heater of each compressor",
    "phase_indicator": "Read the rotation at the machine",
    "line_voltage": "Read the line voltages",
    "lock_check": "Look for locks at every source",
    "water_temperature": "Read entering and leaving water",
    "area_clear": "Look round: is everybody clear?",
    "hose_connection": "Connect and check the hose at machine inlet",
}


@pytest.mark.parametrize("kind", UNSEEN)
def test_what_nobody_looked_at_is_looked_at_and_not_put_right(answer_of, kind):
    history = [o for o in base() if o["kind"] != kind]
    action = answer_of("readiness.startup", ask(history))["results"]["next_action"]
    assert action["short"] == UNSEEN[kind]
    assert action["causes"] == []
    assert "not on record" in action["why"]


OLD = {
    "area_clear": ("09:15", "Look round: is everybody clear?"),
    "alarm_check": ("09:17", "Look again whether an alarm is shown"),
    "water_temperature": ("09:19", "Read entering and leaving water again"),
    "pump_state": ("09:33", "See that the pump runs"),
    "line_voltage": ("12:03", "Read the line voltages again"),
}


@pytest.mark.parametrize("kind", OLD)
def test_what_is_too_old_is_looked_at_again(answer_of, kind):
    """Everything else was done again a minute before."""
    clock, short = OLD[kind]
    hour, minute = clock.split(":")
    fresh = f"{hour}:{int(minute) - 1:02d}"
    kinds = ("pump_state", "flow_switch", "evaporator_pressure_drop", "water_temperature", "area_clear", "alarm_check",
             "line_voltage")  # fmt: skip
    again = [
        o | {"id": f"again-{o['id']}", "at": at(fresh)} for o in base() if o["kind"] in kinds and o["at"] > at("09:00")
    ]
    again.append(seen("line_voltage", fresh, **GOOD_VOLTS))
    again = [o for o in again if o["kind"] != kind]
    action = answer_of("readiness.startup", ask([*base(), *again], clock))["results"]["next_action"]
    assert action["short"] == short


def test_a_strainer_that_was_read_since_the_flow_was_lost_is_not_asked_for_again(answer_of):
    lost = [
        seen("flow_switch", "09:04", state="not_made"),
        seen("evaporator_pressure_drop", "09:04", value=q(4, "kPa")),
    ]
    before, later = (seen("strainer_pressure_drop", clock, value=q(20, "kPa")) for clock in ("09:03:30", "09:05"))
    for read, asked in ((before, True), (later, False)):
        told = answer_of("readiness.startup", ask([*base(), *lost, read]))["results"]["next_action"]
        assert ("strainer_pressure_drop" in {t["kind"] for t in told["record"]}) == asked


def test_leads_are_put_on_again_set_by_set(answer_of):
    """Parallel sets are numbered from 1; who does not number them has one."""
    order = ["line_1", "ground", "line_2", "line_3"]
    line: Json = {"state": "connected", "order": order, "fully_mated": True, "covers_on": True}
    for number, sets in ((None, [1, 1]), (2, [2, 1])):
        told: Json = line | ({} if number is None else {"set": number})
        history = [*base(), seen("line_connection", "07:30", "wrong", end="machine", **told)]
        action = answer_of("readiness.startup", ask(history))["results"]["next_action"]
        lines = [t["data"] for t in action["record"] if t["kind"] == "line_connection"]
        assert [(d["end"], d["set"]) for d in lines] == [("machine", sets[0]), ("source", sets[1])]
        assert all(d["order"][0] == "ground" for d in lines)


@pytest.mark.parametrize(
    ("kind", "state", "short", "template"),
    [
        ("supply", "on", "Read the volts at the machine again", "line_voltage"),
        ("control_switch", "on", "See how the control switch stands", "control_switch"),
        ("isolator", "closed", "See how the isolator stands", "isolator"),
    ],
)
def test_where_records_of_the_power_do_not_agree_it_is_looked_at_and_nothing_closed(
    answer_of, kind, state, short, template
):
    twice = [seen(kind, clock, "twice", state=state) for clock in ("09:05", "09:05:10")]
    opened = [seen("isolator", "07:30", "o", state="open"), seen("isolator", "07:31", "c", state="closed")]
    action = answer_of("readiness.startup", ask([*opened, *base(), *twice]))["results"]["next_action"]
    assert (action["short"], action["record"][0]["kind"]) == (short, template)
    assert "do not agree" in action["do"]


def test_how_far_a_mixture_falls_short_of_the_frost_is_said(answer_of):
    weak = seen("antifreeze_reading", "09:05", freeze_point=q(-12, "degC"))
    frost = GLYCOL | {"required_freeze_point": q(-15, "degC")}
    blocks = answer_of("readiness.startup", ask([*base(), weak], configuration=frost))["results"]["blocks"]
    (said,) = [b["statement"] for b in blocks if b["rule"] == "R13"]
    assert "freezes at -12.0 degC, the weather asks for -15 degC" in said


@pytest.mark.parametrize("name", ["site-own_pump-water", "site-pump_never_stops-water"])
@pytest.mark.parametrize("ids", ["ab", "ba"])
def test_pressure_is_put_right_before_joints_are_looked_at(answer_of, name, ids):
    """Whatever the records are called: joints are looked at under pressure."""
    configuration = dict(configurations())[name]
    on = "off" if configuration.get("site_pump_stops", True) else "on"
    rows = [
        *(r for r in by_the_book(configuration) if r["kind"] not in ("strainer", "purge", "leak_check", "pump_state")),
        *(r for r in by_the_book(configuration) if r["kind"] == "pump_state" and on == "on"),
        seen("loop_pressure", "09:05", ids[0], pump=on, gauge="suction", value=q(30, "psi")),
        seen("leak_check", "09:05", ids[1], result="weep"),
    ]
    request = {"configuration": configuration, "evaluated_at": at("09:06"), "observations": rows}
    told = answer_of("readiness.startup", request)["results"]
    order = [b["rule"] for b in told["blocks"]]
    assert {"R10", "R12"} <= set(order)
    assert "leak" not in told["next_action"]["short"].lower()
    steps = [told["next_action"]["step_id"], *(m["step_id"] for m in told["next_action"]["meanwhile"])]
    assert "leak_check" not in steps[:1]


NEVER_STOPPED: dict[str, tuple[Json, str, tuple[str, ...]]] = {
    "starved": (
        after("loop_pressure", pump="on", gauge="suction", value=q(2, "psi")),
        "Top up, read the pressure again", ("fill", "valve_position", "loop_pressure"),
    ),
    "over its rating": (
        after("loop_pressure", pump="on", gauge="discharge", value=q(140, "psi")),
        "Pressure wrong at the discharge gauge", ("loop_pressure",),
    ),
    "switch frozen": (
        after("flow_switch", clock="08:10", state="made"),
        "Return valve shut: see the flow switch show none", ("valve_position", "flow_switch", "valve_position"),
    ),
    "drop frozen": (
        after("evaporator_pressure_drop", clock="08:10", value=q(30, "kPa")),
        "Return valve shut: see the drop across the evaporator show…",
        ("valve_position", "evaporator_pressure_drop", "valve_position"),
    ),
    "strainer": (
        after("strainer_pressure_drop", value=q(90, "kPa")),
        "Blow down the clogged strainer, read its drop", ("strainer", "strainer_pressure_drop"),
    ),
    "lever": (
        after("hose_connection", end="machine_inlet", **BAD_LEVER),
        "Make the hose at machine inlet good", ("hose_connection",),
    ),
}  # fmt: skip


@pytest.mark.parametrize("what", NEVER_STOPPED)
def test_nobody_is_asked_to_stop_a_pump_that_cannot_be_stopped(answer_of, what):
    trouble, short, kinds = NEVER_STOPPED[what]
    configuration = dict(configurations())["site-pump_never_stops-water"]
    rows = [*by_the_book(configuration), trouble]
    request = {"configuration": configuration, "evaluated_at": at("09:06"), "observations": rows}
    action = answer_of("readiness.startup", request)["results"]["next_action"]
    assert (action["short"], tuple(t["kind"] for t in action["record"])) == (short, kinds)
    assert "stop the pump" not in action["do"].lower()
    assert not any(t["data"].get("state") == "off" or t["data"].get("pump") == "off" for t in action["record"])


@pytest.mark.parametrize("point", ["pump_casing", "high_point"])
def test_each_point_is_vented_by_its_own_step(answer_of, point):
    unvented = [o for o in base() if o["at"] < at("08:52") and o["data"].get("point") != point]
    told = answer_of("readiness.startup", ask([*unvented, LOOKED], "08:51:30"))["results"]
    steps = {b["rule"]: b["clear_by"] for b in told["blocks"]}
    assert "R11" in steps
    action = told["next_action"]
    assert (action["step_id"], action["record"][-1]["data"]["point"]) == (f"purge_{point}", point)


def test_a_point_first_vented_after_the_first_run_has_another_run_before_it_is_vented_again(answer_of):
    """Not: vent it once more now. The air that a run carries up comes with a run."""
    rows = [o for o in base() if o["id"] != "purge.high_point.08:40" and o["at"] < at("09:01")]
    told = answer_of("readiness.startup", ask([*rows, LOOKED], "09:00:30"))["results"]
    assert {"R11", "R14"} <= {b["rule"] for b in told["blocks"]}
    assert told["next_action"]["short"] == "Start the machine's pump"


def test_volts_under_a_lock_that_was_surely_on_are_not_cured_by_reading_again(answer_of):
    """The lock L1 was on from 07:06 to 07:40: whoever read volts then locked the wrong source, or something feeds back."""
    for clock, stands in (("07:20", True), ("07:05", False), ("07:41", False)):
        alive = seen("line_voltage", clock, "alive", **GOOD_VOLTS)
        told = answer_of("readiness.startup", ask([*base(), alive]))["results"]
        assert ("I15" in {b["rule"] for b in told["blocks"]}) == stands, clock
    unsure = seen("line_voltage", "07:42", "alive", u=180, **GOOD_VOLTS)
    told = answer_of("readiness.startup", ask([*base(), unsure]))["results"]
    assert "I15" in {s["rule"] for s in told["impossible"]}
    assert "I15" not in {b["rule"] for b in told["blocks"]}, "merely possible, and read again since"


@pytest.mark.parametrize(
    ("lock", "check", "named", "freed"),
    [
        ("L9", "R01", "applied", True),
        ("L9", "I16", "applied", True),
        ("L9", "I15", "applied", False),
        ("L9", "R01", "removed", True),
        ("L9", "I16", "removed", True),
        ("L9", "I15", "removed", False),
        ("L8", "I16", "removed", False),
    ],
)
def test_a_lock_is_freed_by_what_settles_it_or_its_own_removal(answer_of, lock, check, named, freed):
    """A supervisor settles lock L9 of ann, who is not there, after bo took it - or another one, L8 - off."""
    boss = {"extra": {"by": "sue", "role": "supervisor"}}
    rows = [
        seen("lock", "08:20", "applied", lock_id="L9", state="applied", extra={"by": "ann"}),
        seen("lock", "08:21", "removed", lock_id=lock, state="removed", extra={"by": "bo"}),
        seen(
            "settled",
            "08:22",
            "s",
            check=check,
            records=[named],
            found="ann went home",
            done="source looked at",
            **boss,
        ),
        seen("lock_check", "09:05", "looked again", none_seen=True),
    ]
    blocks = answer_of("readiness.startup", ask([*base(), *rows]))["results"]["blocks"]
    assert any("lock L9 of ann" in b["statement"] for b in blocks if b["rule"] == "R01") == (not freed)


@pytest.mark.parametrize(("unsure", "suspected"), [(0, False), (20 * 60, True)])
def test_of_several_offs_the_one_that_can_be_latest_counts(answer_of, unsure, suspected):
    """Off at 08:20, give or take 20 min or none, and at 08:10; on at 08:25, and volts at 08:30: where the first may have been at
    08:40, it may have come after the on."""
    rows = [
        seen("supply", "08:20", "first", u=unsure, state="off"),
        seen("supply", "08:10", "second", state="off"),
        seen("supply", "08:25", "on", state="on"),
        seen("line_voltage", "08:30", "alive", **GOOD_VOLTS),
    ]
    told = answer_of("readiness.startup", ask([*base(), *rows]))["results"]
    assert ("I3" in {s["rule"] for s in told["impossible"] if "alive" in s["ids"]}) == suspected


LONG = {"warm_up_duration": q(3, "h")}
WHILE_IT_WARMS: dict[str, tuple[list[Json], bool]] = {
    "nothing else": ([], True),
    "alarms not looked at": ([o for o in base() if o["kind"] == "alarm_check"], True),
    "people not looked at": ([o for o in base() if o["kind"] == "area_clear"], True),
    "water not read": ([o for o in base() if o["kind"] == "water_temperature"], True),
    "flow never read": (
        [o for o in base() if o["kind"] == "evaporator_pressure_drop" and o["at"] > at("09:00")],
        False,
    ),
}


@pytest.mark.parametrize("what", WHILE_IT_WARMS)
def test_what_is_looked_at_right_before_a_start_waits_for_the_oil(answer_of, what):
    left_out, waits = WHILE_IT_WARMS[what]
    rows = [o for o in base() if o not in left_out]
    told = answer_of("readiness.startup", ask(rows, "09:20", LONG))["results"]
    assert (told["next_action"]["step_id"] == "oil_warm_up") == waits, told["next_action"]["short"]


@pytest.mark.parametrize(
    "wrong",
    [
        after("alarm_check", none_shown=False),
        after("area_clear", clear=False),
        after("pump_state", pump="machine", state="tripped"),
        after("flow_switch", state="not_made"),
        after("water_temperature", leaving=q(34, "degF"), entering=q(34, "degF")),
    ],
    ids=lambda wrong: wrong["kind"],
)
def test_what_is_wrong_does_not_wait_for_the_oil(answer_of, wrong):
    told = answer_of("readiness.startup", ask([*base(), wrong], "09:20", LONG))["results"]
    assert told["next_action"]["step_id"] != "oil_warm_up"


ADVERSE = (
    ("valve_position", {"valve": "fill", "position": "closed"}, False),
    ("valve_position", {"valve": "fill", "position": "open"}, True),
    ("valve_position", {"valve": "fill", "position": "partial"}, True),
    ("valve_position", {"valve": "drain", "position": "closed"}, False),
    ("valve_position", {"valve": "drain", "position": "open"}, True),
    ("valve_position", {"valve": "vent", "position": "open"}, False),
    ("valve_position", {"valve": "return", "position": "open"}, True),
    ("valve_position", {"valve": "balancing", "position": "open"}, True),
    ("strainer", {"blown_down": True}, False),
    ("strainer", {"blown_down": False}, True),
    ("alarm_check", {"none_shown": True}, False),
    ("alarm_check", {"none_shown": False}, True),
    ("area_clear", {"clear": True}, False),
    ("area_clear", {"clear": False}, True),
    ("set_point", {"value": q(44, "degF")}, False),
    ("set_point", {"value": q(38, "degF")}, True),
    ("flow", {"value": q(6, "L/s")}, False),
    ("flow", {"value": q(4, "L/s")}, True),
    ("control_switch", {"state": "on"}, False),
    ("control_switch", {"state": "off"}, True),
    ("isolator", {"state": "closed"}, False),
    ("isolator", {"state": "open"}, True),
    ("unit_stop", {"state": "stopped"}, False),
    ("unit_stop", {"state": "enabled"}, True),
)
"""A record, and whether it can speak against a start. A move of a valve on the flow's way undoes a proof wherever it goes."""


@pytest.mark.parametrize(("kind", "data", "adverse"), ADVERSE)
def test_another_hand_takes_back_only_what_speaks_for_a_start(answer_of, kind, data, adverse):
    rows = [
        seen(kind, "08:59:30", "hers", extra={"by": "ann"}, **data),
        seen("withdrawn", "09:00", "his", reason="mistyped", extra={"by": "bo", "supersedes": "hers"}),
    ]
    told = answer_of("readiness.startup", ask([*base(), *rows], configuration={"flow_minimum": q(5, "L/s")}))["results"]
    assert ("I17" in {s["rule"] for s in told["impossible"]}) == adverse


@pytest.mark.parametrize(
    ("clock", "natural"), [("08:00", True), ("08:51:59", True), ("08:58:30", True), ("08:55", False)]
)
def test_no_flow_is_natural_while_no_pump_ran(answer_of, clock, natural):
    """Before the pump was first on, and after it was off; while it ran a flow of nothing stands until it is read again."""
    read = seen("flow", clock, "none", value=q(0, "L/s"))
    told = answer_of("readiness.startup", ask([*base(), read]))["results"]
    assert ("R15" not in {b["rule"] for b in told["blocks"]}) == natural


SIGNS: dict[str, Json] = {"line_voltage": GOOD_VOLTS, "phase_indicator": {"rotation": "correct"}}


@pytest.mark.parametrize("kind", SIGNS)
@pytest.mark.parametrize("again", SIGNS)
def test_a_sign_of_life_that_is_merely_possible_is_cured_by_the_same_reading_taken_again(answer_of, kind, again):
    """Under the lock L1, which was on until 07:40, and after an off at 08:20: volts are read again, or the rotation is."""
    others = [o for o in base() if o["kind"] not in SIGNS]
    unsure = seen(kind, "07:42", "alive", u=180, **SIGNS[kind])
    later = seen(again, "08:30", "again", **SIGNS[again])
    told = answer_of("readiness.startup", ask([*others, unsure, later]))["results"]
    assert ("I15" in {b["rule"] for b in told["blocks"]}) == (again != kind)
    off, on = seen("supply", "08:20", "off", state="off"), seen("supply", "08:26", "on", state="on")
    unsure = seen(kind, "08:25", "alive", u=360, **SIGNS[kind])
    later = seen(again, "08:40", "again", **SIGNS[again])
    told = answer_of("readiness.startup", ask([*others, off, on, unsure, later]))["results"]
    assert ("I3" in {b["rule"] for b in told["blocks"]}) == (again != kind)


@pytest.mark.parametrize("ids", ["ab", "ba"])
def test_a_pump_that_stands_for_the_second_venting_is_not_started_before_it(answer_of, ids):
    """The first run is over and blown down: the vents come next, whatever the records are called."""
    rows = [
        o | {"id": f"{ids[0]}-{o['id']}" if o["kind"] == "purge" else f"{ids[1]}-{o['id']}"}
        for o in base()
        if o["at"] < at("08:58:20")
    ]
    told = answer_of("readiness.startup", ask([*rows, LOOKED], "08:58:20"))["results"]
    assert {"R11", "R14"} <= {b["rule"] for b in told["blocks"]}
    assert told["next_action"]["step_id"] == "second_purge"


def test_a_source_is_not_closed_where_a_lock_was_taken_back_and_nobody_looked_since(answer_of):
    """Applied, and withdrawn as a mistake: it hangs there, or it does not, until somebody looks at every source."""
    on = seen("lock", "09:03", "on", lock_id="L9", state="applied", extra={"by": "ann"})
    back = seen("withdrawn", "09:04", "back", reason="mistyped", extra={"by": "ann", "supersedes": "on"})
    looked = seen("lock_check", "09:05", "looked", none_seen=True)
    for rows, may in (([], True), ([on], False), ([on, back], False), ([on, back, looked], True)):
        told = answer_of("readiness.startup", ask([*base(), *connected_by_the_book(), *rows]))["results"]
        assert told["may_energise"] == may, [o["id"] for o in rows]
