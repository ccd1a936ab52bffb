"""Two more whole plans, worked out anew from the order and the fleet alone.

Friction: the library `fluids` (Clamond's solution of Colebrook's equation). Liquids and damp air: CoolProp 8. Selection:
every combination counted. Roots: SciPy. Electricity and wind: phasors and formulas by hand. The orders are invented
(`tests/support/strangers_plans.py`).
"""

import itertools
import math
from typing import Any

import pytest
from plans_anew import Json, Plan, close, si
from strangers_plans import ORDERS

pytestmark = pytest.mark.check
GRAVITY, AIR = 9.80665, 101325.0
GLYCOL = "propylene_glycol"
HOT = 1.1572
"""Resistance of copper at 60 degC over that at 20 degC (IEC 60228)."""
RESISTANCE = {50: 0.386, 70: 0.272, 95: 0.206, 120: 0.161, 150: 0.129, 240: 0.0801}
"""ohm/km at 20 degC, IEC 60228, class 5, from memory; 0.08 ohm/km at 50 Hz, common practice."""


@pytest.fixture(scope="module")
def plans(answer_of: Any) -> dict[str, Plan]:
    made = {name: build() for name, build in ORDERS.items()}
    return {name: Plan(document, answer_of("booking.assessment", document)) for name, document in made.items()}


@pytest.fixture(params=list(ORDERS))
def plan(plans: dict[str, Plan], request: Any) -> Plan:
    return plans[request.param]


def liquid(plan: Plan, what: str, kelvin: float) -> float:
    from CoolProp.CoolProp import PropsSI

    name = "Water" if plan.water else f"INCOMP::MPG[{plan.results['fluid']['mass_fraction']}]"
    return float(PropsSI(what, "T", kelvin, "P", 3e5, name))


def test_each_can_be_carried_out(plan: Plan) -> None:
    assert [f for f in plan.findings if f["severity"] == "stop"] == []
    assert plan.units == len(plan.picked) >= 2, "machines of one kind each"


# --- machines --------------------------------------------------------------------------------------------------------


def in_thin_air(plan: Plan, row: Json, what: str) -> float:
    """Of the table, read at an ambient that is warmer by what thin air takes from the condenser: effectiveness by NTU.

    Common practice: 1.2 NTU, 25 delta_degF between condensing and air, film as the 0.6th power of the flow.
    """
    from scipy.interpolate import RegularGridInterpolator

    share = (1 - 2.25577e-5 * si(plan.site["elevation"])) ** 5.25588
    kept = share * (1 - math.exp(-1.2 * share**-0.4)) / (1 - math.exp(-1.2))
    table = row["capacity_table"]
    axes = tuple(table[axis]["values"] for axis in ("leaving_liquid_temperature", "ambient_temperature"))
    at = (plan.leaving - 273.15, plan.ambient - 273.15 + (1 / kept - 1) * 25 / 1.8)
    return float(RegularGridInterpolator(axes, table[what]["values"])([at])[0]) * 1000


def test_capacity_and_power_of_the_tables(plan: Plan) -> None:
    for row, _, told in plan.picked:
        assert si(told["capacity_each"]) == close(in_thin_air(plan, row, "capacity"), 1e-4)
        assert si(told["power_each"]) == close(in_thin_air(plan, row, "power"), 1e-4)


def test_no_fewer_machines_do(plan: Plan) -> None:
    """And of as many none carries less above the load, where both take the flow."""
    rows = plan.order["fleet"]["machines"]
    each = [in_thin_air(plan, row, "capacity") for row in rows]
    load, flow = si(plan.results["design_load"]), si(plan.loop["required_flow"])
    does = []
    for counts in itertools.product(*(range(row["count"] + 1) for row in rows)):
        picked = [(row, capacity, n) for row, capacity, n in zip(rows, each, counts, strict=True) if n]
        low, high = (
            sum(n * si(row["evaporator"][f"flow_{end}"]) for row, _, n in picked) for end in ("minimum", "maximum")
        )
        least = min((c * min(row["capacity_steps"]) for row, c, _ in picked), default=math.inf)
        total = sum(c * n for _, c, n in picked)
        if total >= load and low <= flow <= high and least <= plan.lowest:
            does.append((sum(counts), total, {row["type"]: n for row, _, n in picked}))
    count, total, best = min(does, key=lambda found: found[:2])
    assert {row["type"]: n for row, n, _ in plan.picked} == best
    assert (plan.units, plan.capacity) == (count, close(total, 1e-4))


