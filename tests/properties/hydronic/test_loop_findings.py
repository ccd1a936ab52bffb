"""What `hydronic.loop` finds and refuses."""

import pytest
from loops import BASE_POINTS, base, base_elements, branches, curve, device, fittings, line, pump, valve
from quantity import q

from coldwright.contract import Refused
from coldwright_hydronic import plugin

COLD_BRINE = {"kind": "custom", "density": q(1200, "kg/m3"), "dynamic_viscosity": q(20, "mPa.s")}


def change(index, **more):
    elements = base_elements()
    elements[index] |= more
    return elements


def with_pump(*points, **more):
    return base(pumps=[pump(*(points or BASE_POINTS), **more)])


def without(given, *names):
    return {k: v for k, v in given.items() if k not in names}


def fixed(flow=12, **more):
    return without(base(fixed_flow=q(flow, "L/s"), **more), "pumps", "pump_owner")


def found(answer_of, given):
    return answer_of("hydronic.loop", given)["findings"]


EFFICIENCY = [{"flow": q(f, "L/s"), "efficiency": e} for f, e in ((0, 0), (6, 0.7), (30, 0.5))]
NPSH = [{"flow": q(0, "L/s"), "npsh_required": q(2, "m")}, {"flow": q(25, "L/s"), "npsh_required": q(8, "m")}]
LAY_FLAT = [
    line("supply", kind="lay_flat_hose", elevation_out=q(25, "m")),
    device("coil", 40),
    line("return", elevation_out=q(0, "m")),
]

CASES = [
    ("device_flow_low", "stop", base(elements=change(1, flow_minimum=q(19, "L/s")))),
    ("device_flow_low", "check", base(elements=change(3, flow_minimum=q(19, "L/s")))),
    ("device_flow_high", "check", base(elements=change(1, flow_maximum=q(18, "L/s")))),
    ("flow_minimum_not_given", "check", base()),
    ("device_outside_rating", "check", base(elements=change(3, rated_flow=q(100, "L/s")))),
    ("velocity_high", "check", base(elements=change(2, inner_diameter=q(76.2, "mm")))),
    ("velocity_high_inside", "check", base(elements=change(2, place="occupied"))),
    ("velocity_low", "note", base(elements=change(2, inner_diameter=q(250, "mm")))),
    ("friction_high", "check", base(elements=change(2, place="inside"))),
    ("friction_high", "check", base(friction_maximum=20)),
    ("transition", "check", fixed(3.5, fluid=COLD_BRINE, elements=[line("hose", 101.6, 50)])),
    ("flow_below_required", "check", base(required={"flow": q(20, "L/s")})),
    ("viscous_liquid", "check", base(fluid=COLD_BRINE, elements=[line("hose", 101.6, 300)])),
    ("unequal_branches", "note", base(elements=[branches("b", [line("a")], [line("c", length=90)]), valve("v", 80)])),
    ("over_working_pressure", "stop", base(elements=change(1, working_pressure=q(500, "kPa")))),
    ("lay_flat_collapses", "stop", base(elements=LAY_FLAT)),
    ("below_air_pressure", "check", base(elements=[*change(2, elevation_out=q(40, "m"))])),
    (
        "liquid_boils",
        "stop",
        base(elements=change(2, elevation_out=q(45, "m")), pressure_reference={"gauge_pressure": q(0, "kPa")}),
    ),
    ("pressure_reference_assumed", "note", without(base(), "pressure_reference")),
    ("pressure_reference_not_used", "check", base(open_source={"surface_elevation": q(1, "m")})),
    ("shut_off_unknown", "note", fixed(elements=change(1, working_pressure=q(900, "kPa")))),
    ("cavitation", "stop", with_pump(npsh_required_curve=[{"flow": q(15, "L/s"), "npsh_required": q(31, "m")}])),
    (
        "npsh_margin_small",
        "check",
        with_pump(npsh_required_curve=[{"flow": q(15, "L/s"), "npsh_required": q(28, "m")}]),
    ),
    ("npsh_not_known", "check", with_pump(npsh_required_curve=[NPSH[0], NPSH[1] | {"flow": q(12, "L/s")}])),
    ("beyond_curve", "stop", with_pump((0, 35), (8, 32), (12, 30))),
    ("away_from_best_efficiency", "check", with_pump(efficiency_curve=EFFICIENCY)),
    ("efficiency_not_known", "check", with_pump(efficiency_curve=EFFICIENCY[:2])),
    ("pump_flow_low", "check", with_pump(minimum_flow=q(12, "L/s"), parallel_count=2)),
    ("off_frequency", "check", with_pump(frequency=q(50, "Hz"))),
    ("off_frequency", "check", with_pump(frequency=q(60, "Hz"), rated_frequency=q(50, "Hz"))),
    ("pumps_not_interlocked", "check", base(pumps=[pump(*BASE_POINTS), pump((0, 10), (10, 8), (25, 3))])),
    ("machine_pump_not_bypassed", "check", base(pump_owner="site")),
    ("machine_pump_not_bypassed", "note", fixed() | {"pump_owner": "site"}),
    (
        "stopped_pump_in_line",
        "check",
        base(pumps=[pump(*BASE_POINTS), {"state": "stopped_in_line", "stopped_kv": 100}]),
    ),
    ("head_throttled", "check", base(elements=[valve("balancing valve", 25), *base_elements()])),
    (
        "no_hose_fits",
        "check",
        base(
            required={"flow": q(15, "L/s")},
            hose_options=[{"inner_diameter": q(38, "mm")}],
            run_length=q(120, "m"),
        ),
    ),
]


