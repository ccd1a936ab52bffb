"""Four whole plans, each block held against an engine of somebody else's, or a sum from first principles.

Loops: EPANET 2.2 through wntr. Feeders and faults: pandapower 3. Selection: every combination counted. Schedule:
networkx. Liquids and damp air: CoolProp 8. The orders are invented (`tests/support/whole_plans.py`).
"""

import cmath
import itertools
import math
from typing import Any

import pytest
from epanet import flows, si
from orders import changed, fleet, machine, order
from whole_plans import ORDERS

pytestmark = [pytest.mark.check, pytest.mark.filterwarnings("ignore")]  # wrappers and solvers warn of their own doings
CELSIUS = 273.15
WATER = "Water"
# ohm/km at the conductor's working temperature: NEC Chapter 9 Table 9, PVC conduit and aluminum conduit, as reproduced
# (2 AWG 0.19 and 0.045, 4/0 AWG 0.062 and 0.041 ohm/kft); IEC 60228 class 5 (0.780 ohm/km for 25 mm2) at 60 degC, with
# 0.08 ohm/km, common practice; 95 mm2 0.206 ohm/km, from memory of the same table
IMPEDANCE = {
    "2 AWG": (0.6234, 0.1476), "4/0 AWG": (0.2034, 0.1345),
    "25 mm2": (0.780 * 1.1572, 0.08), "95 mm2": (0.206 * 1.1572, 0.08),
}  # fmt: skip
C = 1.05
"""Voltage factor of IEC 60909 for low voltage with a tolerance of 6 %."""


@pytest.fixture(scope="module")
def plans(answer_of: Any) -> dict[str, Any]:
    """The four answers."""
    return {name: answer_of("booking.assessment", build()) for name, build in ORDERS.items()}


@pytest.fixture(params=list(ORDERS))
def plan(plans: dict[str, Any], request: Any) -> Any:
    """The results of one of them."""
    return plans[request.param]["results"]


def value(quantity: dict[str, Any], unit: str) -> float:
    assert quantity["unit"] == unit
    return float(quantity["value"])


def coolprop(what: str, fluid: dict[str, Any], celsius: float) -> float:
    """`D`, `C` or `V` of water (IAPWS-95) or of propylene glycol by mass, at 2 bar."""
    from CoolProp.CoolProp import PropsSI

    name = WATER if fluid["kind"] == "water" else f"INCOMP::MPG[{fluid['mass_fraction']}]"
    return float(PropsSI(what, "T", celsius + CELSIUS, "P", 2e5, name))


def test_each_can_be_carried_out(plans: dict[str, Any]) -> None:
    for name, answer in plans.items():
        assert [f for f in answer["findings"] if f["severity"] == "stop"] == [], name
        assert answer["results"]["machines"], name


# --- load and liquid -------------------------------------------------------------------------------------------------


def test_heat_closes_over_flow_and_difference(plan: Any) -> None:
    """By hand with the density and heat of CoolProp at the mean of leaving and entering; 0.1 % for two formulations."""
    fluid, kelvins = plan["asked"]["loop"]["fluid"], value(plan["energy"]["temperature_difference"], "delta_degC")
    mean = value(fluid["temperature"], "degC") + kelvins / 2
    carried = value(plan["energy"]["flow"], "L/s") / 1000 * coolprop("D", fluid, mean) * coolprop("C", fluid, mean)
    assert carried * kelvins / 1000 == pytest.approx(value(plan["load"]["gross"], "kW"), rel=1e-3)


def test_flow_is_that_of_the_mixture_as_cold_as_it_is(plan: Any) -> None:
    """By hand, at the mean of leaving and entering at the load: of the food plant 1.1 % more than at 10 degC."""
    fluid, duty = plan["asked"]["loop"]["fluid"], plan["asked"]["load"]["temperature_difference"]
    kelvins = value(duty, "delta_degC")
    mean = value(fluid["temperature"], "degC") + kelvins / 2
    carried = coolprop("D", fluid, mean) * coolprop("C", fluid, mean) * kelvins
    flow = value(plan["load"]["net"], "kW") * 1e6 / carried
    assert value(plan["loop"]["wanted_flow"], "L/s") == pytest.approx(flow, rel=1e-3)


