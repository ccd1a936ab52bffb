"""Laws that `hydronic.loop` keeps over its whole input."""

import pytest
from hypothesis import given as over
from hypothesis import settings
from hypothesis import strategies as st
from loops import BASE_POINTS, WATER_7, base, base_elements, branches, curve, device, fittings, line, pump, valve
from quantity import q

from coldwright.contract import Refused

GRAVITY = 9.80665
FLUIDS = st.sampled_from(
    [
        WATER_7,
        {"kind": "ethylene_glycol", "volume_fraction": 0.3, "temperature": q(-3, "degC")},
        {"kind": "propylene_glycol", "mass_fraction": 0.5, "temperature": q(-20, "degC")},
        {"kind": "custom", "density": q(1150, "kg/m3"), "dynamic_viscosity": q(35, "mPa.s")},
    ]
)
CURVES = st.sampled_from(
    [
        pump(*BASE_POINTS),
        pump((0, 60), (10, 50), (18, 30)),
        {"curve": curve((0, 40), (10, 37), (20, 28), (60, 1), (150, 0)), "interpolation": "monotone_cubic"},
        {"curve": curve((0, 40), (10, 37), (20, 28), (60, 1), (150, 0)), "interpolation": "linear"},
    ]
)


@st.composite
def simple(draw, name):
    kind = draw(st.sampled_from(["line", "fittings", "device", "valve"]))
    if kind == "line":
        return line(
            name,
            draw(st.floats(30, 200)),
            draw(st.floats(1, 300)),
            draw(st.floats(0, 1)),
            parallel_runs=draw(st.integers(1, 3)),
        )
    if kind == "fittings":
        return fittings(name, draw(st.floats(0.5, 40)), draw(st.floats(30, 200)))
    if kind == "device":
        return device(name, draw(st.floats(1, 150)), exponent=draw(st.floats(1.5, 2)), flow=draw(st.floats(2, 60)))
    return valve(name, draw(st.floats(15, 500)))


@st.composite
def path(draw, name, most=3):
    return [draw(simple(f"{name}.{i}")) for i in range(draw(st.integers(1, most)))]


@st.composite
def loops(draw):
    elements = draw(path("e", 4))
    for b in range(draw(st.integers(0, 2))):
        paths = [draw(path(f"b{b}.{j}")) for j in range(draw(st.integers(2, 4)))]
        if draw(st.booleans()):
            paths[0].append(branches(f"inner{b}", draw(path(f"i{b}.0")), draw(path(f"i{b}.1"))))
        elements.insert(draw(st.integers(0, len(elements))), branches(f"b{b}", *paths))
    elements[0]["elevation_out"] = q(draw(st.floats(-20, 20)), "m")
    if elements[0]["type"] == "branches":
        for inner in elements[0]["branches"]:
            inner[-1]["elevation_out"] = elements[0]["elevation_out"]
    if len(elements) > 1:
        elements[-1]["elevation_out"] = q(0, "m")
    else:
        elements[0]["elevation_out"] = q(0, "m")
        for inner in elements[0].get("branches", []):
            inner[-1]["elevation_out"] = q(0, "m")
    pumps = draw(st.lists(CURVES, min_size=1, max_size=2))
    return base(fluid=draw(FLUIDS), elements=elements, pumps=[dict(p) for p in pumps])


def answer(answer_of, given):
    return answer_of("hydronic.loop", given)


def flow(answer_of, given):
    return answer(answer_of, given)["results"]["duty_flow"]["value"]


def worked(answer_of, given):
    """The results, or nothing where no duty point is on the curve."""
    try:
        return answer(answer_of, given)["results"]
    except Refused as refused:
        if {e.pointer for e in refused.errors} != {"#/pumps"}:
            raise
        return None


