"""Where each finding of the electrical family begins, by the limit that its source names."""

import math
from collections.abc import Callable
from typing import Any

import pytest
from edges import Edge, edges, example, hold_to
from quantity import q

from coldwright.contract import Refused

pytestmark = pytest.mark.check

QUALITY, SET, TRANSFORMER = "electrical.supply_quality", "electrical.generator", "electrical.transformer"
SERVICE, FAULT, FEEDER, COST = (f"electrical.{name}" for name in ("service", "fault_current", "feeder", "energy_cost"))


def volts(ab: float, bc: float, ca: float, **more: Any) -> dict[str, Any]:
    line = {"ab": q(ab, "V"), "bc": q(bc, "V"), "ca": q(ca, "V")}
    return example(QUALITY, line_voltages=line, nominal_voltage=q(480, "V"), **more)


def unbalanced(u: float, **more: Any) -> dict[str, Any]:
    """NEMA MG 1: greatest deviation from the mean over the mean; here of one line alone, the others sharing it."""
    return volts(470 * (1 + u), 470 * (1 - u / 2), 470 * (1 - u / 2), **more)


def amperes(a: float, b: float, c: float) -> dict[str, Any]:
    return example(QUALITY, line_currents={"a": q(a, "A"), "b": q(b, "A"), "c": q(c, "A")})


def of_480(share: float, **more: Any) -> dict[str, Any]:
    return volts(480 * share, 480 * share, 480 * share, **more)


def to_ground(spread: float) -> dict[str, Any]:
    lines = {"a": q(277 * (1 + spread / 2), "V"), "b": q(277 * (1 - spread / 2), "V"), "c": q(277, "V")}
    return example(QUALITY, line_to_ground_voltages=lines)


SUPPLY = (
    # NEMA MG 1 14.36 (seen as reproduced): derate above 1 %, never run above 5 %; 2 % is the field's `unbalance_limit`
    Edge(QUALITY, "unbalance_derates", 0.01, unbalanced),
    Edge(QUALITY, "unbalance_above_limit", 0.02, unbalanced),
    Edge(QUALITY, "unbalance_above_five_percent", 0.05, lambda u: unbalanced(u, unbalance_limit_fraction=0.05)),
    # common practice: a line below half of the mean is lost; a line current below a tenth of the mean is single-phasing
    Edge(QUALITY, "lost_phase", 0.5, lambda s: volts(480, 480, s * 960 / (3 - s)), below=True),
    Edge(QUALITY, "single_phasing", 0.1, lambda s: amperes(100, 100, s * 200 / (3 - s)), below=True),
    Edge(QUALITY, "current_unbalance", 0.10, lambda u: amperes(100 * (1 + u), 100 * (1 - u / 2), 100 * (1 - u / 2))),
    # NEMA MG 1 12.44 (seen condensed): 10 % of the plate, 460 V on a system of 480 V; 5 % of frequency; 10 % together
    Edge(QUALITY, "voltage_low", 0.9 * 460 / 480, of_480, below=True),
    Edge(QUALITY, "voltage_high", 1.1 * 460 / 480, of_480),
    Edge(QUALITY, "frequency_out", 0.05, lambda f: of_480(460 / 480, measured_frequency=q(60 * (1 + f), "Hz"))),
    Edge(QUALITY, "frequency_out", 0.05, lambda f: of_480(460 / 480, measured_frequency=q(60 * (1 - f), "Hz"))),
    Edge(
        QUALITY,
        "voltage_and_frequency_out",
        0.10,
        lambda both: of_480((1.04 + both - 0.08) * 460 / 480 - 0.0, measured_frequency=q(60 * 1.04, "Hz")),
    ),
    # IEC 60204-1 4.3.2 (from memory): 0.99 to 1.01 of the frequency; IEC 60038 (seen): 10 % of the nominal voltage
    Edge(
        QUALITY,
        "frequency_out",
        0.01,
        lambda f: example(QUALITY, 1, measured_frequency=q(50 * (1 + f), "Hz"), rotation="correct"),
    ),
    Edge(
        QUALITY,
        "outside_nominal_tolerance",
        0.10,
        lambda off: volts(
            480 * (1 - off),
            480 * (1 - off),
            480 * (1 - off),
            practice="iec",
            frequency=q(50, "Hz"),
            measured_frequency=q(50, "Hz"),
        ),
    ),
    # common practice: readings to ground that differ by more than a tenth of their mean
    Edge(QUALITY, "line_to_ground_uneven", 0.10, to_ground),
)


