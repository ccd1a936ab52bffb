"""Invented fleets and orders as plain JSON, for properties of plans. Nothing here is a real machine."""

import copy
import math
from typing import Any

from hypothesis import strategies as st
from quantity import q

Json = dict[str, Any]
LEAVING = [-8, -4, 0, 4, 7, 10, 13]
AMBIENT = [-5, 10, 20, 30, 40, 52]


def machine(
    name: str,
    kilowatts: float,
    count: int = 2,
    *,
    voltage: float = 460,
    frequency: float = 60,
    own_pump: bool = True,
    table: bool = True,
    circuits: int = 2,
    efficiency: float = 3.0,
) -> Json:
    """A type of machine whose figures all follow from its size, so that they belong together."""
    power = kilowatts / efficiency
    flow = kilowatts / 23
    running = power / (math.sqrt(3) * 0.46 * 0.85) * 460 / voltage
    compressor = round(0.85 * running / (2 * circuits), 2)
    fan, pump = round(0.15 * running / 4, 2), round(0.05 * running, 2)
    total = 2 * circuits * compressor + 4 * fan + pump
    row: Json = {
        "type": name,
        "count": count,
        "rating": {
            "capacity": q(kilowatts, "kW"),
            "power": q(power, "kW"),
            "leaving_temperature": q(7, "degC"),
            "entering_temperature": q(12.5, "degC"),
            "ambient_temperature": q(35, "degC"),
            "liquid_flow": q(flow, "L/s"),
        },
        "envelope": {
            "ambient_minimum": q(-20, "degC"),
            "ambient_maximum": q(52, "degC"),
            "leaving_minimum": q(4.4, "degC"),
            "leaving_minimum_with_antifreeze": q(-8, "degC"),
            "leaving_maximum": q(16, "degC"),
        },
        "circuits": circuits,
        "capacity_steps": [0.25, 0.5, 0.75, 1.0],
        "electrical": {
            "voltage": q(voltage, "V"),
            "frequency": q(frequency, "Hz"),
            "minimum_circuit_ampacity": q(round(total + 0.25 * compressor, 1), "A"),
            "maximum_overcurrent_device": q(5 * math.ceil((total + 1.2 * compressor) / 5), "A"),
            "short_circuit_rating": q(30, "kA"),
            "motors": [
                {
                    "role": "compressor",
                    "quantity": 2 * circuits,
                    "rated_load_current": q(compressor, "A"),
                    "locked_rotor_current": q(round(6 * compressor, 1), "A"),
                    "starting_method": "across_the_line",
                },
                {"role": "fan", "quantity": 4, "full_load_current": q(fan, "A")},
                {"role": "pump", "full_load_current": q(pump, "A")},
            ],
        },
        "evaporator": {
            "rated_flow": q(flow, "L/s"),
            "rated_pressure_drop": q(50, "kPa"),
            "flow_minimum": q(0.45 * flow, "L/s"),
            "flow_maximum": q(1.7 * flow, "L/s"),
            "volume": q(0.35 * kilowatts, "L"),
            "working_pressure": q(1000, "kPa"),
        },
        "connection": {"inner_diameter": q(102, "mm"), "coupling": "grooved"},
        "refrigerant": {"designation": "R-454B", "charge": q(0.2 * kilowatts, "kg")},
        "body": {
            "length": q(1.5 + kilowatts / 90, "m"),
            "width": q(1.2 + kilowatts / 600, "m"),
            "height": q(2.2, "m"),
            "mass_operating": q(250 + 14 * kilowatts, "kg"),
        },
        "sound_power_level": q(80 + 8 * math.log10(kilowatts / 10), "dBA"),
        "condenser_airflow": q(0.11 * kilowatts, "m3/s"),
        "hire_rate": {"value": 20 + 10 * kilowatts, "currency": "USD", "per": "week"},
    }
    if table:
        row["capacity_table"] = {
            "leaving_liquid_temperature": {"values": LEAVING, "unit": "degC"},
            "ambient_temperature": {"values": AMBIENT, "unit": "degC"},
            "capacity": {
                "values": [
                    [kilowatts * math.exp(0.033 * (t - 7)) * (1 - 0.0105 * (a - 35)) for a in AMBIENT] for t in LEAVING
                ],
                "unit": "kW",
            },
            "power": {
                "values": [[power * (1 + 0.012 * (t - 7)) * (1 + 0.019 * (a - 35)) for a in AMBIENT] for t in LEAVING],
                "unit": "kW",
            },
        }
    if own_pump:
        row["pump"] = {
            "curve": [
                {"flow": q(0, "L/s"), "head": q(30, "m")},
                {"flow": q(flow, "L/s"), "head": q(24, "m")},
                {"flow": q(1.8 * flow, "L/s"), "head": q(8, "m")},
            ],
            "efficiency": 0.65,
        }
    return row


