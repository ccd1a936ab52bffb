"""Plans of many kinds beside their orders, and what is worked out anew of them: sums over machines, hose and volumes."""

from typing import Any

import pytest
from orders import changed, fleet, machine, order, stock
from quantity import q
from whole_plans import ORDERS

from coldwright.contract.quantities import kind_of_unit

Json = dict[str, Any]
SMALL_LOOP = {
    "duty__load": q(40, "kW"),
    "duty__lowest_load_fraction": 0.05,
    "load_side__volume": q(50, "L"),
    "load_side__rated_flow": q(2, "L/s"),
}
NARROW = [
    row | ({"coupling": "Grooved"} if row["kind"] == "hose" else {})
    for row in stock()
    if row["kind"] != "buffer_vessel" and (row["kind"] != "hose" or "51" in row["item"])
]
SMALL_VESSEL = {
    "kind": "buffer_vessel",
    "item": "buffer, small",
    "volume": q(260, "L"),
    "count": 9,
    "connection": {"inner_diameter": q(102, "mm"), "coupling": "flanged"},
}
CASES: dict[str, Any] = {
    **ORDERS,
    "cold on a set": lambda: order(
        supply={"source": "generator"},
        site__lowest_ambient_temperature=q(-10, "degC"),
        duty__lowest_load_fraction=0.15,
        load_side__flush=True,
        routes__crossings=2,
        critical=True,
        fleet=fleet(machine("middle", 150, 3)),
    ),
    "small loop": lambda: order(**SMALL_LOOP, fleet=fleet(machine("small", 60, 4)), access={"lift": "roll_off"}),
    "over a transformer": lambda: order(supply__voltage=q(600, "V"), fleet=fleet(machine("middle", 150, 2))),
    "unlike machines": lambda: order(
        fleet=fleet(machine("a", 150, 1), machine("b", 90, 1)),
        load_side__fast_valve_closing_time=q(1.5, "s"),
        routes__crossings=1,
    ),
    "without steps": lambda: order(
        fleet=fleet(changed(machine("plain", 150, 3), capacity_steps=None)),
        access={"lift": "fork_truck"},
        site__elevation=q(900, "m"),
    ),
    "side by side": lambda: order(
        fleet=fleet(
            machine("middle", 150, 3), accessories=[row for row in stock() if row["kind"] != "hose" or "51" in row["item"]]
        ),
        routes__hose_length=q(30, "m"),
        load_side__rated_flow=q(14, "L/s"),
        duty__load=q(230, "kW"),
    ),
    "narrow with vessels": lambda: order(
        fleet=fleet(machine("middle", 150, 3), accessories=[*NARROW, SMALL_VESSEL]),
        routes__hose_length=q(12, "m"),
        routes__crossings=1,
        load_side__rated_flow=q(14, "L/s"),
        load_side__volume=q(15, "L"),
        duty__load=q(230, "kW"),
        duty__lowest_load_fraction=0.02,
        duty__temperature_difference=q(4.5, "delta_degC"),
    ),
}  # fmt: skip


def si(quantity: Json) -> float:
    """In base units; temperatures in K."""
    kind = kind_of_unit(quantity["unit"])
    assert kind is not None
    return float(kind(quantity["value"], quantity["unit"]).si)


def close(value: float, rel: float = 1e-6) -> Any:
    return pytest.approx(value, rel=rel, abs=1e-9)


def least_step(row: Json) -> float:
    """Share of a machine's capacity that it turns down to: its least step, or one circuit."""
    return float(min(row.get("capacity_steps", [1 / row["circuits"]])))


class Plan:
    """An order with its answer, and the machines that were chosen."""

    def __init__(self, document: Json, answer: Json) -> None:
        self.order, self.answer = document, answer
        self.results, self.asked = answer["results"], answer["results"]["asked"]
        self.findings, self.working = answer["findings"], answer.get("working", [])
        self.assumed = {a["code"]: a for a in answer["assumptions"]}
        self.codes = {f["code"] for f in self.findings}
        rows = {m["type"]: m for m in document["fleet"]["machines"]}
        self.picked = [(rows[m["type"]], m["count"], m) for m in self.results["machines"]]
        self.units = sum(n for _, n, _ in self.picked)
        self.capacity = sum(si(m["capacity_each"]) * n for _, n, m in self.picked)
        self.power = sum(si(m["power_each"]) * n for _, n, m in self.picked)
        self.gross = si(self.results["load"]["gross"])
        self.lowest = document["duty"]["lowest_load_fraction"] * self.gross
        self.step = min(si(m["capacity_each"]) * least_step(row) for row, _, m in self.picked)
        self.loop = self.results["loop"]
        self.bore, self.runs = si(self.loop["hose_inner_diameter"]), self.loop["hose_runs"]
        self.leaving = si(document["duty"]["leaving_temperature"])
        self.ambient = si(document["site"]["design_ambient_temperature"])
        self.water = self.results["fluid"]["kind"] == "water"
        self.on_set = document["supply"]["source"] == "generator"
        self.site = document["site"]
        self.indoors = document["site"].get("indoors", False)
        self.hose = si(document["routes"]["hose_length"])
        self.height = si(document["routes"].get("highest_point", q(5, "m")))
        coldest = document["site"].get("lowest_ambient_temperature")
        self.coldest = None if coldest is None or self.indoors else si(coldest)
        self.work = self.results["pipework"]
        self.buffers = self.work["buffer_joints"] // 2  # a hose of each run at each vessel
        self.vessels = self.buffers // self.runs

    def statements(self, code: str) -> list[str]:
        """Of findings of a code."""
        return [f["statement"] for f in self.findings if f["code"] == code]

    def counts(self, words: str, kind: str | None = None) -> int:
        """Of the pick list, by a part of the item and by kind."""
        lines = self.results["pick_list"]
        return sum(x["count"] for x in lines if words in x["item"] and kind in (None, x["kind"]))


def all_of_them(answer_of: Any) -> dict[str, Plan]:
    """Each with its answer."""
    made = {name: build() for name, build in CASES.items()}
    return {name: Plan(document, answer_of("booking.assessment", document)) for name, document in made.items()}