def generator(**changes: Any) -> dict[str, Any]:
    return example(SET, **changes)


def loaded(share: float, **changes: Any) -> dict[str, Any]:
    """One load that takes a share of a set of 240 kW at power factor 0.8, started gently."""
    load = {
        "load_id": "all",
        "running_current": q(share * 240e3 / (math.sqrt(3) * 480 * 0.8), "A"),
        "power_factor": 0.8,
        "starting_method": "soft_start",
        "starting_current_factor": 0.5,
        "locked_rotor_current": q(2.2 * share * 240e3 / (math.sqrt(3) * 480 * 0.8), "A"),
        "start_order": 1,
    }
    return generator(loads=[load], load_factor=None, **changes)


def dipping(dip: float) -> dict[str, Any]:
    """Derived, V = 1 / |1 + X s (sin + j cos)|, solved for the current that dips so far with X'd 0.2 on 300 kVA."""
    cos, x = 0.35, 0.2
    sin = math.sqrt(1 - cos * cos)
    wanted = 1 / (1 - dip)
    s = (-sin + math.sqrt(sin * sin - 1 + wanted * wanted)) / x
    amps = s * 300e3 / (math.sqrt(3) * 480)
    load = {"load_id": "m", "running_current": q(amps / 5, "A"), "locked_rotor_current": q(amps, "A"), "start_order": 1}
    return generator(loads=[load], generator__transient_reactance=0.2, generator__rated_active_power=q(240, "kW"))


def rectified(share: float) -> dict[str, Any]:
    """A drive of this share of the set's current with a reactor. Spectrum .35 .12 .07 .05 of drives: common practice."""
    amps = share * 300e3 / (math.sqrt(3) * 480)
    load = {
        "load_id": "drive",
        "running_current": q(amps, "A"),
        "nonlinear": True,
        "input_filter": "reactor",
        "starting_method": "variable_frequency",
        "locked_rotor_current": q(3 * amps, "A"),
        "start_order": 1,
    }
    return generator(loads=[load], generator__subtransient_reactance=0.12)


DISTORTED = 0.12 * math.sqrt((5 * 0.35) ** 2 + (7 * 0.12) ** 2 + (11 * 0.07) ** 2 + (13 * 0.05) ** 2)

SETS = (
    # common practice: a set is planned to 0.80 of its derated power; ISO 8528-1 (2018, seen as explained): 0.70 on average
    Edge(SET, "load_above_maximum", 0.80, loaded),
    Edge(SET, "over_active_power", 1.0, loaded),
    Edge(SET, "over_apparent_power", 1.0, loaded),
    Edge(SET, "average_above_prime", 0.70, loaded),
    # NFPA 110 8.4.2 (seen as quoted): 30 % of the plate; common practice: 10 % above it a check; 4 h
    Edge(SET, "light_load", 0.30, loaded, below=True),
    Edge(SET, "load_near_minimum", 0.40, loaded, below=True),
    Edge(SET, "light_load", 4.0, lambda h: loaded(0.25, run_duration=q(h, "h")), severity="stop"),
    # common practice: 20 % is asked, 30 % never passed
    Edge(SET, "dip", 0.20, dipping),
    Edge(SET, "dip", 0.30, dipping, severity="stop"),
    # common practice: 0.10 on a set; IEEE 519 (2014, seen as reported): 0.08 at a utility
    Edge(SET, "distortion", 0.10, lambda thd: rectified(thd / DISTORTED)),
    Edge(SET, "distortion_above_ieee_519", 0.08, lambda thd: rectified(thd / DISTORTED)),
    # 40 CFR 112.1(d)(2) (seen): 1320 gal
    Edge(SET, "spill_plan", 1320, lambda gallons: generator(tank_volume=q(gallons, "gal"))),
)


