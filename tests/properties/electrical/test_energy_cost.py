"""Energy and cost: what must hold, what is refused, and what each finding answers to."""

import pytest
from hypothesis import given
from hypothesis import strategies as st
from quantity import q

from coldwright.contract import Refused


def money(value, currency="USD"):
    return {"value": value, "currency": currency}


def utility(**changes):
    base = {
        "practice": "nec",
        "active_power": q(95, "kW"),
        "load_factor": 1,
        "duration": q(720, "h"),
        "source": "utility",
        "energy_price": money(0.134),
    }
    return base | changes


def on_a_set(**changes):
    base = {
        "practice": "nec",
        "active_power": q(95, "kW"),
        "duration": q(720, "h"),
        "source": "generator",
        "generator": {"rated_active_power": q(150, "kW")},
    }
    return ({} if "bins" in changes else {"load_factor": 1}) | base | changes


def curve(*points):
    return [{"load_fraction": x, "fuel_rate": q(y, "L/h")} for x, y in points]


def with_curve(*points):
    return on_a_set(generator={"rated_active_power": q(150, "kW"), "fuel_curve": curve(*points)})


def bins(*pairs):
    return [{"load_fraction": x, "hours": q(h, "h")} for x, h in pairs]


@pytest.mark.parametrize(
    ("code", "severity", "sent"),
    [
        ("other_source_ignored", "note", utility(fuel_price=money(1.3, "EUR"))),
        ("other_source_ignored", "note", on_a_set(energy_price=money(-1))),
        ("negative_price", "note", utility(energy_price=money(-0.02))),
        ("average_load_in_fuel_curve", "note", on_a_set()),
        ("typical_fuel", "note", on_a_set()),
        ("other_gases_left_out", "note", on_a_set()),
        ("set_too_small", "stop", on_a_set(active_power=q(160, "kW"), load_factor=0.5)),
        ("light_load", "check", on_a_set(load_factor=0.4)),
        ("hours_not_filled", "note", on_a_set(bins=bins((0.6, 300)))),
        ("bins_differ_from_load_factor", "check", on_a_set(bins=bins((0.6, 720)), load_factor=0.3)),
    ],
)
def test_each_finding_is_raised_by_its_cause(answer_of, code, severity, sent):
    findings = answer_of("electrical.energy_cost", sent)["findings"]
    assert (code, severity) in [(f["code"], f["severity"]) for f in findings]


def test_every_declared_finding_is_tried_above(registry):
    rows = next(m for m in test_each_finding_is_raised_by_its_cause.pytestmark if m.name == "parametrize").args[1]
    assert {row[0] for row in rows} == set(registry.lookup("electrical.energy_cost").findings)


@pytest.mark.parametrize(
    ("pointer", "sent"),
    [
        ("#/load_factor", utility(load_factor=1.01)),
        ("#/load_factor", {k: v for k, v in utility().items() if k != "load_factor"}),
        ("#/load_factor", {k: v for k, v in on_a_set().items() if k != "load_factor"}),
        ("#/load_factor", {k: v for k, v in utility(bins=bins((0.5, 720))).items() if k != "load_factor"}),
        ("#/duration", utility(duration=q(0, "h"))),
        ("#/energy_price", {k: v for k, v in utility().items() if k != "energy_price"}),
        ("#/generator", {k: v for k, v in on_a_set().items() if k != "generator"}),
        ("#/fuel_price/value", on_a_set(fuel_price=money(-1))),
        ("#/demand_price/currency", utility(demand_price=money(9, "EUR"))),
        ("#/energy_price", utility(energy_price=money(1e11))),
        ("#/active_power", on_a_set(load_factor=0.05)),
        ("#/active_power", on_a_set(active_power=q(151, "kW"))),
        (
            "#/generator/rated_active_power",
            on_a_set(generator={"rated_active_power": q(2500, "kW")}, active_power=q(2000, "kW")),
        ),
        (
            "#/generator/fuel_curve/1",
            with_curve((0.5, 20), (0.9, 19)),
        ),
        (
            "#/generator/fuel_curve",
            with_curve((0.2, 9), (0.5, 20)),
        ),
        ("#/bins", on_a_set(bins=bins((0.5, 721)))),
        ("#/bins/0/load_fraction", on_a_set(bins=bins((0.01, 10)))),
    ],
)
def test_what_cannot_be_right_is_refused_by_its_field(answer_of, pointer, sent):
    with pytest.raises(Refused) as refused:
        answer_of("electrical.energy_cost", sent)
    assert pointer in [e.pointer for e in refused.value.errors]


