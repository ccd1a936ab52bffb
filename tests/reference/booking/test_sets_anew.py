"""The generating set of a plan: its loads, its size and its energy worked out anew from the plates of the machines.

Derived: root three volts amperes at their factor; starts in their order. Common practice, no source: pumps first, then
fans, then compressors one after the other; the sizes of sets that can be hired. The orders are invented.
"""

import math
from itertools import pairwise
from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from plans_anew import CASES, Json, Plan, close, si
from quantity import q

pytestmark = pytest.mark.check

SET: Json = {"supply": {"source": "generator"}}
NO_SETS = [row for row in stock() if row["kind"] != "generator"]
FUEL = [(0.25, 11.0), (0.5, 18.5), (0.75, 26.5), (1.0, 36.0)]  # L/h of an invented set of 100 kW


def heated(row: Json) -> Json:
    row["electrical"]["other_loads"] = [
        {"name": "oil heater", "current": q(2.5, "A")},
        {"name": "control", "current": q(0.01, "A")},
    ]
    return row


def soft(row: Json) -> Json:
    """Compressors whose start is hardly above their running current, and others on drives."""
    for motor in row["electrical"]["motors"]:
        if motor["role"] == "compressor":
            running = motor["rated_load_current"]["value"]
            motor |= {
                "locked_rotor_current": q(1.5 * running, "A"),
                "starting_current_factor": 0.45,
                "starting_method": "soft_start",
            }
        elif motor["role"] == "fan":
            motor |= {"starting_method": "variable_frequency"}
    return row


def faint(row: Json) -> Json:
    """A fan that draws next to nothing: a hundredth of an ampere is the least that is counted."""
    row["electrical"]["motors"][1]["full_load_current"] = q(0.004, "A")
    return row


def plain(row: Json) -> Json:
    """A plate without motors."""
    row["electrical"]["motors"] = []
    row["electrical"]["maximum_overcurrent_device"] = None
    return changed(row, electrical__maximum_overcurrent_device=None)


def many(count: int, circuits: int) -> Json:
    """Machines of many compressors, two on a circuit."""
    return order(
        **SET,
        fleet=fleet(machine("many", 60, count, circuits=circuits), accessories=NO_SETS),
        duty__load=q(50 * count, "kW"),
        load_side__rated_flow=q(2.3 * count, "L/s"),
    )


def two_rows(document: Json) -> Json:
    """The compressors of the plate in two rows."""
    motors = document["fleet"]["machines"][0]["electrical"]["motors"]
    motors[0]["quantity"] //= 2
    motors.insert(1, dict(motors[0]))
    return document


MORE: dict[str, Json] = {
    "heaters of two types": order(
        **SET, fleet=fleet(heated(machine("a", 150, 1)), heated(machine("b", 90, 1))), site__elevation=q(1200, "m")
    ),
    "soft starts": order(**SET, fleet=fleet(soft(machine("soft", 150, 2)))),
    "plates without motors": order(**SET, fleet=fleet(plain(machine("plain", 150, 1)), machine("b", 90, 1))),
    "hot": order(**SET, site__design_ambient_temperature=q(50, "degC"), fleet=fleet(machine("hot", 150, 3))),
    "ninety-six compressors": many(4, 12),
    "a hundred": many(5, 10),
    "twice fifty-two": two_rows(many(4, 13)),
    "faint fans": order(**SET, fleet=fleet(faint(machine("faint", 150, 2)))),
    "short": order(**SET, fleet=fleet(machine("m", 150, 2)), period={"from": "2027-06-01", "to": "2027-06-02"}),
}  # fmt: skip


@pytest.fixture(scope="module")
def more(answer_of: Any) -> dict[str, Plan]:
    return {name: Plan(document, answer_of("booking.assessment", document)) for name, document in MORE.items()}


ON_SETS = [name for name, build in CASES.items() if build()["supply"]["source"] == "generator"]


@pytest.fixture(params=[*ON_SETS, *MORE])
def on_set(plans_anew: dict[str, Plan], more: dict[str, Plan], request: Any) -> Plan:
    return {**plans_anew, **more}[request.param]


def plate_current(motor: Json) -> float:
    return max(
        si(motor[k])
        for k in ("rated_load_current", "branch_circuit_selection_current", "full_load_current")
        if k in motor
    )