@pytest.mark.parametrize(
    ("code", "severity", "given"), CASES, ids=[f"{c}-{s}-{i}" for i, (c, s, _) in enumerate(CASES)]
)
def test_findings(answer_of, code, severity, given):
    assert (code, severity) in [(f["code"], f["severity"]) for f in found(answer_of, given)]


def test_every_declared_finding_is_raised_above():
    loop = next(c for c in plugin.calculators if c.id == "hydronic.loop")
    declared = {(kind.code, severity) for kind in loop.findings.values() for severity in kind.severities}
    assert declared == {(code, severity) for code, severity, _ in CASES}


def test_a_good_loop_finds_nothing(answer_of):
    elements = change(1, flow_minimum=q(8, "L/s"), flow_maximum=q(25, "L/s"), working_pressure=q(1000, "kPa"))
    assert found(answer_of, base(elements=elements)) == []


def test_bypassed_machine_pump_and_interlock_free_the_checks(answer_of):
    two = [pump(*BASE_POINTS), pump((0, 10), (10, 8), (25, 3)), {"state": "bypassed"}]
    given = base(pumps=two, pumps_interlocked=True, pump_owner="site")
    codes = {f["code"] for f in found(answer_of, given)}
    assert not codes & {"pumps_not_interlocked", "machine_pump_not_bypassed"}


def test_working_pressure_is_tested_against_a_shut_valve(answer_of):
    """Running 441 kPa, shut off 200 + 343 kPa: a rating between the two is refused by the dead head alone."""
    elements = change(0, working_pressure=q(500, "kPa"))
    statements = [f["statement"] for f in found(answer_of, base(elements=elements)) if f["severity"] == "stop"]
    assert len(statements) == 1
    assert "shut valve" in statements[0]
    elements[0]["working_pressure"] = q(544, "kPa")
    assert "over_working_pressure" not in [f["code"] for f in found(answer_of, base(elements=elements))]


def test_working_pressure_is_tested_standing(answer_of):
    """A coil below the pump sees the column above it, running or not."""
    elements = [
        device("coil", 40, working_pressure=q(300, "kPa"), elevation_out=q(-20, "m")),
        line("up", elevation_out=q(0, "m")),
    ]
    given = fixed(elements=elements, pressure_reference={"location": "up", "gauge_pressure": q(150, "kPa")})
    assert "over_working_pressure" in [f["code"] for f in found(answer_of, given)]