def test_what_was_not_asked_is_left_out(answer_of):
    results = answer_of("electrical.energy_cost", utility())["results"]
    assert not {"demand_cost", "fuel_volume", "carbon_dioxide_mass", "cost_per_cooling_energy", "load_fraction"} & set(
        results
    )
    results = answer_of("electrical.energy_cost", on_a_set())["results"]
    assert not {"fuel_cost", "total_cost", "energy_cost", "billing_months"} & set(results)


def test_demand_is_billed_for_every_month_touched(answer_of):
    for hours, months in ((1, 1), (730, 1), (731, 2), (2190, 3)):
        sent = utility(duration=q(hours, "h"), demand_price=money(10))
        results = answer_of("electrical.energy_cost", sent)["results"]
        assert results["billing_months"] == months
        assert results["demand_cost"]["value"] == pytest.approx(950 * months)


def test_cooling_grid_and_fuel_money(answer_of):
    results = answer_of("electrical.energy_cost", utility(cooling_energy=q(200000, "kWh"), grid_emission_factor=0.4))[
        "results"
    ]
    assert results["carbon_dioxide_mass"]["value"] == pytest.approx(95 * 720 * 0.4)
    assert results["cost_per_cooling_energy"]["value"] == pytest.approx(95 * 720 * 0.134 / 200000)
    results = answer_of("electrical.energy_cost", on_a_set(fuel_price=money(1.5)))["results"]
    assert results["total_cost"] == results["fuel_cost"]
    assert results["fuel_cost"]["value"] == pytest.approx(1.5 * results["fuel_volume"]["value"])


def test_bins_of_one_load_are_the_average_load(answer_of):
    whole = answer_of("electrical.energy_cost", on_a_set(active_power=q(75, "kW")))["results"]
    split = answer_of("electrical.energy_cost", on_a_set(bins=bins((0.5, 400), (0.5, 320))))["results"]
    assert split["fuel_volume"] == whole["fuel_volume"]
    assert split["energy"] == whole["energy"]


def test_a_curve_below_its_first_point_is_carried_on(answer_of):
    machine = {"rated_active_power": q(100, "kW"), "fuel_curve": curve((0.5, 15), (1.0, 27))}
    results = answer_of("electrical.energy_cost", on_a_set(generator=machine, active_power=q(25, "kW")))["results"]
    assert results["fuel_rate"]["value"] == pytest.approx(9)


@given(
    power=st.floats(5, 140),
    hours=st.floats(0.01, 80000),
    longer=st.floats(1, 1.09),
    more=st.floats(1, 1.07),
)
def test_more_load_or_more_time_never_costs_less(answer_of, power, hours, longer, more):
    def fuel(p, t):
        sent = on_a_set(active_power=q(max(p, 8), "kW"), duration=q(t, "h"))
        return answer_of("electrical.energy_cost", sent)["results"]["fuel_volume"]["value"]

    base = fuel(power, hours)
    assert fuel(power * more, hours) >= base * (1 - 1e-9)
    assert fuel(power, hours * longer) >= base * (1 - 1e-9)


def test_units_of_the_question_change_no_number(answer_of):
    one = on_a_set()
    two = on_a_set(active_power=q(95000, "W"), duration=q(30, "d"))
    metric, other = (answer_of("electrical.energy_cost", s)["results"] for s in (one, two))
    assert metric == other


def test_us_units_are_the_same_answer(answer_of):
    metric, us = (answer_of("electrical.energy_cost", on_a_set(), units=u) for u in ("metric", "us"))
    assert metric["digest"] == us["digest"]
    assert us["results"]["fuel_volume"]["unit"] == "gal"
    assert us["results"]["fuel_volume"]["value"] * 3.785411784 == pytest.approx(
        metric["results"]["fuel_volume"]["value"]
    )