def test_flow_by_the_rule_of_the_trade(plan: Any) -> None:
    """Q [Btu/h] = 500 x gpm x dT [degF] for water, seen on many pages of the trade: within 1.5 %, since 500 is round."""
    if plan["fluid"]["kind"] != "water":
        return
    gpm = value(plan["energy"]["flow"], "L/s") * 15.850323
    fahrenheit = value(plan["energy"]["temperature_difference"], "delta_degC") * 1.8
    assert 500 * gpm * fahrenheit * 0.29307107e-3 == pytest.approx(value(plan["load"]["gross"], "kW"), rel=0.015)


def test_mixture_freezes_where_coolprop_says(plan: Any) -> None:
    """Library: T_freeze of CoolProp's MPG, 0.5 K. It is 15 delta_degF or more below what leaves the machines."""
    from CoolProp.CoolProp import PropsSI

    if plan["fluid"]["kind"] == "water":
        assert plan["fluid"]["leaving_temperature"]["value"] >= 4.4
        return
    told = plan["fluid"]["antifreeze"]
    name = f"INCOMP::MPG[{told['mass_fraction']}]"
    freezes = PropsSI("T_freeze", "T", 280, "P", 2e5, name) - CELSIUS
    assert value(told["freezing_temperature"], "degC") == pytest.approx(freezes, abs=0.5)
    assert value(plan["fluid"]["leaving_temperature"], "degC") - freezes >= 15 / 1.8 - 0.5
    mixed = value(told["concentrate_volume"], "L") + value(told["water_volume"], "L")
    assert mixed == pytest.approx(value(plan["fill"]["total_volume"], "L"), rel=0.005)


def test_volume_and_growth_of_the_liquid(plan: Any) -> None:
    """By hand: cylinders of hose, the vessels as given; the growth by the densities of CoolProp, 3 % of it."""
    asked = plan["asked"]["fill"]
    hoses = sum(
        math.pi / 4 * si(line["inner_diameter"]) ** 2 * si(line["length"]) * line["parallel_runs"]
        for line in asked["lines"]
    )
    vessels = sum(value(vessel["volume"], "L") * vessel.get("count", 1) for vessel in asked["vessels"])
    total = value(plan["fill"]["total_volume"], "L")
    assert 1000 * hoses + vessels == pytest.approx(total, rel=1e-6)
    low, high = (value(asked["expansion"][f"{which}_temperature"], "degC") for which in ("lowest", "highest"))
    fluid = asked["fluid"]
    cold = max(coolprop("D", fluid, low + (high - low) * n / 200) for n in range(201))
    growth = cold / coolprop("D", fluid, high) - 1
    assert plan["fill"]["expansion_fraction"] == pytest.approx(growth, rel=0.03)
    air = 101.325
    least, most = (value(asked["expansion"][f"{which}_pressure"], "kPa") for which in ("minimum", "maximum"))
    vessel = total * growth / (1 - (least + air) / (most + air))
    assert value(plan["fill"]["vessel_volume"], "L") == pytest.approx(vessel, rel=0.04)
    weight = coolprop("D", fluid, value(fluid["temperature"], "degC")) * 9.80665 / 1000
    height = value(asked["high_point_elevation"], "m")
    assert value(plan["fill"]["static_pressure"], "kPa") == pytest.approx(weight * height, rel=1e-3)


# --- machines --------------------------------------------------------------------------------------------------------


def test_selection_against_every_combination(plan: Any) -> None:
    """Enumeration: no fewer machines carry the load, turn down to the least and bear the flow, with one lost if asked."""
    asked = plan["asked"]["selection"]
    design, rows = asked["design"], asked["fleet"]
    load, flow = value(design["load"], "kW"), value(design["flow"], "L/s")
    least_load, spare = value(asked["minimum_load"], "kW"), asked["redundancy"]["rule"] == "one_unit"
    assert asked["redundancy"]["rule"] in ("none", "one_unit")

    def carries(counts: tuple[int, ...]) -> bool:
        running = [(row, n) for row, n in zip(rows, counts, strict=True) if n]
        if not running:
            return False
        capacity = sum(value(row["capacity"], "kW") * n for row, n in running)
        lost = max(value(row["capacity"], "kW") for row, _ in running) if spare else 0.0
        turndown = min(value(row["minimum_capacity"], "kW") for row, _ in running)
        low, high = (
            sum(value(row[f"flow_{which}"], "L/s") * n for row, n in running) for which in ("minimum", "maximum")
        )
        return capacity - lost >= load and turndown <= least_load and low <= flow <= high

    options = itertools.product(*(range(row["count_available"] + 1) for row in rows))
    fewest = min(sum(counts) for counts in options if carries(counts))
    chosen = {m["type"]: m["count"] for m in plan["machines"]}
    own = tuple(chosen.get(row["type"], 0) for row in rows)
    assert carries(own)
    assert sum(own) == fewest