def stepped(**changes: Any) -> dict[str, Any]:
    return example(TRANSFORMER, **changes)


def inrush(multiple: float) -> dict[str, Any]:
    """A rating of 112.5 kVA at 480 V draws 135.3 A; the device is 200 A and trips at ten times that."""
    rated = 112.5e3 / (math.sqrt(3) * 480)
    return stepped(inrush_multiple=multiple * 10 * 200 / rated, magnetic_pickup_multiple=10)


TRANSFORMERS = (
    # IEEE C57.12.01 (from memory): usual service to 40 degC and 1000 m
    Edge(TRANSFORMER, "unusual_conditions", 40, lambda t: stepped(ambient_temperature=q(t, "degC")), step=0.4),
    Edge(TRANSFORMER, "unusual_conditions", 1000, lambda h: stepped(altitude=q(h, "m"))),
    # common practice
    Edge(TRANSFORMER, "nonlinear_without_k_rating", 0.3, lambda f: stepped(nonlinear_fraction=f)),
    Edge(TRANSFORMER, "inrush_trips", 1.0, inrush),
    Edge(TRANSFORMER, "tap", 0.0125, lambda off: stepped(measured_primary_voltage=q(480 * (1 + off), "V"))),
    Edge(
        TRANSFORMER, "overloaded", 112.5, lambda s: stepped(load_apparent_power=q(s, "kVA"), rated_apparent_power=q(112.5, "kVA"))
    ),
)  # fmt: skip


def plate(**changes: Any) -> dict[str, Any]:
    return example(SERVICE, 1, **changes)


def plate_of(calculator: str) -> Callable[[float], dict[str, Any]]:
    """A plate as a share of the system's voltage."""
    if calculator == SERVICE:
        return lambda r: plate(machines__0__nameplate_voltage=q(208 * r, "V"))
    return lambda r: example(QUALITY, nameplate_voltage=q(480 * r, "V"))


# common practice: outside 0.85 to 1.15 the machine is of another voltage
FAR = tuple(
    Edge(calculator, code, limit, plate_of(calculator), below=limit < 1, says="transformer")
    for calculator, code in ((SERVICE, "nameplate_voltage_mismatch"), (QUALITY, "nameplate_mismatch"))
    for limit in (0.85, 1.15)
)


def pair(**changes: Any) -> dict[str, Any]:
    return example(SERVICE, **changes)


def plated(share: float) -> dict[str, Any]:
    """A plate beside the motors: 2 x 58 + 4 x 3.4 + 14 A and a quarter of the largest are 158.1 A."""
    return pair(
        machines__0__minimum_circuit_ampacity=q(158.1 * share, "A"), machines__0__maximum_overcurrent_device=q(200, "A")
    )


def two_touching(amps: float) -> dict[str, Any]:
    return example(FEEDER, 1, sets=2, minimum_ampacity=q(amps, "A"))