def every_closed(elements, rise, above):
    """Around every closed way: what the pumps give is what the elements take, paths of branches alike."""
    total = sum(e["pressure_drop"]["value"] for e in elements)
    assert total == pytest.approx(rise, rel=1e-6, abs=1e-9)
    pressure = above
    for e in elements:
        assert e["pressure_in"]["value"] == pytest.approx(pressure, rel=1e-6, abs=1e-6 * abs(rise) + 1e-9)
        pressure = e["pressure_out"]["value"]
        for inner in e.get("branches", []):
            every_closed(inner, e["pressure_drop"]["value"], e["pressure_in"]["value"])
            assert inner[-1]["pressure_out"]["value"] == pytest.approx(pressure, rel=1e-6, abs=1e-6 * abs(rise) + 1e-9)


@settings(max_examples=60)
@over(given=loops())
def test_energy_closes_and_branch_flows_sum(answer_of, given):
    r = worked(answer_of, given)
    if r is None:
        return
    rise = r["pump_pressure_rise"]["value"]
    assert r["loop_pressure_drop"]["value"] == pytest.approx(rise, rel=1e-9)
    every_closed(r["elements"], rise, 200 + rise)
    assert r["elements"][-1]["pressure_out"]["value"] == pytest.approx(200, rel=1e-6, abs=1e-6 * rise)
    check_sums(given["elements"], r["elements"])
    assert len(r["branch_flows"]) == sum(len(e["branches"]) for e in everything(given["elements"]) if "branches" in e)


def everything(elements):
    for e in elements:
        yield e
        for inner in e.get("branches", []):
            yield from everything(inner)


def whole(element, result):
    """Flow through all runs or units of an element."""
    return result["flow_each"]["value"] * element.get("parallel_runs", element.get("parallel_count", 1))


def check_sums(elements, results):
    for element, result in zip(elements, results, strict=True):
        assert element["name"] == result["name"]
        if "branches" in element:
            starts = [(e[0], r[0]) for e, r in zip(element["branches"], result["branches"], strict=True)]
            assert sum(whole(e, r) for e, r in starts) == pytest.approx(whole(element, result), rel=1e-9)
            for inner, found in zip(element["branches"], result["branches"], strict=True):
                check_sums(inner, found)


@settings(max_examples=20)
@over(given=loops(), more=st.floats(1.01, 3))
def test_more_length_is_less_flow(answer_of, given, more):
    given["elements"].insert(1, line("extra", 76.2, 50))
    longer = base(**given)
    longer["elements"][1]["length"] = q(50 * more, "m")
    short, long = worked(answer_of, given), worked(answer_of, longer)
    if short and long:
        assert long["duty_flow"]["value"] < short["duty_flow"]["value"]


@settings(max_examples=20)
@over(given=loops(), more=st.floats(-100, 500))
def test_fill_pressure_moves_every_pressure_alike(answer_of, given, more):
    low = worked(answer_of, given)
    given["pressure_reference"]["gauge_pressure"] = q(200 + more, "kPa")
    high = worked(answer_of, given)
    if low is None:
        return
    assert high["duty_flow"] == low["duty_flow"]
    for a, b in zip(low["elements"], high["elements"], strict=True):
        for end in ("pressure_in", "pressure_out"):
            assert b[end]["value"] - a[end]["value"] == pytest.approx(more, abs=1e-6)


def test_reference_elsewhere_is_a_shift(answer_of):
    at_pump = answer(answer_of, base())["results"]["elements"]
    at_coil = base(pressure_reference={"location": "coil", "gauge_pressure": q(250, "kPa")})
    elsewhere = answer(answer_of, at_coil)["results"]["elements"]
    assert elsewhere[3]["pressure_out"]["value"] == pytest.approx(250)
    shift = 250 - at_pump[3]["pressure_out"]["value"]
    for a, b in zip(at_pump, elsewhere, strict=True):
        assert b["pressure_in"]["value"] - a["pressure_in"]["value"] == pytest.approx(shift, abs=1e-6)