def loads_of(plan: Plan) -> list[Json]:
    """By plates: name, how many, A each, order of start; a name of each compressor by itself while they are below 100."""
    found: list[Json] = []
    turn = 3
    for row, count, entry in plan.picked:
        plate, own = row["electrical"], []
        if not plate["motors"]:
            ampacity = si(plate["minimum_circuit_ampacity"])
            own.append({"id": row["type"], "n": count, "a": ampacity / 1.25, "turn": turn, "start": math.inf})
            turn += 1
        else:
            own += [
                {
                    "id": f"{row['type']}: {x['name']}",
                    "n": count,
                    "a": si(x["current"]),
                    "turn": None,
                    "start": math.inf,
                    "pf": 1.0,
                }
                for x in plate.get("other_loads", [])
            ]
        for place, motor in enumerate(plate["motors"], 1):
            n = count * motor.get("quantity", 1)
            name = f"{row['type']}: {motor['role']} {place}"
            start = si(motor["locked_rotor_current"]) if "locked_rotor_current" in motor else math.inf
            start *= min(1.0, motor.get("starting_current_factor", 1.0)) if start < math.inf else 1.0
            one = {"a": max(plate_current(motor), 0.01), "start": start, "motor": motor}
            if motor["role"] != "compressor":
                own.append(one | {"id": name, "n": n, "turn": 1 if motor["role"] == "pump" else 2})
            elif len(found) + len(own) + n < 100:
                own += [one | {"id": f"{name}.{k + 1}", "n": 1, "turn": turn + k} for k in range(n)]
                turn += n
            else:
                own.append(one | {"id": f"{name}.1", "n": n, "turn": turn})
                turn += 1
        factor = plate.get("power_factor", 0.85)
        volts = si(plan.results["supply"]["voltage"])
        plate_power = math.sqrt(3) * volts * sum(x["n"] * x["a"] * x.get("pf", factor) for x in own)
        share = min([si(entry["power_each"]) * count / plate_power, *(x["start"] / x["a"] for x in own)])
        found += [x | {"a": x["a"] * share, "pf": x.get("pf", factor)} for x in own]
    return found


def test_loads_of_the_set_are_those_of_the_plates(on_set: Plan) -> None:
    """Shared out so that they make the power of the design point, and none runs above its own start."""
    asked = on_set.asked["generator"]
    expected = loads_of(on_set)
    assert [x["load_id"] for x in asked["loads"]] == [x["id"] for x in expected]
    for told, wanted in zip(asked["loads"], expected, strict=True):
        assert told.get("quantity", 1) == wanted["n"], wanted["id"]
        assert si(told["running_current"]) == close(max(wanted["a"], 0.01)), wanted["id"]
        assert told["power_factor"] == close(wanted["pf"])
        if wanted["turn"] is not None:
            assert told["start_order"] == wanted["turn"], wanted["id"]
        motor = wanted.get("motor", {})
        assert told.get("nonlinear", False) == (motor.get("starting_method") == "variable_frequency")
    days = (2 if on_set.order["period"]["to"] == "2027-06-02" else 14) * 24
    assert si(asked["run_duration"]) == close(days * 3600)
    assert si(asked["ambient_temperature"]) == close(min(on_set.ambient, 333.15))


def test_sizes_for_hire_are_round_and_near_one_another(answer_of: Any) -> None:
    """Sizes of sets in the trade, common practice: round numbers from 20 to 2500 kW at 0.8, none half as large again as the
    one below it, and none nearer than an eighth.
    """
    from coldwright_booking.plan.generating_set import MARKET_SETS

    asked = answer_of("booking.assessment", many(4, 12))["results"]["asked"]["generator"]["generator"]
    assert si(asked["rated_active_power"]) / 1000 in MARKET_SETS
    assert si(asked["rated_apparent_power"]) == close(si(asked["rated_active_power"]) / 0.8)
    assert (MARKET_SETS[0], MARKET_SETS[-1]) == (20, 2500)
    for one, following in pairwise(MARKET_SETS):
        assert 1.14 <= following / one <= 1.5
    for size in MARKET_SETS:
        assert size % (5 if size <= 100 else 25 if size < 200 else 50 if size < 1000 else 250) == 0