def stock(plenty: int = 400) -> list[Json]:
    """Accessories of every kind that plans count."""
    hoses = [(51, 15), (76, 15), (102, 10), (152, 6), (203, 6)]
    kinds = {"coupling": 90, "reducer": 90, "valve": 90, "strainer": 40, "ramp": 900, "spill_kit": 9, "whip_check": 900}
    rows: list[Json] = [
        {
            "kind": "hose",
            "item": f"hose {bore}",
            "inner_diameter": q(bore, "mm"),
            "section_length": q(section, "m"),
            "working_pressure": q(1200, "kPa"),
            "count": plenty,
        }
        for bore, section in hoses
    ]
    rows += [
        {
            "kind": "cable",
            "item": f"cable {size}",
            "conductor_size": size,
            "section_length": q(50, "ft"),
            "count": 4 * plenty,
        }
        for size in ("2 AWG", "4/0 AWG")
    ]
    rows += [
        {
            "kind": "generator",
            "item": f"set {kw}",
            "rated_active_power": q(kw, "kW"),
            "rated_apparent_power": q(kw / 0.8, "kVA"),
            "subtransient_reactance": 0.12,
            "transient_reactance": 0.18,
            "tank_volume": q(3 * kw, "L"),
            "count": 2,
        }
        for kw in (60, 150, 350, 800)
    ]
    rows += [{"kind": kind, "item": kind.replace("_", " "), "count": count} for kind, count in kinds.items()]
    rows += [
        {"kind": "buffer_vessel", "item": "buffer", "volume": q(1000, "L"), "count": 20},
        {"kind": "expansion_vessel", "item": "expansion", "volume": q(140, "L"), "count": 20},
        {"kind": "panel", "item": "panel", "count": 4},
        {"kind": "antifreeze", "item": "drum", "fluid": "propylene_glycol", "volume": q(200, "L"), "count": 60},
        {"kind": "antifreeze", "item": "drum e", "fluid": "ethylene_glycol", "volume": q(200, "L"), "count": 60},
        {"kind": "other", "item": "spare gasket", "count": 500},
    ]
    rows += [
        {"kind": "other", "item": f"backflow preventer, {word}", "count": 3}
        for word in ("reduced pressure", "double check", "vented intermediate", "hose vacuum breaker", "air gap")
    ]
    return rows


def fleet(*machines: Json, accessories: list[Json] | None = None) -> Json:
    """A fleet document."""
    return {"machines": list(machines), "accessories": stock() if accessories is None else accessories}


def order(**changes: Any) -> Json:
    """A sound order of 200 kW on site power; `duty__load=...` changes a field inside."""
    document: Json = {
        "reference": "T-1",
        "period": {"from": "2027-06-01", "to": "2027-06-14"},
        "practice": "nec",
        "duty": {"load": q(200, "kW"), "leaving_temperature": q(7, "degC"), "lowest_load_fraction": 0.4},
        "site": {
            "elevation": q(100, "m"),
            "design_ambient_temperature": q(35, "degC"),
            "lowest_ambient_temperature": q(12, "degC"),
            "indoors": False,
        },
        "supply": {
            "source": "site",
            "voltage": q(480, "V"),
            "frequency": q(60, "Hz"),
            "available_current": q(2000, "A"),
            "fault_current": q(20, "kA"),
        },
        "routes": {
            "hose_length": q(40, "m"),
            "highest_point": q(6, "m"),
            "cable_length": q(30, "m"),
            "hose_fittings": 6,
        },
        "load_side": {
            "rated_flow": q(9, "L/s"),
            "rated_pressure_drop": q(45, "kPa"),
            "volume": q(800, "L"),
            "pump": "machine",
        },
        "access": {"lift": "crane", "radius": q(8, "m")},
        "fleet": fleet(machine("small", 60, 4), machine("middle", 150, 3), machine("large", 330, 2)),
    }
    return changed(document, **changes)


def changed(document: Json, **changes: Any) -> Json:
    """A copy with fields changed; `None` takes a field away."""
    copied = copy.deepcopy(document)
    for name, value in changes.items():
        *path, last = name.split("__")
        place = copied
        for step in path:
            place = place.setdefault(step, {})
        if value is None:
            place.pop(last, None)
        else:
            place[last] = value
    return copied


def _maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.one_of(st.none(), strategy)


def _number(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda x: round(x, 2))