# --- loop ------------------------------------------------------------------------------------------------------------


class Loop:
    """Unlike machines side by side between headers, the hose there and back, and the load."""

    def __init__(self, plan: Plan) -> None:
        self.plan = plan
        self.density, self.viscosity = (liquid(plan, what, plan.leaving) for what in "DV")
        hoses = {h["type"]: (si(h["inner_diameter"]), si(h["length"])) for h in plan.work["machine_hoses"]}
        self.branches = [(row["evaporator"], *hoses[row["type"]]) for row, _, _ in plan.picked]

    def line(self, flow: float, bore: float, metres: float) -> float:
        from fluids.friction import friction_factor

        speed = flow / (math.pi / 4 * bore**2)
        factor = friction_factor(Re=self.density * speed * bore / self.viscosity, eD=5e-5 / bore, Method="Clamond")
        return float(factor * metres / bore * self.density * speed**2 / 2)

    def losses(self, flow: float, bore: float, k: float) -> float:
        return k * self.density / 2 * (flow / (math.pi / 4 * bore**2)) ** 2

    def device(self, row: Json, flow: float) -> float:
        """By the square of the flow, rated with water at 10 degC."""
        return si(row["rated_pressure_drop"]) * (flow / si(row["rated_flow"])) ** 2 * self.density / 999.7

    def branch(self, place: int, flow: float) -> float:
        """Out of one header and into the other, a loss coefficient of 1 each (from memory), and a hose at each end."""
        evaporator, bore, metres = self.branches[place]
        return self.device(evaporator, flow) + self.line(flow, bore, 2 * metres) + self.losses(flow, bore, 2)

    def shares(self, flow: float) -> list[float]:
        from scipy.optimize import brentq

        def at(drop: float) -> list[float]:
            return [
                brentq(lambda x, place=place: self.branch(place, x) - drop, 1e-6, 0.1)
                for place in range(len(self.branches))
            ]

        return at(brentq(lambda drop: sum(at(drop)) - flow, 1e3, 1e6))

    def drop(self, flow: float) -> float:
        plan = self.plan
        each, k = flow / plan.runs, plan.order["routes"]["hose_fittings"] + 2
        whole = self.branch(0, self.shares(flow)[0]) + self.losses(each, plan.bore, k)
        return whole + 2 * self.line(each, plan.bore, plan.hose) + self.device(plan.order["load_side"], flow)


def test_flow_of_the_load(plan: Plan) -> None:
    kelvins = si(plan.order["duty"]["temperature_difference"])
    carried = liquid(plan, "D", plan.leaving + kelvins / 2) * liquid(plan, "C", plan.leaving + kelvins / 2) * kelvins
    assert si(plan.loop["wanted_flow"]) == close(si(plan.order["duty"]["load"]) / carried, 1e-3)


def test_the_loop_of_unlike_machines(plan: Plan) -> None:
    """Shares and drop; then each own pump at its share, all of whose power ends in the liquid of this loop."""
    from scipy.interpolate import PchipInterpolator

    loop, flow = Loop(plan), si(plan.loop["duty_flow"])
    shares = loop.shares(flow)
    assert [si(x) for x in plan.loop["branch_flows"]] == [close(x, 1e-3) for x in shares]
    assert si(plan.loop["loop_pressure_drop"]) == close(loop.drop(flow), 2e-3)
    heat = 0.0
    for (row, _, _), share in zip(plan.picked, shares, strict=True):
        at = [(si(point["flow"]), si(point["head"])) for point in row["pump"]["curve"]]
        head = float(PchipInterpolator(*zip(*at, strict=True))(share))
        assert head * loop.density * GRAVITY >= loop.drop(flow), "each gives what the loop wants"
        heat += loop.density * GRAVITY * share * head / row["pump"]["efficiency"]
    assert si(plan.results["load"]["pump_heat"]) == close(heat, 0.01)


