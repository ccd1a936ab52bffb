"""Vessels out of the stock, and the one volume of the loop that every step works with. Invented data."""

from itertools import product
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from orders import fleet, machine, order, stock
from quantity import q

from coldwright.contract.quantities import Volume
from coldwright_booking.fleet.given import BufferVessel
from coldwright_booking.plan.vessels import choose_vessels

SMALL_LOOP = {
    "duty__load": q(40, "kW"),
    "duty__lowest_load_fraction": 0.05,
    "load_side__volume": q(50, "L"),
    "load_side__rated_flow": q(2, "L/s"),
    "site__lowest_ambient_temperature": q(-8, "degC"),
}


def row(litres: float, count: int) -> BufferVessel:
    """A row of the stock."""
    return BufferVessel(item=f"vessel {litres:g}", volume=Volume(litres, "L"), count=count)


def held(*buffers: tuple[float, int]) -> dict[str, Any]:
    """A fleet with these buffer vessels, litres and count, and no other."""
    rows = [r for r in stock() if r["kind"] != "buffer_vessel"]
    rows += [{"kind": "buffer_vessel", "item": f"vessel {v:g}", "volume": q(v, "L"), "count": n} for v, n in buffers]
    return fleet(machine("only", 60, 1), accessories=rows)


@given(
    needed=st.floats(0.5, 4000),
    rows=st.lists(
        st.tuples(st.sampled_from([35.0, 140.0, 300.0, 500.0, 1000.0]), st.integers(0, 3)),
        min_size=1,
        max_size=3,
        unique_by=lambda r: r[0],
    ),
)
def test_the_choice_is_the_least_of_all_choices(needed: float, rows: list[tuple[float, int]]) -> None:
    chosen = choose_vessels([row(*r) for r in rows], Volume(needed, "L"), "buffer vessel")
    litres = sum(c.volume.to("L") for c in chosen)
    every = [
        sum(n * r[0] for n, r in zip(counts, rows, strict=True)) for counts in product(*(range(r[1] + 1) for r in rows))
    ]
    enough = [total for total in every if total >= needed * (1 - 1e-9)]
    assert litres >= needed * (1 - 1e-9)
    if enough:
        # sums within one part of 2000 stand for each other
        assert min(enough) * (1 - 1e-9) <= litres <= min(enough) + needed / 2000
        assert all(c.count <= dict(rows)[c.each.to("L")] for c in chosen)
    else:
        assert len(chosen) == 1
        assert chosen[0].each.to("L") == max(r[0] for r in rows)


NEAR = [(1000.0, 3), (985.0, 3), (971.0, 2), (520.0, 3), (507.0, 3)]


@pytest.mark.parametrize("needed", [190.0, 1490.0, 2500.0, 3180.0, 3777.0, 4100.0, 5200.0])
def test_of_vessels_that_are_nearly_alike_the_least_sum_is_found(needed: float) -> None:
    """Enumeration: within a part of 2000 of what is needed; and of that sum as few vessels as can be."""
    chosen = choose_vessels([row(*r) for r in NEAR], Volume(needed, "L"), "buffer vessel")
    litres = sum(c.volume.to("L") for c in chosen)
    every = [
        (sum(n * r[0] for n, r in zip(counts, NEAR, strict=True)), sum(counts))
        for counts in product(*(range(r[1] + 1) for r in NEAR))
    ]
    enough = [one for one in every if one[0] >= needed]
    assert needed <= litres <= min(enough)[0] + needed / 2000
    assert sum(c.count for c in chosen) == min(n for total, n in enough if total == pytest.approx(litres))


def test_a_small_one_beside_a_large_one_rather_than_two_large() -> None:
    chosen = choose_vessels([row(1000, 4), row(300, 3)], Volume(1292, "L"), "buffer vessel")
    assert [(c.item, c.count) for c in chosen] == [("vessel 1000", 1), ("vessel 300", 1)]


def test_nothing_in_stock_is_one_vessel_of_the_next_litre() -> None:
    (only,) = choose_vessels([], Volume(1292.3, "L"), "buffer vessel")
    assert (only.item, only.count, only.volume) == ("buffer vessel of 1293 L (342 gal)", 1, Volume(1293.0, "L"))


@pytest.mark.parametrize("buffers", [((1000, 4), (300, 3)), ((50, 1),), ()], ids=["plenty", "too few", "none"])
def test_every_step_works_with_one_volume(answer_of: Any, buffers: tuple[tuple[float, int], ...]) -> None:
    answer = answer_of("booking.assessment", order(**SMALL_LOOP, fleet=held(*buffers)))
    results = answer["results"]
    fill, asked = results["fill"], results["asked"]
    lines = [line for line in results["pick_list"] if line["kind"] == "buffer_vessel"]
    assert lines
    named = {element["name"]: element["volume"]["value"] for element in fill["elements"]}
    sizes = {f"vessel {v:g}": v for v, _ in buffers}
    for line in lines:
        litres = sizes[line["item"]] * line["count"] if buffers else float(line["item"].partition(" of ")[2].split()[0])
        assert named[line["item"]] == pytest.approx(litres, rel=1e-9)
    assert fill["buffer_volume"]["value"] == 0
    assert fill["total_volume"]["value"] >= fill["minimum_loop_volume"]["value"]
    assert asked["antifreeze"]["loop_volume"] == fill["total_volume"]
    assert asked["procedure"]["loop_volume"] == fill["total_volume"]
    assert asked["procedure"]["pull_down"]["loop_volume"] == fill["total_volume"]
    codes = {f["code"] for f in answer["findings"]}
    assert "buffer_added" in codes
    assert ("stock_short" in codes) == (buffers == ((50, 1),))


def test_the_expansion_vessel_takes_the_growth_of_the_buffer_too(answer_of: Any) -> None:
    fill = answer_of("booking.assessment", order(**SMALL_LOOP, fleet=held((1000, 4))))["results"]["fill"]
    growth = fill["expansion_fraction"] * fill["total_volume"]["value"]
    assert fill["expansion_volume"]["value"] == pytest.approx(growth, rel=1e-9)
    assert fill["vessel_volume"]["value"] == pytest.approx(growth / fill["acceptance_factor"], rel=1e-9)
