"""Two more whole orders, of kinds that the others are not, each with a fleet of its own. Everything in them is invented.

A brewery: three unlike machines in one loop of glycol at -8 degC, on a set of 50 Hz, lifted over a wall. A hotel in the
tropics: 60 Hz and 400 V behind a transformer that is just large enough, the load 40 m up, critical.
"""

from typing import Any

from quantity import q

Json = dict[str, Any]
AMBIENT = [10, 20, 30, 35, 40, 45]
LEAVING = [-10, -6, -2, 2, 6, 10, 15]


def _machine(
    name: str, kilowatts: float, power: float, flow: tuple[float, ...], compressor: tuple[int, float, str], hertz: float,
    pump: list[tuple[float, float]], body: tuple[float, float, float, float], steps: list[float], **more: Any
) -> Json:  # fmt: skip
    """`flow`: rated, its drop, least, most; `compressor`: how many, A, method; `body`: length, width, height, kg."""
    count, amps, method = compressor
    fan, own = round(0.08 * amps, 1), round(0.3 * amps, 1)
    total = count * amps + 4 * fan + own
    capacity = [
        [round(kilowatts * (1 + 0.031 * (t - 7) + 0.0004 * (t - 7) ** 2) * (1 - 0.0095 * (a - 35)), 2) for a in AMBIENT]
        for t in LEAVING
    ]
    drawn = [[round(power * (1 + 0.011 * (t - 7)) * (1 + 0.018 * (a - 35)), 2) for a in AMBIENT] for t in LEAVING]
    length, width, height, mass = body
    return {
        "type": name,
        "count": 1,
        "rating": {
            "capacity": q(kilowatts, "kW"), "power": q(power, "kW"), "leaving_temperature": q(7, "degC"),
            "entering_temperature": q(12, "degC"), "ambient_temperature": q(35, "degC"), "liquid_flow": q(flow[0], "L/s"),
        },
        "capacity_table": {
            "leaving_liquid_temperature": {"values": LEAVING, "unit": "degC"},
            "ambient_temperature": {"values": AMBIENT, "unit": "degC"},
            "capacity": {"values": capacity, "unit": "kW"},
            "power": {"values": drawn, "unit": "kW"},
        },
        "envelope": {
            "ambient_minimum": q(-20, "degC"), "ambient_maximum": q(48, "degC"), "leaving_minimum": q(4.4, "degC"),
            "leaving_minimum_with_antifreeze": q(-12, "degC"), "leaving_maximum": q(18, "degC"),
        },
        "circuits": 2,
        "capacity_steps": steps,
        "electrical": {
            "voltage": q(400, "V"), "frequency": q(hertz, "Hz"), "rated_current": q(round(total, 1), "A"),
            "short_circuit_rating": q(25, "kA"), "power_factor": 0.86,
            "motors": [
                {
                    "role": "compressor", "quantity": count, "rated_load_current": q(amps, "A"),
                    "locked_rotor_current": q(6 * amps, "A"), "starting_method": method,
                },
                {"role": "fan", "quantity": 4, "full_load_current": q(fan, "A")},
                {"role": "pump", "full_load_current": q(own, "A")},
            ],
        },
        "evaporator": {
            "rated_flow": q(flow[0], "L/s"), "rated_pressure_drop": q(flow[1], "kPa"), "flow_minimum": q(flow[2], "L/s"),
            "flow_maximum": q(flow[3], "L/s"), "volume": q(0.3 * kilowatts, "L"), "working_pressure": q(1150, "kPa"),
        },
        "pump": {
            "curve": [{"flow": q(x, "L/s"), "head": q(y, "m")} for x, y in pump],
            "efficiency": 0.6,
            "rated_frequency": q(hertz, "Hz"),
        },
        "connection": {"inner_diameter": q(102, "mm"), "coupling": "grooved"},
        "refrigerant": {"designation": "R-454B", "charge": q(0.14 * kilowatts, "kg")},
        "body": {
            "length": q(length, "m"), "width": q(width, "m"), "height": q(height, "m"), "mass_operating": q(mass, "kg"),
            "fork_pockets": True,
        },
        "sound_power_level": q(93, "dBA"),
        "condenser_airflow": q(0.08 * kilowatts, "m3/s"),
    } | more  # fmt: skip