def test_liquid_and_pressures(plan: Plan) -> None:
    hoses = sum(
        h["pieces"] * math.pi / 4 * si(h["inner_diameter"]) ** 2 * si(h["length"]) for h in plan.work["machine_hoses"]
    )
    cubic = hoses + 2 * plan.runs * plan.hose * math.pi / 4 * plan.bore**2 + si(plan.order["load_side"]["volume"])
    cubic += sum(n * si(row["evaporator"]["volume"]) for row, n, _ in plan.picked)
    fill = plan.results["fill"]
    assert si(fill["total_volume"]) == close(cubic, 1e-5)
    assert si(fill["static_pressure"]) == close(liquid(plan, "D", plan.leaving) * GRAVITY * plan.height, 1e-3)
    assert si(fill["machine_pressure"]) >= si(fill["static_pressure"]) + 20e3, "the top stays above the air"


# --- supply ----------------------------------------------------------------------------------------------------------


def ohm(plan: Plan, told: Json, metres: float, warmth: float = 1.0) -> complex:
    """Of one conductor of a feeder."""
    size, hertz = int(told["conductor_size"].removesuffix(" mm2")), plan.order["supply"]["frequency"]["value"]
    return complex(RESISTANCE[size] * warmth, 0.08 * hertz / 50) * metres / 1000 / told["sets"]


def at_angle(magnitude: float, x_over_r: float) -> complex:
    return magnitude * complex(1, x_over_r) / abs(complex(1, x_over_r))


def source_of(plan: Plan) -> complex:
    """A set behind its X"d; or the site before the transformer, both seen from 400 V."""
    if plan.on_set:
        kva = 250 / 0.8
        assert plan.results["supply"]["generator_item"] == "set 250"
        return 0.11j * 400**2 / (kva * 1000)
    kva = si(plan.results["supply"]["transformer"]["rated_apparent_power"]) / 1000
    assert kva == 315, "the smallest of the stock that carries it"
    site = at_angle(1.05 * 400**2 / (math.sqrt(3) * 480 * 18000), 4)
    return site + at_angle(0.9 * 0.045 * 400**2 / (kva * 1000), 3.2)


def over_the_sending_end(volts: float, lost: complex) -> float:
    """V to neutral at the machine, and what its cable loses, over what is sent."""
    return abs(volts + lost) - 400 / math.sqrt(3)


def test_feeders_and_faults(plan: Plan) -> None:
    """Volts under the running current at its factor; greatest fault with cold copper, source, panel and cable in a row."""
    from scipy.optimize import brentq

    way = source_of(plan) + ohm(plan, plan.results["cable"]["panel_feed"]["feeder"], 10)
    metres = si(plan.order["routes"]["cable_length"])
    for (row, _, _), told in zip(plan.picked, plan.results["cable"]["machines"], strict=True):
        current = si(row["electrical"]["rated_current"]) * complex(0.86, -math.sqrt(1 - 0.86**2))
        warm = ohm(plan, told["feeder"], metres, HOT)
        volts = brentq(over_the_sending_end, 100, 240, args=(current * warm,))
        assert si(told["feeder"]["voltage_at_machine"]) == close(math.sqrt(3) * volts, 1e-5)
        expected = 1.05 * 400 / math.sqrt(3) / abs(way + ohm(plan, told["feeder"], metres))
        assert si(told["fault"]["fault_current_at_machine"]) == close(expected, 1e-3)