def test_units_change_nothing(answer_of):
    given = base(required={"flow": q(15, "L/s")})
    us = base(required={"flow": q(15 / 0.0630901964, "gpm")})
    us["fluid"]["temperature"] = q(44.6, "degF")
    us["pressure_reference"]["gauge_pressure"] = q(2, "bar")
    for p in us["pumps"][0]["curve"]:
        p["head"] = q(p["head"]["value"] / 0.3048, "ft")
        p["flow"] = q(p["flow"]["value"] * 3.6, "m3/h")
    for e in us["elements"]:
        for name, by, unit in (
            ("length", 0.3048, "ft"),
            ("inner_diameter", 25.4, "in"),
            ("elevation_out", 0.3048, "ft"),
        ):
            if name in e:
                e[name] = q(e[name]["value"] / by, unit)
    a, b = answer(answer_of, given)["results"], answer(answer_of, us)["results"]
    for key in ("duty_flow", "pump_head", "hydraulic_power", "npsh_available", "throttling_pressure_drop"):
        assert b[key]["value"] == pytest.approx(a[key]["value"], rel=1e-8), key
    asked = answer_of("hydronic.loop", given, units="us")["results"]
    assert asked["duty_flow"]["unit"] == "gpm"
    assert asked["duty_flow"]["value"] * 0.0630901964 == pytest.approx(a["duty_flow"]["value"], rel=1e-8)


@over(flow=st.floats(2, 60), n=st.integers(1, 4))
def test_equal_branches_are_equal_runs(answer_of, flow, n):
    runs = base(elements=[line("a", 50, 40, parallel_runs=n + 1)], fixed_flow=q(flow, "L/s"))
    split = base(elements=[branches("a", *[[line(f"a{i}", 50, 40)] for i in range(n + 1)])], fixed_flow=q(flow, "L/s"))
    for given in (runs, split):
        del given["pumps"]
    one, other = answer(answer_of, runs)["results"], answer(answer_of, split)["results"]
    assert other["loop_pressure_drop"]["value"] == pytest.approx(one["loop_pressure_drop"]["value"], rel=1e-6)


@over(ratio=st.floats(0.4, 1.1))
def test_affinity_of_a_square_law_loop(answer_of, ratio):
    """With square-law elements only, flow goes with frequency."""
    elements = [device("evaporator", 60), fittings("fittings"), valve("valve", 90)]
    full = flow(answer_of, base(elements=elements))
    slow = flow(answer_of, base(elements=elements, pumps=[pump(*BASE_POINTS, frequency=q(60 * ratio, "Hz"))]))
    assert slow == pytest.approx(ratio * full, rel=1e-9)


def test_the_step_between_laminar_and_turbulent_still_closes(answer_of):
    """A flow that no friction factor balances: the loop sits on the step at Re 2040, and says so."""
    brine = {"kind": "custom", "density": q(1000, "kg/m3"), "dynamic_viscosity": q(10, "mPa.s")}
    elements = [line("hose", 50, 100, 0)]
    step = 2040 * 3.14159265 / 4 * 0.05 * 10e-3 / 1000  # m3/s
    laminar = 64 / 2040 * 100 / 0.05 * 500 * (step / (3.14159265 / 4 * 0.05**2)) ** 2 / (1000 * GRAVITY)
    head = 1.2 * laminar
    flat = pump((0, head * 1.0001), (0.5, head), (5, head * 0.5), interpolation="linear")
    for wanted in (elements, [branches("two", elements, [line("other", 60, 100)])]):
        given = base(fluid=brine, elements=wanted, pumps=[flat])
        found = answer(answer_of, given)
        r = found["results"]
        every_closed(r["elements"], r["pump_pressure_rise"]["value"], 200 + r["pump_pressure_rise"]["value"])
        assert "transition" in [f["code"] for f in found["findings"]]
        hose = r["elements"][0] if wanted is elements else r["elements"][0]["branches"][0][0]
        assert hose["reynolds"] == pytest.approx(2040, rel=1e-4)