def _hose(bore: float, section: float) -> Json:
    return {
        "kind": "hose", "item": f"hose {bore:g}", "inner_diameter": q(bore, "mm"), "section_length": q(section, "m"),
        "working_pressure": q(1150, "kPa"), "coupling": "grooved", "count": 80, "mass": q(0.4 * bore, "kg"),
    }  # fmt: skip


def _cable(square: int) -> Json:
    return {
        "kind": "cable", "item": f"{square} mm2", "conductor_size": f"{square} mm2", "section_length": q(25, "m"),
        "count": 160, "mass": q(0.3 * square, "kg"),
    }  # fmt: skip


def _transformer(kva: float) -> Json:
    return {
        "kind": "transformer", "item": f"transformer {kva:g}", "rated_apparent_power": q(kva, "kVA"), "count": 1,
        "primary_voltage": q(480, "V"), "secondary_voltage": q(400, "V"), "impedance_fraction": 0.045, "x_over_r": 3.2,
        "mass": q(4.5 * kva, "kg"),
    }  # fmt: skip


COMMON: list[Json] = [
    *(_hose(bore, 10) for bore in (76, 102, 152)),
    *(_cable(square) for square in (50, 70, 95, 120, 150, 240)),
    {"kind": "panel", "item": "panel", "rated_current": q(1000, "A"), "outlets": 6, "count": 2, "mass": q(350, "kg")},
    {"kind": "buffer_vessel", "item": "buffer", "volume": q(2000, "L"), "count": 4, "mass": q(600, "kg")},
    {"kind": "expansion_vessel", "item": "expansion", "volume": q(200, "L"), "count": 8, "mass": q(40, "kg")},
    *({"kind": kind, "item": kind, "count": 400} for kind in ("coupling", "reducer", "valve", "whip_check", "ramp")),
    *({"kind": kind, "item": kind, "count": 20} for kind in ("strainer", "spill_kit")),
    *({"kind": "other", "item": item, "count": 90} for item in ("header", "spare gasket")),
]  # fmt: skip


def brewery() -> Json:
    """On a set, with a tote of glycol in stock and nothing that is called an empty one."""
    size = (5.2, 2.2, 2.4, 4150)
    machines = [
        _machine("brew 300", 300, 102, (13.2, 46, 6.5, 21), (4, 38.5, "part_winding"), 50,
                 [(0, 38), (8, 36), (13, 31), (20, 18)], size, [0.25, 0.5, 0.75, 1]),
        _machine("brew 200", 200, 70, (8.8, 52, 4.2, 14), (3, 35, "soft_start"), 50,
                 [(0, 34), (5, 32.5), (9, 28), (14, 16)], (4.1, 2.1, 2.35, 2980), [0.33, 0.67, 1]),
        _machine("brew 120", 120, 43, (5.3, 38, 2.4, 8.6), (2, 31, "soft_start"), 50,
                 [(0, 30), (3, 29), (5.5, 25.5), (8.5, 17)], (3.2, 1.6, 2.2, 1720), [0.5, 1]),
    ]  # fmt: skip
    sets = [
        {
            "kind": "generator", "item": f"set {kw}", "rated_active_power": q(kw, "kW"), "count": 1,
            "rated_apparent_power": q(kw / 0.8, "kVA"), "subtransient_reactance": 0.11, "transient_reactance": 0.17,
            "tank_volume": q(2.4 * kw, "L"), "sound_power_level": q(96, "dBA"), "mass": q(15 * kw, "kg"),
        }
        for kw in (250, 400)
    ]  # fmt: skip
    tote = {
        "kind": "antifreeze", "item": "tote of propylene glycol", "fluid": "propylene_glycol", "volume": q(1000, "L"),
        "count": 9, "mass": q(1095, "kg"),
    }  # fmt: skip
    return {
        "reference": "WHOLE-BREWERY",
        "period": {"from": "2027-02-01", "to": "2027-02-12"},
        "practice": "iec",
        "duty": {
            "load": q(330, "kW"), "leaving_temperature": q(-8, "degC"), "temperature_difference": q(4.5, "delta_degC"),
            "lowest_load_fraction": 0.2, "margin_fraction": 0.08,
        },
        "site": {
            "elevation": q(520, "m"), "design_ambient_temperature": q(22, "degC"), "indoors": False,
            "lowest_ambient_temperature": q(-14, "degC"), "fill_flow": q(1.1, "L/s"),
            "ground": {"allowable_bearing_pressure": q(120, "kPa"), "services_known": True},
        },
        "supply": {"source": "generator", "voltage": q(400, "V"), "frequency": q(50, "Hz")},
        "fluid": {"kind": "propylene_glycol"},
        "routes": {
            "hose_length": q(48, "m"), "highest_point": q(7, "m"), "cable_length": q(140, "m"), "hose_fittings": 9,
        },
        "load_side": {
            "rated_flow": q(16, "L/s"), "rated_pressure_drop": q(65, "kPa"), "volume": q(2400, "L"), "pump": "machine",
        },
        "access": {
            "lift": "crane", "radius": q(16, "m"), "crane_chart_capacity": q(9.5, "t"), "crane_mass": q(48, "t"),
            "hook_block_mass": q(420, "kg"), "rigging_mass": q(150, "kg"), "crane_wind_limit": q(9.8, "m/s"),
            "expected_gust": q(11, "m/s"),
        },
        "fleet": {"machines": machines, "accessories": [*COMMON, *sets, tote]},
    }  # fmt: skip