# --- loop ------------------------------------------------------------------------------------------------------------


def test_loop_against_epanet(plan: Any, tmp_path: Any) -> None:
    """EPANET 2.2 by Darcy-Weisbach. It takes a curve of many points: the monotone cubic of SciPy through those given."""
    from scipy.interpolate import PchipInterpolator

    given = plan["asked"]["loop"]
    for pump in given["pumps"]:
        at = [(point["flow"]["value"], point["head"]["value"]) for point in pump["curve"]]
        curve = PchipInterpolator(*zip(*at, strict=True))
        last = at[-1][0]
        pump["curve"] = [
            {
                "flow": {"value": last * n / 60, "unit": "L/s"},
                "head": {"value": float(curve(last * n / 60)), "unit": "m"},
            }
            for n in range(61)
        ]
    celsius = value(given["fluid"]["temperature"], "degC")
    density, viscosity = coolprop("D", given["fluid"], celsius), coolprop("V", given["fluid"], celsius)
    rated = coolprop("D", {"kind": "water"}, 10)
    told = {key: entry for key, entry in given.items() if key != "pressure_reference"}
    expected = flows(told, density, viscosity, rated, tmp_path)
    assert value(plan["loop"]["duty_flow"], "L/s") == pytest.approx(expected["total"] * 1e3, rel=0.005)
    assert value(plan["loop"]["duty_flow"], "L/s") >= value(plan["loop"]["required_flow"], "L/s") * (1 - 1e-4)
    head = value(plan["loop"]["pump_pressure_rise"], "kPa") * 1000 / (density * 9.80665)
    assert value(plan["loop"]["pump_head"], "m") == pytest.approx(head, rel=2e-3)


def test_pump_heat_is_its_power_in_the_liquid(plan: Any) -> None:
    """By hand: rho g V H over the efficiency of the curve, all of it in the loop."""
    loop, given = plan["loop"], plan["asked"]["loop"]
    celsius = value(given["fluid"]["temperature"], "degC")
    weight = coolprop("D", given["fluid"], celsius) * 9.80665
    power = (
        weight
        * value(loop["duty_flow"], "L/s")
        / 1000
        * value(loop["pump_head"], "m")
        / given["pumps"][0]["efficiency"]
    )
    assert value(plan["load"]["pump_heat"], "kW") == pytest.approx(power / 1000, rel=0.01)


# --- supply ----------------------------------------------------------------------------------------------------------


def _line(pp: Any, net: Any, start: int, size: str, metres: float, sets: int, correction: float = 1.0) -> int:
    resistance, reactance = IMPEDANCE[size]
    end = pp.create_bus(net, net.bus.vn_kv.at[start])
    pp.create_line_from_parameters(
        net,
        start,
        end,
        length_km=metres / 1000,
        r_ohm_per_km=resistance * correction,
        x_ohm_per_km=reactance * correction,
        c_nf_per_km=0,
        max_i_ka=1,
        parallel=sets,
        endtemp_degree=20,
    )
    return int(end)


def test_feeders_against_a_load_flow(plan: Any) -> None:
    """pandapower: the voltage at the machine under its running current, 0.05 %."""
    import pandapower as pp

    for told, given in zip(plan["cable"]["machines"], plan["asked"]["feeders"], strict=True):
        feeder, volts = told["feeder"], value(given["system_voltage"], "V")
        net = pp.create_empty_network(f_hz=value(given["frequency"], "Hz"), sn_mva=1.0)
        busbar = pp.create_bus(net, volts / 1000)
        pp.create_ext_grid(net, busbar, vm_pu=1.0)
        machine = _line(pp, net, busbar, feeder["conductor_size"], value(given["length"], "m"), feeder["sets"])
        factor = given["power_factor"]
        at_machine = value(feeder["voltage_at_machine"], "V")
        power = math.sqrt(3) * at_machine * value(given["load_current"], "A") / 1e6
        pp.create_load(net, machine, p_mw=power * factor, q_mvar=power * math.sqrt(1 - factor**2))
        pp.runpp(net, tolerance_mva=1e-10)
        assert net.res_bus.vm_pu.at[machine] * volts == pytest.approx(at_machine, rel=5e-4)