def test_power_law_runs_out_with_a_stop_and_tables_refuse(answer_of):
    short = ((0, 35), (8, 32), (12, 30))
    assert "beyond_curve" in [f["code"] for f in found(answer_of, with_pump(*short))]
    for interpolation in ("monotone_cubic", "linear"):
        with pytest.raises(Refused) as refused:
            answer_of("hydronic.loop", with_pump(*short, interpolation=interpolation))
        (error,) = refused.value.errors
        assert error.pointer == "#/pumps"
        assert error.why
        assert "beyond the last point" in error.why


def test_parallel_pumps_are_judged_at_their_share(answer_of):
    """Two pumps carry 18 L/s: 9 each, within a curve that ends at 12."""
    codes = [f["code"] for f in found(answer_of, with_pump((0, 35), (8, 32), (12, 22), parallel_count=2))]
    assert "beyond_curve" not in codes


@pytest.mark.parametrize("first", [True, False])
def test_a_path_that_tells_no_height_ends_where_the_others_join(answer_of, first):
    paths = [[line("a", elevation_out=q(3, "m")), valve("v", 90)], [line("b"), valve("w", 90)]]
    elements = [branches("two", *(paths if first else paths[::-1])), line("down", elevation_out=q(0, "m"))]
    outer = answer_of("hydronic.loop", base(elements=elements))["results"]["elements"][0]
    for path in outer["branches"]:
        assert path[-1]["pressure_out"]["value"] == pytest.approx(outer["pressure_out"]["value"], rel=1e-9)


def test_missing_properties_leave_results_out(answer_of):
    custom = {"kind": "custom", "density": q(1050, "kg/m3")}
    elements = [device("evaporator", 60), fittings("fittings"), valve("valve", 100)]
    r = answer_of("hydronic.loop", base(fluid=custom, elements=elements))["results"]
    assert "npsh_available" not in r
    assert "reynolds" not in r["elements"][1]
    assert "velocity" in r["elements"][1]