@pytest.mark.parametrize("load", [25, 190, 420])
def test_the_set_is_the_smallest_that_holds(answer_of: Any, load: float) -> None:
    """Asked one by one: it starts and carries what runs and what the plates allow; the next smaller of the trade does not."""
    from coldwright_booking.plan.generating_set import MARKET_SETS

    on_hand = fleet(machine("s", 40, 4), machine("m", 150, 3), accessories=NO_SETS)
    results = answer_of("booking.assessment", order(**SET, duty__load=q(load, "kW"), fleet=on_hand))["results"]
    asked, told = results["asked"]["generator"], results["supply"]["generator"]
    plates = results["supply"]["service"]

    def holds(kilowatts: float) -> bool:
        one = {"rated_active_power": q(kilowatts, "kW"), "rated_apparent_power": q(kilowatts / 0.8, "kVA")}
        alone = answer_of(
            "electrical.generator", {k: v for k, v in asked.items() if k != "load_bank_power"} | {"generator": one}
        )
        stops = {f["code"] for f in alone["findings"] if f["severity"] == "stop"}
        powers = (("derated_active_power", "active_power"), ("derated_apparent_power", "apparent_power"))
        carries = all(si(alone["results"][has]) >= si(plates[wants]) * (1 - 1e-9) for has, wants in powers)
        crowded = any(f["code"] == "load_above_maximum" for f in alone["findings"])
        return stops <= {"light_load", "light_load_at_night"} and carries and not crowded

    size = si(asked["generator"]["rated_active_power"]) / 1000
    assert size == next(x for x in MARKET_SETS if holds(x))
    assert told["worst_dip_fraction"] <= asked["dip_limit_fraction"] == 0.2


def curve(row: Json) -> list[Json]:
    size = row["rated_active_power"]["value"] / 100
    return [{"load_fraction": at, "fuel_rate": q(litres * size, "L/h")} for at, litres in FUEL]


@pytest.mark.parametrize(("lowest", "average"), [(0.5, 0.8), (0.5, 0.5), (0.3, 0.31), (0.1, None)])
def test_fuel_of_the_hire_hour_by_hour(answer_of: Any, lowest: float, average: float | None) -> None:
    """Every hour burns what the set's curve says at its load, between two points by a straight line: that of the mean load,
    or the least that the machines turn down to, with the load bank where there is one.
    """
    rows = [row | {"fuel_curve": curve(row)} if row["kind"] == "generator" else row for row in stock()]
    duty = {"duty__lowest_load_fraction": lowest} | (
        {} if average is None else {"duty__average_load_fraction": average}
    )
    document = order(**SET, **duty, fleet=fleet(machine("only", 250, 2), accessories=rows))
    plan = Plan(document, answer_of("booking.assessment", document))
    asked = plan.asked["generator"]
    rated = si(asked["generator"]["rated_active_power"])
    least = max(lowest * plan.gross, plan.step) / plan.capacity * plan.power
    bank = si(asked.get("load_bank_power", q(0, "kW")))
    mean = max((1 if average is None else average) * plan.gross / plan.capacity * plan.power, least + bank)
    litres = 0.0
    for _ in range(14 * 24):
        at = mean / rated
        (low, burnt), (high, more) = next(pair for pair in pairwise(FUEL) if at <= pair[1][0])
        litres += (burnt + (at - low) / (high - low) * (more - burnt)) * rated / 100e3
    used = plan.results["energy_used"]
    assert si(used["energy"]) / 3.6e6 == close(mean / 1000 * 14 * 24, 1e-6)
    assert si(used["fuel_volume"]) * 1000 == close(litres, 1e-4)
    (line,) = [x for x in plan.results["pick_list"] if x["item"] == "fuel, litres"]
    assert line["count"] == math.ceil(si(used["fuel_volume"]) * 1000)
    assert f"at {used['average_power']['value']:.4g}"[:5] in line["reason"]


@pytest.mark.parametrize(
    ("method", "locked", "multiple"),
    [
        ("soft_start", 6, 4),
        ("soft_start", 3, 3),
        ("soft_start", None, 4),
        ("variable_frequency", 6, 1.1),
        ("variable_frequency", None, 1.1),
    ],
)
def test_a_start_that_is_limited_follows_the_plate(
    answer_of: Any, method: str, locked: float | None, multiple: float
) -> None:
    """A soft starter gives 4, a drive 1.1 times what the plate says that the motor runs on, and no more than locked rotor
    (from memory of handbooks); what the machine draws at its design point is less, and no part of it.
    """
    row = machine("only", 250, 2)
    (motor,) = [m for m in row["electrical"]["motors"] if m["role"] == "compressor"]
    amps = motor["rated_load_current"]["value"]
    motor |= {"starting_method": method, "locked_rotor_current": q((locked or 0) * amps, "A")}
    if locked is None:
        motor.pop("locked_rotor_current")
    document = order(**SET, fleet=fleet(row))
    plan = Plan(document, answer_of("booking.assessment", document))
    steps = plan.results["supply"]["generator"]["steps"]
    starts = [si(x["starting_apparent_power"]) for x in steps if "compressor" in x["load_ids"][0]]
    volts = si(plan.asked["generator"]["system_voltage"])
    assert starts == [close(math.sqrt(3) * volts * multiple * amps)] * motor["quantity"]
    drawn = [x for x in plan.asked["generator"]["loads"] if "compressor" in x["load_id"]]
    assert all(si(x["running_current"]) < amps for x in drawn)