def test_faults_against_a_short_circuit_calculation(plan: Any) -> None:
    """pandapower after IEC 60909 for the site's supply, its factor c handed in with the cable; by hand behind a set."""
    import pandapower as pp
    import pandapower.shortcircuit as sc

    for told, given in zip(plan["cable"]["machines"], plan["asked"]["faults"], strict=True):
        segments, source = given["segments"], given["source"]
        assert len(segments) == 1 + ("panel_feed" in plan["cable"]), "the feed of the panel lies on the way"
        volts, found = value(given["system_voltage"], "V"), value(told["fault"]["fault_current_at_machine"], "A")
        if source["kind"] == "generator":
            base = volts**2 / (value(source["rated_apparent_power"], "kVA") * 1000)
            reactance_of_set = source["subtransient_reactance"] * base
            way = sum(
                complex(*IMPEDANCE[part["conductor_size"]]) * value(part["length"], "m") / 1000 / part["sets"]
                for part in segments
            )
            expected = C * volts / math.sqrt(3) / abs(way + 1j * reactance_of_set)
            assert found == pytest.approx(expected, rel=0.01)
            continue
        current = value(source["available_fault_current"], "A")
        net = pp.create_empty_network(f_hz=60)
        busbar = pp.create_bus(net, volts / 1000)
        pp.create_ext_grid(
            net, busbar, s_sc_max_mva=math.sqrt(3) * volts * current / 1e6, rx_max=1 / source["x_over_r"]
        )
        # its factor c is in the network's impedance, and not in the cable's
        machine = busbar
        for part in segments:
            machine = _line(pp, net, machine, part["conductor_size"], value(part["length"], "m"), part["sets"], C)
        sc.calc_sc(net, fault="3ph", case="max", lv_tol_percent=6)
        assert net.res_bus_sc.ikss_ka.at[busbar] * 1000 == pytest.approx(current, rel=1e-6)
        assert found == pytest.approx(net.res_bus_sc.ikss_ka.at[machine] * 1000, rel=0.01)


def test_currents_add_up_to_the_service(plan: Any) -> None:
    """Kirchhoff, for machines of one power factor; apparent power is sqrt(3) U I."""
    service = plan["supply"]["service"]
    total = sum(value(m["running_current"], "A") * m["quantity"] for m in service["machines"])
    assert value(service["feeder"]["running_current"], "A") == pytest.approx(total, rel=1e-9)
    volts = value(plan["supply"]["voltage"], "V")
    assert value(service["apparent_power"], "kVA") == pytest.approx(math.sqrt(3) * volts * total / 1000, rel=1e-6)


def test_the_generating_set_by_hand(plan: Any) -> None:
    """Load and dip by phasors: the start is an impedance behind x'd on top of what runs already."""
    told = plan["supply"].get("generator")
    if told is None:
        return
    running = value(told["running_active_power"], "kW")
    assert running == pytest.approx(value(plan["energy"]["machine_power"], "kW"), rel=1e-6)
    assert told["load_fraction"] == pytest.approx(running / value(told["derated_active_power"], "kW"), rel=1e-6)
    given = plan["asked"]["generator"]
    assert told["worst_dip_fraction"] <= given["dip_limit_fraction"]
    tank = 6 * value(given["generator"]["rated_active_power"], "kW")  # L, as the invented fleet gives it
    assert value(told["time_per_fill"], "h") * value(told["fuel_rate"], "L/h") <= tank + 1e-6
    plates = value(plan["supply"]["service"]["apparent_power"], "kVA")
    assert value(told["derated_apparent_power"], "kVA") >= plates > value(told["running_apparent_power"], "kVA")
    angle = math.acos(told["running_power_factor"])
    apparent = cmath.rect(value(told["running_apparent_power"], "kVA"), angle)
    assert apparent.real == pytest.approx(running, rel=1e-6)


# --- place and work --------------------------------------------------------------------------------------------------