def test_equivalent_frequency_gives_the_required_flow(answer_of):
    r = answer(answer_of, base(required={"flow": q(15, "L/s")}))["results"]
    slower = base(pumps=[pump(*BASE_POINTS, frequency=r["equivalent_frequency"])])
    assert flow(answer_of, slower) == pytest.approx(15, rel=1e-9)
    throttled = base(elements=[*base_elements(), valve("throttle", r["throttling_kv"])])
    assert flow(answer_of, throttled) == pytest.approx(15, rel=1e-9)


def test_scaled_curve_is_that_of_the_set(answer_of):
    two = pump(*BASE_POINTS, frequency=q(50, "Hz"), parallel_count=2, efficiency=0.7)
    r = answer(answer_of, base(pumps=[two]))["results"]["scaled_pump_curve"]
    assert [p["flow"]["value"] for p in r] == pytest.approx([0, 25, 25 / 15 * 25], rel=1e-9)
    assert [p["head"]["value"] for p in r] == pytest.approx([h * 25 / 36 for h in (35, 28, 16)], rel=1e-9)
    assert "brake_power" not in r[0]
    assert r[1]["brake_power"]["value"] == pytest.approx(
        1000.0005 * GRAVITY * 0.025 * 28 * 25 / 36 / 0.7 / 1e3, rel=1e-4
    )


def test_power_follows_from_the_efficiencies(answer_of):
    p = pump(*BASE_POINTS, efficiency=0.7, motor_efficiency=0.9, drive_efficiency=0.97)
    r = answer(answer_of, base(pumps=[p]))["results"]
    assert r["brake_power"]["value"] == pytest.approx(r["hydraulic_power"]["value"] / 0.7)
    assert r["motor_input_power"]["value"] == pytest.approx(r["brake_power"]["value"] / 0.9 / 0.97)
    by_curve = pump(*BASE_POINTS)
    by_curve["efficiency_curve"] = [
        {"flow": q(f, "L/s"), "efficiency": e} for f, e in ((0, 0), (10, 0.6), (18, 0.72), (25, 0.6))
    ]
    r = answer(answer_of, base(pumps=[by_curve]))["results"]
    share = (r["duty_flow"]["value"] - 18) / 7
    assert r["hydraulic_power"]["value"] / r["brake_power"]["value"] == pytest.approx(0.72 - 0.12 * share)


def test_no_power_without_efficiency(answer_of):
    r = answer(answer_of, base())["results"]
    assert "brake_power" not in r
    assert "motor_input_power" not in r


def test_fixed_flow_of_the_duty_gives_the_same_drops(answer_of):
    free = answer(answer_of, base())["results"]
    given = base(fixed_flow=free["duty_flow"])
    del given["pumps"]
    fixed = answer(answer_of, given)["results"]
    for key in ("pump_head", "loop_pressure_drop", "hydraulic_power"):
        assert fixed[key]["value"] == pytest.approx(free[key]["value"], rel=1e-6)
    assert fixed["elements"][2]["pressure_out"]["value"] == pytest.approx(
        free["elements"][2]["pressure_out"]["value"], rel=1e-6
    )


def test_open_tank_adds_its_lift(answer_of):
    """Pressures begin at the surface; a return above it costs that height, one below it nothing."""
    elements = [line("up", elevation_out=q(6, "m")), line("out", elevation_out=q(4, "m"))]
    tank = {"surface_elevation": q(1, "m"), "suction_pressure_drop": q(5, "kPa")}
    given = base(elements=elements, open_source=tank)
    del given["pressure_reference"]
    r = answer(answer_of, given)["results"]
    weight = 1000.0005 * GRAVITY / 1e3
    assert r["pump_pressure_rise"]["value"] - r["loop_pressure_drop"]["value"] == pytest.approx(
        3 * weight + 5, rel=1e-5
    )
    assert r["elements"][-1]["pressure_out"]["value"] == pytest.approx(0, abs=1e-6)
    given["open_source"]["surface_elevation"] = q(5, "m")
    r = answer(answer_of, given)["results"]
    assert r["pump_pressure_rise"]["value"] - r["loop_pressure_drop"]["value"] == pytest.approx(5, rel=1e-6)
    assert r["elements"][-1]["pressure_out"]["value"] == pytest.approx(weight, rel=1e-5)


