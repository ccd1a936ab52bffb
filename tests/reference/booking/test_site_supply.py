"""What a site states of its supply, as the plan hands it on: fault current, breaker, and what lies before a transformer.

IEC 60909-0, eq. 6: Z = c U / (sqrt3 I) of a network whose fault current is stated, so that I holds the voltage factor.
IEC 60364-4-43, 433.1: load <= device <= ampacity. NEC 240.4(F), 240.21(C): the device before a transformer protects no
conductor behind it. All clauses from memory. The orders are invented.
"""

import math
from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from plans_anew import Json, Plan, close, si
from quantity import q

pytestmark = pytest.mark.check
SIZES = (25, 50, 70, 95, 120, 150, 240)
RESISTANCE = {25: 0.780, 50: 0.386, 70: 0.272, 95: 0.206, 120: 0.161, 150: 0.129, 240: 0.0801}
"""ohm/km at 20 degC, IEC 60228, class 5, from memory; 0.08 ohm/km beside it, common practice."""
C = 1.05


def site(amps: float | None, kiloamps: float = 12, **more: Any) -> Json:
    """One machine of 50 Hz on the supply of a site in Europe, its plate without a greatest device."""
    row = machine("one", 150, 3, voltage=400, frequency=50)
    row["electrical"].pop("minimum_circuit_ampacity")
    row["electrical"].pop("maximum_overcurrent_device")
    cables = [
        {"kind": "cable", "item": f"{n} mm2", "conductor_size": f"{n} mm2", "section_length": q(20, "m"), "count": 400}
        for n in SIZES
    ]
    supply: Json = {
        "source": "site",
        "voltage": q(400, "V"),
        "frequency": q(50, "Hz"),
        "fault_current": q(kiloamps, "kA"),
    }
    document = order(
        practice="iec",
        supply=supply if amps is None else supply | {"breaker_rating": q(amps, "A")},
        duty__load=q(110, "kW"),
        load_side__rated_flow=q(5, "L/s"),
        fleet=fleet(row, accessories=[*(x for x in stock() if x["kind"] != "cable"), *cables]),
    )
    return changed(document, **more)


def planned(answer_of: Any, document: Json) -> Plan:
    return Plan(document, answer_of("booking.assessment", document))


def cable_ohm(told: Json, metres: float) -> complex:
    """Of one conductor, cold."""
    size = int(told["conductor_size"].removesuffix(" mm2"))
    return complex(RESISTANCE[size], 0.08) * metres / 1000 / told["sets"]


@pytest.mark.parametrize("kiloamps", [4, 12, 40])
def test_a_stated_fault_current_is_that_of_the_busbar(answer_of: Any, kiloamps: float) -> None:
    """By hand with eq. 6; pandapower 3 says the same of the busbar, and of the machine within 0.3 %."""
    (told,) = planned(answer_of, site(None, kiloamps)).results["cable"]["machines"]
    network = C * 400 / (math.sqrt(3) * kiloamps * 1000) * complex(1, 4) / abs(complex(1, 4))
    whole = network + cable_ohm(told["feeder"], 30)
    assert si(told["fault"]["source_fault_current"]) == close(kiloamps * 1000)
    assert si(told["fault"]["fault_current_at_machine"]) == close(C * 400 / math.sqrt(3) / abs(whole), 1e-3)


@pytest.mark.parametrize(("kiloamps", "known"), [(18, True), (5, True), (None, False)])
def test_a_site_before_a_transformer_counts(answer_of: Any, kiloamps: float | None, *, known: bool) -> None:
    """By hand: impedances of site (X/R 4) and transformer in a row, seen from its secondary."""
    supply: Json = {"source": "site", "voltage": q(480, "V"), "frequency": q(50, "Hz")}
    document = site(None, supply=supply | ({"fault_current": q(kiloamps, "kA")} if kiloamps else {}))
    plan = planned(answer_of, document)
    (told,) = plan.results["cable"]["machines"]
    kva = si(plan.results["supply"]["transformer"]["rated_apparent_power"]) / 1000
    angle = 3 if kva <= 300 else 5
    way = 0.9 * 0.045 * 400**2 / (kva * 1000) * complex(1, angle) / abs(complex(1, angle))
    if kiloamps:
        way += C * 400**2 / (math.sqrt(3) * 480 * kiloamps * 1000) * complex(1, 4) / abs(complex(1, 4))
    assert si(told["fault"]["source_fault_current"]) == close(C * 400 / math.sqrt(3) / abs(way), 1e-4)
    assumed = plan.statements("source_assumed")
    assert any("no impedance before the transformer" in s for s in assumed) is not known


@pytest.mark.parametrize("amps", [100, 125, 160, 200])
def test_a_cable_on_the_breaker_of_the_site_bears_that_breaker(answer_of: Any, amps: float) -> None:
    """A machine that draws some 90 A: without a panel nothing else opens."""
    plan = planned(answer_of, site(amps))
    (told,), (asked,), (fault,) = plan.results["cable"]["machines"], plan.asked["feeders"], plan.asked["faults"]
    assert [x for x in plan.results["pick_list"] if x["kind"] == "panel"] == []
    running = si(plan.results["supply"]["service"]["machines"][0]["running_current"])
    assert running < si(asked["overcurrent_device"]) == amps <= si(told["feeder"]["ampacity_total"])
    assert si(fault["device"]["rating"]) == amps


@pytest.mark.parametrize(("amps", "panels"), [(200, 0), (201, 1), (630, 1), (4000, 1)])
def test_a_breaker_that_is_many_times_too_large_asks_for_a_device_between(
    answer_of: Any, amps: float, panels: int
) -> None:
    """Twice the smallest that is workable, 100 A after IEC 60898 and 60947 for some 90 A, where no plate says more (common
    practice): beyond it nobody lays cable for the breaker.
    """
    plan = planned(answer_of, site(amps))
    (asked,) = plan.asked["feeders"]
    assert len([x for x in plan.results["pick_list"] if x["kind"] == "panel"]) == panels
    assert si(asked["overcurrent_device"]) == (100 if panels else amps)


@pytest.mark.parametrize("volts", [480, 600])
def test_one_machine_behind_a_transformer_has_a_device_of_its_own(answer_of: Any, volts: float) -> None:
    document = order(fleet=fleet(machine("one", 330, 2)), supply__voltage=q(volts, "V"))
    plan = planned(answer_of, document)
    assert plan.units == 1
    panels = [x for x in plan.results["pick_list"] if x["kind"] == "panel"]
    assert len(panels) == (volts == 600)
    assert ("panel_feed" in plan.results["cable"]) == (volts == 600)