CURVE = "#/pumps/0/curve"
REFUSED = [
    ("#/elements/2/inner_diameter", base(elements=change(2, inner_diameter=q(0, "mm")))),
    ("#/elements/2/inner_diameter", base(elements=change(2, inner_diameter=q(-100, "mm")))),
    ("#/elements/2/length", base(elements=change(2, length=q(-1, "m")))),
    ("#/elements/2/roughness", base(elements=change(2, roughness=q(6, "mm")))),
    ("#/elements/2/parallel_runs", base(elements=change(2, parallel_runs=13))),
    ("#/elements/0/k_factor", base(elements=change(0, k_factor=501))),
    ("#/elements/0/k_factor", base(elements=change(0, equivalent_length=q(5, "m"), roughness=q(0.05, "mm")))),
    ("#/elements/0/k_factor", base(elements=[without(fittings("f"), "k_factor"), *base_elements()[1:]])),
    ("#/elements/0/roughness", base(elements=change(0, roughness=q(0.05, "mm")))),
    (
        "#/elements/0/roughness",
        base(elements=[without(fittings("f"), "k_factor") | {"equivalent_length": q(5, "m")}, *base_elements()[1:]]),
    ),
    ("#/elements/5/name", base(elements=change(5, name="coil"))),
    ("#/elements/5/name", base(elements=change(5, name="pump_suction"))),
    ("#/elements/5/elevation_out", base(elements=change(5, elevation_out=q(1, "m")))),
    ("#/elements/1/flow_maximum", base(elements=change(1, flow_minimum=q(9, "L/s"), flow_maximum=q(8, "L/s")))),
    ("#/elements/1/exponent", base(elements=change(1, exponent=2.5))),
    ("#/elements/1/rated_fluid/mass_fraction", base(elements=change(1, rated_fluid={"kind": "ethylene_glycol"}))),
    ("#/elements/0/flow_coefficient_kv", base(elements=[valve("v", 50, flow_coefficient_cv=50)])),
    ("#/elements/0/flow_coefficient_kv", base(elements=[without(valve("v", 50), "flow_coefficient_kv")])),
    ("#/elements/0/branches", base(elements=[branches("b", [line("a")])])),
    ("#/elements/0/branches/1", base(elements=[branches("b", [line("a")], [line("c", length=0)])])),
    (
        "#/elements/0/branches/1",
        base(
            elements=[
                branches("b", [line("a", elevation_out=q(3, "m"))], [line("c", elevation_out=q(4, "m"))]),
                line("d", elevation_out=q(0, "m")),
            ]
        ),
    ),
    (
        "#/elements/0/branches/0/0/branches/0/0/branches",
        base(
            elements=[
                branches(
                    "1",
                    [branches("2", [branches("3", [line("a")], [line("b")])], [line("c")])],
                    [line("d")],
                )
            ]
        ),
    ),
    ("#/elements", base(elements=[branches("b", *[[line(f"{j}.{i}") for i in range(40)] for j in range(6)])])),
    ("#/elements", base(elements=[])),
    ("#/pumps", without(base(), "pumps")),
    ("#/fixed_flow", base(fixed_flow=q(10, "L/s"))),
    ("#/fixed_flow", fixed(0)),
    ("#/fixed_flow", fixed(-3)),
    ("#/pump_owner", without(base(), "pump_owner")),
    ("#/pumps", base(pumps=[{"state": "bypassed"}])),
    ("#/pumps/0/stopped_kv", base(pumps=[{"state": "stopped_in_line"}, pump(*BASE_POINTS)])),
    (CURVE, with_pump((0, 35), (15, 28))),
    (CURVE, with_pump((1, 35), (15, 28), (25, 16))),
    (CURVE, with_pump((0, 35), (25, 28), (15, 16))),
    (f"{CURVE}/1/head", with_pump((0, 35), (15, 36), (25, 16))),
    (f"{CURVE}/2/head", with_pump((0, 35), (15, 28), (25, 28))),
    (CURVE, with_pump((0, 35), (10, 32), (15, 28), (25, 16))),
    (CURVE, with_pump((0, 35), (15, 34.9999), (15.01, 5))),
    (CURVE, base(pumps=[{}])),
    ("#/pumps/0/efficiency", with_pump(efficiency=0.7, efficiency_curve=EFFICIENCY)),
    ("#/pumps/0/efficiency", with_pump(efficiency=1.2)),
    ("#/pumps/0/efficiency", with_pump(motor_efficiency=0.9)),
    ("#/pumps/0/efficiency_curve", with_pump(efficiency_curve=EFFICIENCY[::-1])),
    ("#/pumps/0/npsh_required_curve", with_pump(npsh_required_curve=NPSH[::-1])),
    ("#/pumps/0/npsh_required_curve/0/npsh_required", with_pump(npsh_required_curve=[{"flow": q(1, "L/s")}])),
    ("#/pumps/0/frequency", with_pump(frequency=q(90, "Hz"))),
    ("#/pumps", with_pump((0, 5), (15, 4), (25, 2)) | {"open_source": {"surface_elevation": q(-9, "m")}}),
    ("#/pressure_reference/location", base(pressure_reference={"location": "nowhere", "gauge_pressure": q(1, "bar")})),
    ("#/pressure_reference/gauge_pressure", base(pressure_reference={"gauge_pressure": q(-95, "kPa")})),
    ("#/site_elevation", base(site_elevation=q(100, "m"), atmospheric_pressure=q(100, "kPa"))),
    ("#/fluid/temperature", base(fluid={"kind": "water", "temperature": q(0, "degC")})),
    ("#/fluid/temperature", base(fluid={"kind": "water"})),
    (
        "#/fluid/temperature",
        base(fluid={"kind": "ethylene_glycol", "mass_fraction": 0.3, "temperature": q(-14.6, "degC")}),
    ),
    ("#/fluid/dynamic_viscosity", base(fluid={"kind": "custom", "density": q(1000, "kg/m3")})),
    (
        "#/fluid/specific_heat",
        base(
            fluid=COLD_BRINE,
            required={"load": q(100, "kW"), "temperature_difference": q(5, "delta_degC")},
        ),
    ),
    ("#/required/flow", base(required={})),
    ("#/required/flow", base(required={"flow": q(10, "L/s"), "load": q(100, "kW")})),
    ("#/required/temperature_difference", base(required={"load": q(100, "kW")})),
    ("#/required/load", base(required={"flow": q(9, "L/s"), "temperature_difference": q(5, "delta_degC")})),
    ("#/run_length", base(required={"flow": q(9, "L/s")}, hose_options=[{"inner_diameter": q(100, "mm")}])),
    ("#/required", base(run_length=q(9, "m"), hose_options=[{"inner_diameter": q(100, "mm")}])),
    ("#/hose_options/0/roughness", base(hose_options=[{"inner_diameter": q(20, "mm"), "roughness": q(2, "mm")}])),
]