SERVICES = (
    # NEMA MG 1 12.44 (seen condensed): a tenth of the plate; 15 %: no machine for this voltage
    Edge(SERVICE, "nameplate_voltage_mismatch", 1.10, lambda r: plate(machines__0__nameplate_voltage=q(208 * r, "V"))),
    Edge(SERVICE, "nameplate_voltage_mismatch", 1.10, lambda r: plate(machines__0__nameplate_voltage=q(208 / r, "V"))),
    # UL 489 (from memory): a breaker that is not marked 100 % is loaded to 80 %. The pair runs on 143.6 A each
    Edge(SERVICE, "breaker_near_running_current", 0.8, lambda s: pair(available__breaker_rating=q(287.2 / s, "A"))),
    # NEC 230.95 (2017, seen as quoted) and 240.87 (from memory): 1000 A and 1200 A on 480Y/277
    Edge(SERVICE, "ground_fault_protection", 1000, lambda a: pair(available__breaker_rating=q(a, "A")), step=1),
    Edge(SERVICE, "arc_energy_reduction", 1200, lambda a: pair(available__breaker_rating=q(a, "A")), step=1),
    # common practice: a plate from which the sum is a tenth off of its motors, 158.1 A
    Edge(SERVICE, "plate_differs_from_calculated", 1 / 0.9, plated),
    Edge(SERVICE, "plate_differs_from_calculated", 1 / 1.1, plated, below=True),
    # derived: MCA 301.7 A of a supply with 120 A in use
    Edge(SERVICE, "supply_short", 421.7, lambda a: pair(available__supply_current=q(a, "A")), below=True, step=0.5),
)

FEEDERS = (
    # common practice: 300 m; NEC 215.2 (informational) 3 %, IEC 60364-5-52 (2009, seen as reproduced) 5 %, 15 % at a start
    Edge(FEEDER, "long_run", 300, lambda m: example(FEEDER, length=q(m, "m"))),
    # DIN VDE 0298-4 Table 11 (seen as reproduced): 70 mm2 carries 245 A alone and 207 A as multi-core, at 40 degC 0.8165
    Edge(FEEDER, "touching_single_cores", 2 * 207 * math.sqrt(20 / 30), two_touching),
    Edge(FEEDER, "ampacity_short", 2 * 245 * math.sqrt(20 / 30), two_touching),
)
COSTS = (
    # NFPA 110 8.4.2 (seen as quoted)
    Edge(COST, "light_load", 0.30, lambda f: example(COST, 1, bins=None, load_factor=1, active_power=q(160 * f, "kW")), below=True),
)  # fmt: skip


@edges((*SUPPLY, *SETS, *TRANSFORMERS, *SERVICES, *FEEDERS, *COSTS, *FAR))
def test_a_finding_begins_at_its_limit(answer_of: Any, edge: Edge) -> None:
    hold_to(edge, answer_of)


def test_a_fault_current_near_the_rating(answer_of: Any) -> None:
    """Common practice: within a tenth of the rating somebody looks; above it nothing is energised (NEC 110.10)."""
    amps = answer_of(FAULT, example(FAULT))["results"]["fault_current_with_motors"]["value"]

    def rated(share: float) -> dict[str, Any]:
        return example(FAULT, machine_short_circuit_rating=q(amps / share, "A"))

    hold_to(Edge(FAULT, "near_machine_rating", 0.9, rated), answer_of)
    hold_to(Edge(FAULT, "above_machine_rating", 1.0, rated), answer_of)


def test_bins_that_differ_from_the_load_factor(answer_of: Any) -> None:
    """Common practice: a tenth apart. The energy of the bins is the sum of their powers and hours."""
    bins = [{"load_fraction": 0.5, "hours": q(100, "h")}, {"load_fraction": 0.25, "hours": q(100, "h")}]
    even = 160 * 0.75 * 100 / (100 * 200)
    for share, apart in ((1.101, True), (1.099, False), (0.901, False), (0.899, True)):
        asked = example(COST, 1, bins=bins, active_power=q(100, "kW"), load_factor=even / share, duration=q(200, "h"))
        codes = {f["code"] for f in answer_of(COST, asked)["findings"]}
        assert ("bins_differ_from_load_factor" in codes) == apart