def test_height_of_the_site_lowers_the_suction_head(answer_of):
    sea = answer(answer_of, base())["results"]["npsh_available"]["value"]
    high = answer(answer_of, base(site_elevation=q(2000, "m")))["results"]["npsh_available"]["value"]
    given = 101.325 * (1 - 2.25577e-5 * 2000) ** 5.25588
    assert (sea - high) * 1000.0005 * GRAVITY / 1e3 == pytest.approx(101.325 - given, rel=1e-6)


def test_hose_choice_keeps_all_limits(answer_of):
    options = [
        {"inner_diameter": q(d, "mm"), "working_pressure": q(p, "kPa")}
        for d, p in ((76.2, 900), (101.6, 900), (152.4, 400))
    ]
    given = base(required={"flow": q(17, "L/s")}, hose_options=options, run_length=q(120, "m"))
    found = answer(answer_of, given)["results"]
    fails = {(h["inner_diameter"]["value"], h["runs"]): h["fails"] for h in found["hose_selection"]}
    assert "velocity" in fails[76.2, 1]
    assert "head" in fails[76.2, 1]
    assert fails[101.6, 1] == []
    assert fails[152.4, 1] == ["working_pressure"]
    assert found["hose_choice"]["inner_diameter"]["value"] == 101.6
    given["friction_maximum"] = 20.0
    rows = answer(answer_of, given)["results"]["hose_selection"]
    assert "friction" in next(h["fails"] for h in rows if h["inner_diameter"]["value"] == 101.6 and h["runs"] == 1)


def test_hose_can_be_chosen_before_there_is_a_loop(answer_of):
    given = {
        "fluid": WATER_7,
        "fixed_flow": q(12, "L/s"),
        "required": {"flow": q(15, "L/s")},
        "hose_options": [{"inner_diameter": q(101.6, "mm")}],
        "run_length": q(40, "m"),
    }
    r = answer(answer_of, given)["results"]
    assert r["duty_flow"]["value"] == 12
    assert r["elements"] == []
    assert r["hose_choice"]["runs"] == 1
    del given["fixed_flow"]
    assert answer(answer_of, given)["results"]["hose_selection"] == r["hose_selection"]


@pytest.mark.parametrize(
    ("more", "pointer"),
    [
        ({"shut_off_head": {"value": 30, "unit": "m"}, "fixed_flow": None}, "#/shut_off_head"),
        (
            {
                "pressure_reference": {
                    "gauge_pressure": {"value": 300, "unit": "kPa"},
                    "gauge_pressure_maximum": {"value": 200, "unit": "kPa"},
                }
            },
            "#/pressure_reference/gauge_pressure_maximum",
        ),
    ],
)
def test_a_shut_valve_that_contradicts_itself_is_refused(answer_of, more, pointer):
    base = {
        "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
        "elements": [
            {
                "type": "device",
                "name": "coil",
                "device_kind": "other",
                "rated_flow": {"value": 10, "unit": "L/s"},
                "rated_pressure_drop": {"value": 50, "unit": "kPa"},
            }
        ],
        "fixed_flow": {"value": 10, "unit": "L/s"},
    }
    with pytest.raises(Refused) as refused:
        answer_of("hydronic.loop", {k: v for k, v in (base | more).items() if v is not None})
    assert pointer in [e.pointer for e in refused.value.errors]