def test_starts_on_the_set(plans: dict[str, Plan]) -> None:
    """Part winding 0.65 of locked rotor, a soft starter four times what the plate says that its motor runs on (both from
    memory), behind X'd on a factor of 0.35.
    """
    plan = plans["brewery"]
    told = plan.results["supply"]["generator"]
    starts = {s["load_ids"][0].split(":")[0]: si(s["starting_apparent_power"]) / 1000 for s in told["steps"][2:]}
    amps = {"brew 300": 0.65 * 6 * 38.5, "brew 200": 4 * 35, "brew 120": 4 * 31}
    assert starts == {name: close(math.sqrt(3) * 0.4 * start) for name, start in amps.items()}
    motors = [at_angle(312.5 / kva, math.sqrt(1 - 0.35**2) / 0.35) for kva in starts.values()]
    worst = max(1 - abs(motor / (motor + 0.17j)) for motor in motors)
    assert told["worst_dip_fraction"] == close(worst, 1e-4)
    assert si(told["running_active_power"]) == close(
        sum(in_thin_air(plan, row, "power") for row, _, _ in plan.picked), 1e-4
    )


# --- site ------------------------------------------------------------------------------------------------------------


def test_wind_of_each_lift(plans: dict[str, Plan]) -> None:
    """EN 13000, from memory: the wind of the chart by the root of 1.2 m2 for each tonne over the area times its factor."""
    plan = plans["brewery"]
    for (row, _, _), told in zip(plan.picked, plan.results["site"]["lift"], strict=True):
        body = row["body"]
        area = si(body["length"]) * si(body["height"]) * 1.3
        limit = 9.8 * math.sqrt(1.2 * si(body["mass_operating"]) / 1000 / area)
        assert si(told["lift"]["wind_speed_limit"]) == close(limit, 1e-4)
        hook = 1.05 * si(body["mass_operating"]) + 420 + 150
        assert si(told["lift"]["hook_load"]["mass"]) == close(hook, 1e-5)
    assert len(plan.statements("wind_above_limit")) == 3


def test_dew_of_the_tropics(plans: dict[str, Plan]) -> None:
    from CoolProp.CoolProp import HAPropsSI

    plan = plans["hotel"]
    dew = HAPropsSI("D", "T", plan.ambient, "P", AIR, "R", 0.62)
    assert si(plan.results["condensation"]["dew_point_temperature"]) == pytest.approx(dew, abs=0.03)
    assert all(surface["wet"] for surface in plan.results["condensation"]["surfaces"])


def test_empty_totes_are_not_those_of_the_stock(plans: dict[str, Plan]) -> None:
    """What the stock calls a tote is full of glycol: those that take the mixture back are hired, one for each 1000 L of what
    runs out beside the tank to mix in, and stand on the deck.
    """
    plan = plans["brewery"]
    runs_out = si(plan.results["removal"]["glycol"]["volume"])
    lines = {(x["item"], x["kind"]): x["count"] for x in plan.results["pick_list"] if "tote" in x["item"]}
    concentrate = si(plan.results["fluid"]["antifreeze"]["concentrate_volume"])
    assert lines == {
        ("tote of propylene glycol", "antifreeze"): math.ceil(concentrate),
        ("tote of 1,000 L (264 gal)", "other"): math.ceil(runs_out) - 1,
    }
    cargo = {i["id"]: (i["quantity"], si(i["mass"])) for i in plan.asked["transport"]["items"]}
    assert cargo["tote of 1,000 L (264 gal)"] == (math.ceil(runs_out) - 1, 60)


# --- words -----------------------------------------------------------------------------------------------------------


def test_what_is_found_of_a_circuit_names_it(plan: Plan) -> None:
    names = {*(row["type"] for row, _, _ in plan.picked), "feed of the panel", "feed of the transformer"}
    of_circuits = [
        found
        for found in plan.findings
        if found.get("calculator") in ("electrical.feeder", "electrical.fault_current")
        and found["severity"] != "note"
        and found["code"] != "frequency_unusual_for_practice"
    ]
    assert of_circuits
    assert {found["statement"].split(":")[0] for found in of_circuits} <= names


def test_one_question_is_asked_once(plans: dict[str, Plan]) -> None:
    """60 Hz under rules meant for 50 Hz, whoever is asked; compressors that are all alike."""
    assert len(plans["hotel"].statements("frequency_unusual_for_practice")) == 1
    (torque,) = plans["brewery"].statements("reduced_starting_torque")
    assert torque.count("brew 300: compressor") == 4