def test_weights_on_hook_and_ground(plan: Any) -> None:
    """Statics: tensions of the sling carry the load; the mean pressure under runners is weight over area."""
    for told, given in zip(plan["site"]["ground"], plan["asked"]["grounds"], strict=True):
        weight = value(given["load"], "kg") * 9.80665 / 1000
        area = si(given["contact_length"]) * si(given["contact_width"])
        ground = told["ground"]
        mean = sum(value(ground[f"bearing_pressure_{which}"], "kPa") for which in ("maximum", "minimum")) / 2
        assert mean == pytest.approx(weight / area, rel=0.02)
    for told in plan["site"]["lift"]:
        legs = told["lift"]["legs"]
        held = sum(
            value(leg["tension_elastic"], "kN") * math.sin(math.radians(value(leg["angle_from_horizontal"], "deg")))
            for leg in legs
        )
        if legs:
            pull = value(told["lift"]["governing_tension"], "kN")
            assert value(told["lift"]["required_leg_rated_load"], "kg") == pytest.approx(
                pull * 1000 / 9.80665, rel=1e-6
            )
            hook = value(told["lift"]["hook_load"]["force"], "kN")
            rigging = hook - held
            assert 0 <= rigging <= 0.2 * hook


def test_sound_by_distance(plan: Any) -> None:
    """Half-space: 20 lg r + 8 dB below the sound power, sources added as energies; 0.2 dB for the height of the ear."""
    if "sound" not in plan["site"]:
        return
    given = plan["asked"]["sound"]
    for place, told in zip(plan["site"]["sound"]["receivers"], given["receivers"], strict=True):
        levels = [
            source["sound_power_level"]["value"] - 20 * math.log10(si(told["x"]) - si(source["x"])) - 8
            for source in given["sources"]
        ]
        together = 10 * math.log10(sum(10 ** (level / 10) for level in levels))
        assert place["level"]["value"] == pytest.approx(together, abs=0.2)


def test_schedule_by_networkx(plan: Any) -> None:
    """The longest way through the steps, people enough, is the time to cold water."""
    import networkx as nx

    steps = {step["id"]: step for step in plan["arrival_plan"]["steps"]}
    graph = nx.DiGraph()
    for step in steps.values():
        graph.add_node(step["id"])
        graph.add_edges_from((before, step["id"]) for before in step["depends_on"])
    assert nx.is_directed_acyclic_graph(graph)
    finish: dict[str, float] = {}
    for name in nx.topological_sort(graph):
        begun = max((finish[before] for before in graph.predecessors(name)), default=0.0)
        finish[name] = begun + value(steps[name]["duration"], "min")
        assert value(steps[name]["earliest_finish"], "min") == pytest.approx(finish[name])
    assert value(plan["cold_water_after"], "min") == pytest.approx(finish["cold_water"])


def test_room_restart_and_damp(plan: Any) -> None:
    """The air by its density, the volume by its turnover, the dew point by CoolProp's humid air."""
    from CoolProp.HumidAirProp import HAPropsSI

    damp = plan["asked"]["condensation"]
    if "relative_humidity_fraction" in damp:
        air = value(damp["air_temperature"], "degC") + CELSIUS
        dew = HAPropsSI("D", "T", air, "P", 101325, "R", damp["relative_humidity_fraction"]) - CELSIUS
        assert value(plan["condensation"]["dew_point_temperature"], "degC") == pytest.approx(dew, abs=0.05)
    if "indoors" in plan:
        heat, asked = plan["indoors"]["heat"], plan["asked"]["room_heat"]
        room, outdoors = (value(asked[name], "degC") for name in ("room_limit", "outdoor_temperature"))
        density = HAPropsSI("V", "T", room + CELSIUS, "P", 101088, "R", 0) ** -1
        flow = value(plan["energy"]["heat_rejected"], "kW") / (density * 1.006 * (room - outdoors))
        assert value(heat["required_flow"], "L/s") / 1000 == pytest.approx(flow, rel=0.005)
    if "restart" in plan:
        turnover = value(plan["fill"]["total_volume"], "L") / value(plan["loop"]["duty_flow"], "L/s") / 60
        assert value(plan["restart"]["turnover"], "min") == pytest.approx(turnover, rel=0.002)


# --- published rules of the trade, for a whole plan --------------------------------------------------------------------