def test_a_voltage_that_no_machine_takes(answer_of: Any) -> None:
    """NEMA MG 1 12.44 (seen condensed): a tenth of the plate of 200 V on 208 V, by the voltage that the answer gives."""
    begun = set()
    for load in range(40, 190, 10):
        asked = stepped(
            load_apparent_power=q(load, "kVA"),
            rated_apparent_power=q(112.5, "kVA"),
            impedance_fraction=0.1,
            growth_fraction=0,
            power_factor=0.4,
        )
        answer = answer_of(TRANSFORMER, asked)
        low = answer["results"]["secondary_voltage_at_load"]["value"] < 0.9 * 200
        said = [f["statement"] for f in answer["findings"] if f["code"] == "voltage_at_load"]
        assert bool(said) == low
        assert all("a machine of 200 V takes 180 V to 220 V" in statement for statement in said)
        begun.add(low)
    assert begun == {True, False}


def test_half_a_set_that_starts_the_greatest_unit_alone(answer_of: Any) -> None:
    """Derived, V = 1 / |1 + X s (sin + j cos)|: 600 A on the half of 300 kVA with X'd 0.2, by day and at night."""
    load = {"load_id": "m", "running_current": q(60, "A"), "locked_rotor_current": q(600, "A"), "start_order": 1}
    asked = generator(loads=[load], generator__transient_reactance=0.2, generator__rated_active_power=q(240, "kW"))
    s = math.sqrt(3) * 480 * 600 / 150e3
    dip = 1 - 1 / abs(1 + 0.2 * s * complex(math.sqrt(1 - 0.35**2), 0.35))
    ways = answer_of(SET, asked)["results"]["light_load_remedies"]
    (halves,) = (way["statement"] for way in ways if way["kind"] == "two_sets")
    assert f"dips {dip:.3f}" in halves


def test_ratings_that_belong_together(answer_of: Any) -> None:
    """A set is rated at a power factor of 0.6 to 1: what the refusal allows is taken, and a little more is not."""
    for kva in (400, 240):
        answer_of(
            SET, generator(generator__rated_active_power=q(240, "kW"), generator__rated_apparent_power=q(kva, "kVA"))
        )
    for kva in (401, 239):
        with pytest.raises(Refused) as refused:
            answer_of(
                SET,
                generator(generator__rated_active_power=q(240, "kW"), generator__rated_apparent_power=q(kva, "kVA")),
            )
        (error,) = refused.value.errors
        assert error.allowed
        assert (error.allowed.minimum, error.allowed.maximum) == pytest.approx((240, 400))


def test_figures_that_follow_from_others(answer_of: Any) -> None:
    """By hand, each from what was given or from its definition: root three, means, sums over time, 125 % of NEC 450.3(B)."""
    month = answer_of(COST, example(COST))["results"]
    assert month["average_power"] == q(pytest.approx(110 * 0.65), "kW")
    fault = answer_of(FAULT, example(FAULT))["results"]
    assert fault["per_unit"]["base_current"]["value"] == pytest.approx(750e3 / (math.sqrt(3) * 480))
    assert fault["rating_margin_fraction"] == pytest.approx(1 - fault["fault_current_with_motors"]["value"] / 18e3)
    running = answer_of(SET, example(SET))["results"]
    shares = running["running_active_power"]["value"] / running["running_apparent_power"]["value"]
    assert running["running_power_factor"] == pytest.approx(shares)
    assert running["fuel_total"] == q(pytest.approx(running["fuel_rate"]["value"] * 14 * 24), "L")
    read = answer_of(QUALITY, example(QUALITY))["results"]
    assert read["average_current"] == q(pytest.approx((118 + 126 + 113) / 3), "A")
    assert read["unbalance_margin_fraction"] == pytest.approx(0.02 - read["voltage_unbalance_fraction"])
    made = answer_of(TRANSFORMER, example(TRANSFORMER, inrush_multiple=9))["results"]
    assert made["inrush_current"]["value"] == pytest.approx(
        9 * made["rated_apparent_power"]["value"] * 1e3 / math.sqrt(3) / 480
    )
    assert made["secondary_device_maximum_calculated"]["value"] == pytest.approx(
        1.25 * made["secondary_current"]["value"]
    )