def hotel() -> Json:
    """On the site's supply of 480 V."""
    machines = [
        _machine("hall 420", 420, 140, (18.2, 55, 9, 30), (4, 59, "star_delta"), 60,
                 [(0, 46), (10, 44), (18, 38), (28, 22)], (6.1, 2.25, 2.5, 5100), [0.25, 0.5, 0.75, 1]),
        _machine("hall 260", 260, 90, (11.2, 48, 5.6, 18), (2, 74, "soft_start"), 60,
                 [(0, 44), (6, 42), (11, 36), (17, 22)], (4.6, 2.2, 2.4, 3550), [0.5, 1]),
        _machine("hall 240", 240, 84, (10.4, 48, 5.2, 17), (2, 66, "soft_start"), 60,
                 [(0, 44), (6, 42), (11, 36), (17, 22)], (4.4, 2.2, 2.4, 3350), [0.5, 1], count=2),
    ]  # fmt: skip
    return {
        "reference": "WHOLE-HOTEL",
        "period": {"from": "2027-07-05", "to": "2027-08-15"},
        "practice": "iec",
        "critical": True,
        "redundancy": "none",
        "duty": {
            "load": q(430, "kW"), "leaving_temperature": q(7, "degC"), "temperature_difference": q(5, "delta_degC"),
            "lowest_load_fraction": 0.35, "warmest_supply_temperature": q(11, "degC"),
        },
        "site": {
            "elevation": q(4, "m"), "design_ambient_temperature": q(38, "degC"), "indoors": False,
            "lowest_ambient_temperature": q(23, "degC"), "relative_humidity_fraction": 0.62, "tap_pressure": q(480, "kPa"),
        },
        "supply": {
            "source": "site", "voltage": q(480, "V"), "frequency": q(60, "Hz"), "breaker_rating": q(400, "A"),
            "fault_current": q(18, "kA"), "restart_time": q(8, "min"),
        },
        "routes": {
            "hose_length": q(70, "m"), "highest_point": q(40, "m"), "cable_length": q(55, "m"), "hose_fittings": 14,
        },
        "load_side": {
            "rated_flow": q(17.5, "L/s"), "rated_pressure_drop": q(72, "kPa"), "volume": q(5200, "L"), "pump": "machine",
        },
        "access": {
            "lift": "fork_truck",
            "fork_truck": {"rated_capacity": q(12000, "kg"), "rated_load_centre": q(0.6, "m"), "fork_length": q(2.4, "m")},
        },
        "fleet": {"machines": machines, "accessories": [*COMMON, _transformer(160), _transformer(315)]},
    }  # fmt: skip


ORDERS = {"brewery": brewery, "hotel": hotel}