@st.composite
def fleets(draw: st.DrawFn, *, most: int = 4, hertz: float = 60) -> Json:
    """One to four types of unlike sizes; now and then one without table, pump or count, or of another voltage."""
    sizes = draw(st.lists(st.sampled_from([18, 40, 75, 120, 210, 350, 520]), min_size=1, max_size=most, unique=True))
    rows = [
        machine(
            f"type {size}",
            size,
            draw(st.sampled_from([2, 3, 4, 1, 0])),
            voltage=draw(st.sampled_from([460, 460, 460, 460, 208, 575])),
            frequency=draw(st.sampled_from([hertz] * 7 + [110 - hertz])),
            own_pump=draw(st.sampled_from([True, True, True, False])),
            table=draw(st.sampled_from([True, True, True, False])),
            circuits=draw(st.sampled_from([1, 2])),
        )
        for size in sizes
    ]
    return fleet(*rows, accessories=stock(draw(st.sampled_from([400, 400, 20, 0]))))


@st.composite
def orders(draw: st.DrawFn) -> Json:
    """Orders of every kind: cold and hot, high and low, told and untold."""
    practice = draw(st.sampled_from(["nec", "nec", "iec"]))
    hertz = 60 if practice == "nec" else 50
    on_hand = draw(fleets(hertz=hertz))
    together = sum(m["rating"]["capacity"]["value"] * m["count"] for m in on_hand["machines"])
    document = order(
        practice=practice,
        duty={
            "load": q(max(2.0, round(together * draw(_number(0.05, 0.9)), 2)), "kW"),
            "leaving_temperature": q(draw(st.one_of(_number(5, 13), _number(-7, 13))), "degC"),
        },
        site={"design_ambient_temperature": q(draw(_number(16, 48)), "degC")},
        supply={"source": draw(st.sampled_from(["site", "generator", "unknown"]))},
        routes={"hose_length": q(draw(_number(5, 200)), "m"), "cable_length": q(draw(_number(5, 250)), "m")},
        load_side={},
        access={},
        fleet=on_hand,
    )
    optional: dict[str, st.SearchStrategy[Any]] = {
        "duty__temperature_difference": _number(3, 9).map(lambda x: q(x, "delta_degC")),
        "duty__lowest_load_fraction": _number(0, 1),
        "duty__margin_fraction": _number(0, 0.3),
        "site__elevation": _number(-50, 2500).map(lambda x: q(x, "m")),
        "site__lowest_ambient_temperature": _number(-15, 15).map(lambda x: q(x, "degC")),
        "site__indoors": st.booleans(),
        "site__sound_limits": _number(5, 200).map(lambda x: [{"distance": q(x, "m"), "limit_day": q(60, "dBA")}]),
        "site__ground": st.sampled_from([{"soil_class": "sand"}, {"allowable_bearing_pressure": q(90, "kPa")}]),
        "supply__voltage": st.sampled_from([480, 480, 480, 208, 600]).map(lambda x: q(x, "V")),
        "supply__frequency": st.just(q(hertz, "Hz")),
        "supply__breaker_rating": st.sampled_from([30, 200, 400, 1200]).map(lambda x: q(x, "A")),
        "supply__available_current": _number(20, 2500).map(lambda x: q(x, "A")),
        "supply__fault_current": _number(0.5, 60).map(lambda x: q(x, "kA")),
        "supply__starting_dip_limit_fraction": _number(0.1, 0.3),
        "fluid": st.sampled_from(
            [
                {"kind": "ethylene_glycol"},
                {"kind": "propylene_glycol", "mass_fraction": 0.35},
                {"kind": "propylene_glycol"},
                {"kind": "water"},
            ]
        ),
        "routes__highest_point": _number(-5, 60).map(lambda x: q(x, "m")),
        "routes__crossings": st.integers(0, 4),
        "routes__hose_fittings": _number(0, 40),
        "load_side__rated_flow": _number(0.5, 60).map(lambda x: q(x, "L/s")),
        "load_side__rated_pressure_drop": _number(5, 200).map(lambda x: q(x, "kPa")),
        "load_side__volume": _number(0, 9000).map(lambda x: q(x, "L")),
        "load_side__pump": st.sampled_from(["machine", "site"]),
        "load_side__fast_valve_closing_time": _number(0, 5).map(lambda x: q(x, "s")),
        "access__lift": st.sampled_from(["crane", "fork_truck", "roll_off"]),
        "redundancy": st.sampled_from(["none", "spare_machine", "spare_circuit"]),
        "critical": st.booleans(),
        "preferences": st.sampled_from(["fewest_machines", "lowest_cost", "lowest_power", "smallest_footprint"]),
    }
    return changed(document, **{name: draw(_maybe(strategy)) for name, strategy in optional.items()})
