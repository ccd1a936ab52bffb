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
USD, EUR = {"currency": "USD"}, {"currency": "EUR"}
RATES = {
    "crew_hour": USD | {"value": "57.85"},
    "transport_load": USD | {"value": "212.50"},
    "transport_distance": USD | {"value": "2.87", "per": "mi"},
    "fuel": USD | {"value": "4.019", "per": "gal"},
    "energy": USD | {"value": "0.1343"},
    "demand": USD | {"value": "11.75"},
}
EURO_RATES = {
    "crew_hour": EUR | {"value": "48.40"},
    "transport_distance": EUR | {"value": "1.93", "per": "km"},
    "energy": EUR | {"value": "0.2217"},
    "demand": EUR | {"value": "9.05"},
}
CORDS = [
    {
        "kind": "cable",
        "item": f"cord {size}",
        "conductor_size": f"{size} mm2",
        "section_length": q(25, "m"),
        "construction": "multi_conductor_portable",
        "count": 60,
    }
    for size in (16, 25, 50, 95)
]
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
    "far and high": lambda: order(
        supply={"source": "generator"},
        fleet=fleet(machine("large", 330, 4), accessories=[x for x in stock() if x["item"] not in ("hose 152", "hose 203")]),
        duty__load=q(760, "kW"),
        duty__temperature_difference=q(5, "delta_degC"),
        duty__margin_fraction=0.05,
        duty__average_load_fraction=0.7,
        site__lowest_ambient_temperature=q(-12, "degC"),
        site__tap_pressure=q(350, "kPa"),
        site__fill_flow=q(1.5, "L/s"),
        site__distance_from_yard=q(87.3, "km"),
        fluid={"kind": "ethylene_glycol"},
        routes={
            "hose_length": q(155, "m"),
            "highest_point": q(14, "m"),
            "cable_length": q(61, "m"),
            "crossings": 1,
            "hose_fittings": 14,
        },
        load_side={
            "rated_flow": q(36, "L/s"),
            "rated_pressure_drop": q(40, "kPa"),
            "volume": q(4200, "L"),
            "pump": "machine",
            "flush": True,
        },
        rates=RATES,
    ),
    "in Europe on cords": lambda: order(
        practice="iec",
        fleet=fleet(
            *(
                changed(
                    machine(name, size, n, voltage=400, frequency=50),
                    hire_rate=EUR | {"value": 1.15 * size + 0.65, "per": "day"},
                )
                for name, size, n in (("c 90", 90, 4), ("c 40", 40, 3))
            ),
            accessories=[*(x for x in stock() if x["kind"] != "cable"), *CORDS],
        ) | {"rates": EURO_RATES},
        supply={
            "source": "site",
            "voltage": q(400, "V"),
            "frequency": q(50, "Hz"),
            "available_current": q(900, "A"),
            "fault_current": q(14, "kA"),
            "residual_current": q(0.03, "A"),
        },
        access={"lift": "fork_truck", "unloading": ["fork_truck"]},
        redundancy="spare_circuit",
        critical=True,
        duty__load=q(150, "kW"),
        duty__leaving_temperature=q(9, "degC"),
        duty__average_load_fraction=0.6,
        site__design_ambient_temperature=q(31, "degC"),
        site__dew_point_temperature=q(19, "degC"),
        site__distance_from_yard=q(214, "km"),
        period={"from": "2027-03-15", "to": "2027-06-22"},
        routes__crossings=3,
    ),
    "the site's pump": lambda: order(
        fleet=fleet(machine("dry 150", 150, 2, own_pump=False), machine("dry 90", 90, 1, own_pump=False)),
        load_side__pump="site",
        load_side__rated_flow=q(14, "L/s"),
        duty__load=q(310, "kW"),
        redundancy="none",
        critical=True,
        supply__breaker_rating=q(600, "A"),
        site__sound_limits=[{"id": "ward", "distance": q(45, "m"), "limit_night": q(66, "dBA")}],
        access={"lift": "crane", "radius": q(20, "m"), "unloading": ["crane"]},
    ),
    "in units of the US": lambda: order(
        fleet=fleet(machine("ten", 60, 5), machine("forty", 150, 2)),
        duty={
            "load": q(38, "ton"),
            "leaving_temperature": q(44, "degF"),
            "liquid_flow": q(88, "gpm"),
            "lowest_load_fraction": 0.3,
            "warmest_supply_temperature": q(52, "degF"),
        },
        site__elevation=q(5200, "ft"),
        site__design_ambient_temperature=q(98, "degF"),
        site__lowest_ambient_temperature=q(41, "degF"),
        site__distance_from_yard=q(101.4, "km"),
        routes={
            "hose_length": q(210, "ft"),
            "highest_point": q(33, "ft"),
            "cable_length": q(120, "ft"),
            "crossings": 1,
            "hose_fittings": 7.5,
        },
        load_side={
            "rated_flow": q(110, "gpm"),
            "rated_pressure_drop": q(18, "ft_water"),
            "volume": q(310, "gal"),
            "pump": "machine",
        },
        preferences="lowest_cost",
        rates=RATES,
    ),
    "least ground": lambda: order(
        fleet=fleet(machine("a 330", 330, 2), machine("b 150", 150, 4), machine("c 60", 60, 6)),
        preferences="smallest_footprint",
        duty__load=q(420, "kW"),
        load_side__rated_flow=q(19, "L/s"),
        supply__restart_time=q(8, "min"),
        critical=True,
        redundancy="spare_machine",
        period={"from": "2027-06-01", "to": "2027-06-03"},
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