@pytest.mark.parametrize(("pointer", "given"), REFUSED, ids=[f"{i}-{p[2:]}" for i, (p, _) in enumerate(REFUSED)])
def test_refusals(answer_of, pointer, given):
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.loop", given)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_all_contradictions_are_told_at_once(answer_of):
    given = base(elements=change(5, name="coil"), required={}, pumps=[{}], site_elevation=q(1, "m"))
    given["atmospheric_pressure"] = q(100, "kPa")
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.loop", given)
    assert {e.pointer for e in refused.value.errors} >= {
        "#/elements/5/name",
        "#/required/flow",
        "#/pumps/0/curve",
        "#/site_elevation",
    }


POINT = {"flow": q(20, "L/s"), "head": q(30, "m"), "brake_power": q(9, "kW")}


def test_known_point_stands_alone(answer_of):
    given = without(base(pumps=[{"point": POINT, "frequency": q(30, "Hz")}]), "elements")
    r = answer_of("hydronic.loop", given)["results"]
    assert r["scaled_point"]["flow"]["value"] == pytest.approx(10)
    assert r["scaled_point"]["head"]["value"] == pytest.approx(7.5)
    assert r["scaled_point"]["brake_power"]["value"] == pytest.approx(9 / 8)
    assert r["brake_power"]["value"] == pytest.approx(9 / 8)


@pytest.mark.parametrize(
    ("pointer", "more"),
    [
        ("#/elements", {}),
        ("#/pumps/0/point", {"elements": [], "pumps": [{"point": POINT}, pump(*BASE_POINTS)]}),
        ("#/pumps/0/point", {"elements": [], "pumps": [{"point": POINT, "curve": curve(*BASE_POINTS)}]}),
        ("#/pumps/0/state", {"elements": [], "pumps": [{"point": POINT, "state": "bypassed"}]}),
        ("#/fixed_flow", {"elements": [], "fixed_flow": q(10, "L/s")}),
        (
            "#/pressure_reference/location",
            {"elements": [], "pressure_reference": {"location": "coil", "gauge_pressure": q(1, "bar")}},
        ),
    ],
)
def test_known_point_refuses_a_loop(answer_of, pointer, more):
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.loop", base(pumps=[{"point": POINT}]) | more)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_a_column_that_parts_with_the_pump_stopped_is_a_stop(answer_of):
    for pressure, parted in ((-40, True), (120, False)):
        reference = {"location": "pump_suction", "gauge_pressure": q(pressure, "kPa")}
        said = [
            f["statement"] for f in found(answer_of, base(pressure_reference=reference)) if f["code"] == "liquid_boils"
        ]
        assert any("With the pump stopped" in statement for statement in said) == parted
