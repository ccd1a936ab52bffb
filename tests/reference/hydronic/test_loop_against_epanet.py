"""`hydronic.loop` against EPANET 2.2 (through wntr 1.5), Darcy-Weisbach: flows within 0.5 %."""

import pytest
from epanet import flows
from loops import BASE_POINTS, base, base_elements, branches, curve, device, fittings, line, pump, valve
from quantity import q

pytestmark = [pytest.mark.check, pytest.mark.filterwarnings("ignore")]  # the wrapper warns of its own doings

COLD_PROPYLENE = {"kind": "propylene_glycol", "mass_fraction": 0.35, "temperature": q(-5, "degC")}
ETHYLENE = {"kind": "ethylene_glycol", "mass_fraction": 0.4, "temperature": q(-8, "degC")}
THICK = {
    "kind": "custom",
    "density": q(1060, "kg/m3"),
    "dynamic_viscosity": q(400, "mPa.s"),
}
MACHINES = branches(
    "machines",
    [device("evaporator 1", 55, "evaporator"), valve("valve 1", 60)],
    [device("evaporator 2", 70, "evaporator"), valve("valve 2", 90)],
    [line("hose 3", 76.2, 12), device("evaporator 3", 40, "evaporator", flow=8)],
)
HOSES = branches("hoses", [line("short hose", 76.2, 30)], [line("long hose", 101.6, 140), fittings("bends", 4)])
NESTED = branches(
    "rows",
    [
        line("riser", 101.6, 20),
        branches("coils", [device("coil 1", 30), valve("v1", 40)], [device("coil 2", 45), line("tail", 50, 8)]),
    ],
    [line("bypass hose", 63.5, 90)],
)


def tall_open_loop():
    elements = [
        line("up", 101.6, 50, elevation_out=q(9, "m")),
        device("coil", 40),
        line("out", elevation_out=q(6, "m")),
    ]
    return base(elements=elements, open_source={"surface_elevation": q(2, "m")}, pressure_reference=None)


def loop(**more):
    given = base(**more)
    return {k: v for k, v in given.items() if v is not None}


LOOPS = {
    "base": loop(),
    "60 Hz pump on 50 Hz": loop(pumps=[pump(*BASE_POINTS, frequency=q(50, "Hz"))]),
    "50 Hz pump on 60 Hz": loop(pumps=[pump(*BASE_POINTS, frequency=q(60, "Hz"), rated_frequency=q(50, "Hz"))]),
    "two pumps in series": loop(pumps=[pump(*BASE_POINTS), pump((0, 20), (12, 17), (26, 9))]),
    "two pumps side by side": loop(pumps=[pump((0, 30), (8, 25), (14, 15), parallel_count=2)]),
    "pump standing in line": loop(
        pumps=[pump(*BASE_POINTS), {"state": "stopped_in_line", "stopped_kv": 110, "parallel_count": 1}]
    ),
    "straight lines between five points": loop(
        pumps=[
            {"curve": curve((0, 34), (8, 32), (14, 28.5), (20, 22), (26, 13)), "interpolation": "linear"},
        ]
    ),
    "unequal hoses": loop(elements=[*base_elements(), HOSES]),
    "three machines": loop(elements=[MACHINES, line("supply", 152.4, 80), line("return", 152.4, 80)]),
    "branches inside branches": loop(elements=[line("supply"), NESTED, line("return")]),
    "cold propylene glycol": loop(fluid=COLD_PROPYLENE),
    "machines in ethylene glycol": loop(fluid=ETHYLENE, elements=[MACHINES, line("supply"), line("return")]),
    "laminar in thick brine": loop(fluid=THICK, elements=[line("supply", 101.6, 40), HOSES, device("coil", 20)]),
    "two runs of hose": loop(
        elements=[
            line("supply", 76.2, 90, parallel_runs=2),
            device("coil", 60),
            line("return", 76.2, 90, parallel_runs=3),
        ]
    ),
    "open tank, return above": {k: v for k, v in tall_open_loop().items() if v is not None},
    "open tank, return below": loop(
        open_source={"surface_elevation": q(3, "m")},
        pressure_reference=None,
        elements=[
            line("supply", 101.6, 150, elevation_out=q(8, "m")),
            line("return", 101.6, 150, elevation_out=q(0, "m")),
        ],
    ),
}


def first_links(elements):
    """Link of each branch by which its flow can be read, in the order of `branch_flows`."""
    for element in elements:
        if element["type"] == "branches":
            for path in element["branches"]:
                first = path[0]
                yield first["name"] + ".0" if first["type"] == "line" else first["name"]
            for path in element["branches"]:
                yield from first_links(path)


@pytest.mark.parametrize("name", LOOPS)
def test_flows(answer_of, name, tmp_path):
    given = LOOPS[name]
    answer = answer_of("hydronic.loop", given)["results"]
    density, viscosity = fluid_of(given["fluid"])
    expected = flows(given, density, viscosity, fluid_of({"kind": "water", "temperature": q(10, "degC")})[0], tmp_path)
    assert answer["duty_flow"]["value"] == pytest.approx(expected["total"] * 1e3, rel=0.005)
    links = [link.replace(" ", "_") for link in first_links(given["elements"])]
    assert len(links) == len(answer["branch_flows"])
    for link, flow in zip(links, answer["branch_flows"], strict=True):
        assert flow["value"] == pytest.approx(expected[link] * 1e3, rel=0.005), link


def fluid_of(fluid):
    """Density and viscosity straight from CoolProp: IAPWS-95 for water, by mass for the glycols."""
    from CoolProp.CoolProp import PropsSI

    if fluid["kind"] == "custom":
        return fluid["density"]["value"], fluid["dynamic_viscosity"]["value"] * 1e-3
    names = {"ethylene_glycol": "INCOMP::MEG", "propylene_glycol": "INCOMP::MPG"}
    name = f"{names[fluid['kind']]}[{fluid['mass_fraction']}]" if fluid["kind"] in names else "Water"
    at = ("T", fluid["temperature"]["value"] + 273.15, "P", 3e5, name)
    return PropsSI("D", *at), PropsSI("V", *at)