@pytest.mark.parametrize(("fahrenheit", "gpm_per_ton"), [(10, 2.4), (12, 2.0), (14, 1.7), (16, 1.5)])
def test_flow_for_each_ton(answer_of: Any, fahrenheit: float, gpm_per_ton: float) -> None:
    """Seen: a table of a trade page, 24 gpm.degF/ton in two digits. Ours within 2 %, and 1.1 % below 24 / dT."""
    document = changed(ORDERS["roof"](), duty__temperature_difference={"value": fahrenheit, "unit": "delta_degF"})
    results = answer_of("booking.assessment", document, units="us")["results"]
    flow = results["asked"]["loop"]["required"]["flow"]
    assert flow["unit"] == "gpm"
    tons = results["load"]["net"]["value"]
    assert results["load"]["net"]["unit"] == "ton"
    assert flow["value"] / tons == pytest.approx(gpm_per_ton, rel=0.03)
    assert flow["value"] / tons == pytest.approx(24 / fahrenheit, rel=0.012)


def test_a_plan_for_forty_gallons(answer_of: Any) -> None:
    """Seen: a page on sizing chillers: 40 gpm cooled by 12 degF are 19.992 tons, a fifth more 23.99 tons. The plan adds
    what its hose and pump take up, and no more than that.
    """
    document = order(
        fleet=fleet(machine("one", 120, 2)),
        duty={
            "load": {"value": 19.992, "unit": "ton"},
            "leaving_temperature": {"value": 50, "unit": "degF"},
            "liquid_flow": {"value": 40, "unit": "gpm"},
            "margin_fraction": 0.2,
            "lowest_load_fraction": 0.5,
        },
    )
    results = answer_of("booking.assessment", document, units="us")["results"]
    gains = results["load"]["hose_heat"]["value"] + results["load"]["pump_heat"]["value"]
    assert results["load"]["hose_heat"]["unit"] == results["load"]["pump_heat"]["unit"] == "ton"
    assert results["design_load"]["value"] == pytest.approx(1.2 * (19.992 + gains), rel=1e-3)
    assert results["design_load"]["value"] >= 23.99
    first = results["load"]["net"]["value"] / results["load"]["gross"]["value"]
    difference = results["energy"]["temperature_difference"]
    assert difference["unit"] == "delta_degF"
    assert difference["value"] * first == pytest.approx(12, rel=0.01)


def test_flow_of_half_a_megawatt(answer_of: Any) -> None:
    """Seen: a page on chilled water in SI units: 500 kW from 12 to 7 degC at 4.186 kJ/kg.K are 23.89 L/s, 86.0 m3/h; and
    50 kW at 5.5 K 2.17 L/s. Ours: 23.9 and 2.17 L/s (within 0.3 %).
    """
    for load, kelvins, flow in ((500, 5, 23.89), (50, 5.5, 2.17)):
        duty = {
            "load": {"value": load, "unit": "kW"},
            "leaving_temperature": {"value": 7, "unit": "degC"},
            "temperature_difference": {"value": kelvins, "unit": "delta_degC"},
            "lowest_load_fraction": 0.5,
        }
        document = order(fleet=fleet(machine("one", load * 1.6, 2)), duty=duty)
        told = answer_of("booking.assessment", document)["results"]["asked"]["loop"]["required"]["flow"]
        assert value(told, "L/s") == pytest.approx(flow, rel=0.005)


def test_sounds_of_a_plan_by_the_short_table(plan: Any) -> None:
    """Seen: OSHA, Noise and Hearing Conservation, Appendix I:A-1: of two levels that differ by 0 to 1, 2 to 3, 4 to 9 or 10
    and more, the higher gains 3, 2, 1 or 0 dB, in pairs. Ours: within 1 dB of it at every place, which is what it claims.
    """
    for place in plan["site"].get("sound", {"receivers": []})["receivers"]:
        levels = sorted(source["level"]["value"] for source in place["by_source"])
        while len(levels) > 1:
            low, high = levels[:2]
            gain = next(g for most, g in ((1.5, 3), (3.5, 2), (9.5, 1), (math.inf, 0)) if high - low <= most)
            levels = sorted([high + gain, *levels[2:]])
        assert place["level"]["value"] == pytest.approx(levels[0], abs=1.0)
