"""Four whole orders of four kinds, with their fleets. Everything in them is invented."""

from orders import Json, changed, fleet, machine, order, stock
from quantity import q


def _accessories(*more: Json) -> list[Json]:
    kept = [row for row in stock() if row["kind"] not in ("cable", "generator")]
    return [*kept, *more]


def _cable(size: str, metres: float) -> Json:
    return {
        "kind": "cable",
        "item": f"cable {size}",
        "conductor_size": size,
        "section_length": q(metres, "m"),
        "count": 2000,
        "mass": q(30, "kg"),
    }


def _set(kilowatts: float) -> Json:
    return {
        "kind": "generator",
        "item": f"set {kilowatts:g}",
        "rated_active_power": q(kilowatts, "kW"),
        "rated_apparent_power": q(kilowatts / 0.8, "kVA"),
        "subtransient_reactance": 0.12,
        "transient_reactance": 0.18,
        "tank_volume": q(6 * kilowatts, "L"),
        "count": 2,
        "sound_power_level": q(97, "dBA"),
    }


LIFTED = {
    "centre_of_gravity": {"x": q(2.3, "m"), "y": q(0.8, "m"), "z": q(0.9, "m")},
    "lifting_points": [
        {"id": name, "x": q(x, "m"), "y": q(y, "m"), "z": q(2.2, "m")}
        for name, x, y in (("a", 0.3, 0.1), ("b", 4.5, 0.1), ("c", 4.5, 1.6), ("d", 0.3, 1.6))
    ],
}


def data_center() -> Json:
    """In the US on the site's supply, critical, with a machine to spare."""
    machines = fleet(
        machine("hall 400", 400, 5),
        machine("hall 250", 250, 4),
        machine("hall 120", 120, 3),
        accessories=_accessories(_cable("4/0 AWG", 15), _cable("500 kcmil", 15), _cable("2 AWG", 15)),
    )
    return order(
        reference="WHOLE-DATA",
        fleet=machines,
        critical=True,
        redundancy="spare_machine",
        duty={
            "load": q(760, "kW"),
            "leaving_temperature": q(12, "degC"),
            "temperature_difference": q(6, "delta_degC"),
            "lowest_load_fraction": 0.5,
            "warmest_supply_temperature": q(18, "degC"),
        },
        site__design_ambient_temperature=q(39, "degC"),
        site__elevation=q(250, "m"),
        supply={
            "source": "site",
            "voltage": q(480, "V"),
            "frequency": q(60, "Hz"),
            "available_current": q(1600, "A"),
            "fault_current": q(22, "kA"),
            "restart_time": q(10, "min"),
        },
        routes={
            "hose_length": q(60, "m"),
            "highest_point": q(4, "m"),
            "cable_length": q(45, "m"),
            "hose_fittings": 8,
        },
        load_side={
            "rated_flow": q(30, "L/s"),
            "rated_pressure_drop": q(70, "kPa"),
            "volume": q(6500, "L"),
            "pump": "machine",
        },
    )


def food_plant() -> Json:
    """In Europe at -5 degC, on a generating set of 50 Hz."""
    cold = [
        machine(name, size, count, voltage=400, frequency=50)
        for name, size, count in (("plant 260", 260, 3), ("plant 150", 150, 3))
    ]
    machines = fleet(
        *cold,
        accessories=_accessories(
            _set(100), _set(200), _set(400), *(_cable(f"{size} mm2", 20) for size in (25, 50, 95, 120, 185, 240))
        ),
    )
    return order(
        reference="WHOLE-FOOD",
        practice="iec",
        fleet=machines,
        duty={
            "load": q(170, "kW"),
            "leaving_temperature": q(-5, "degC"),
            "temperature_difference": q(4, "delta_degC"),
            "lowest_load_fraction": 0.45,
        },
        site__design_ambient_temperature=q(30, "degC"),
        site__lowest_ambient_temperature=q(-6, "degC"),
        fluid={"kind": "propylene_glycol"},
        supply={"source": "generator", "voltage": q(400, "V"), "frequency": q(50, "Hz")},
        routes={"hose_length": q(35, "m"), "highest_point": q(5, "m"), "cable_length": q(20, "m"), "hose_fittings": 6},
        load_side={
            "rated_flow": q(10, "L/s"),
            "rated_pressure_drop": q(60, "kPa"),
            "volume": q(1200, "L"),
            "pump": "machine",
        },
    )


def roof() -> Json:
    """Machines on the ground, the load on a roof 28 m up, and a crane to set them down."""
    body = machine("roof 300", 300, 3)["body"]
    tower = changed(machine("roof 300", 300, 3), body=body | LIFTED, capacity_steps=[0.25, 0.5, 0.75, 1.0])
    return order(
        reference="WHOLE-ROOF",
        fleet=fleet(tower),
        duty={
            "load": q(230, "kW"),
            "leaving_temperature": q(6, "degC"),
            "temperature_difference": q(5.5, "delta_degC"),
            "lowest_load_fraction": 0.4,
        },
        site__sound_limits=[{"id": "flats", "distance": q(60, "m"), "limit_day": q(62, "dBA")}],
        routes={
            "hose_length": q(85, "m"),
            "highest_point": q(28, "m"),
            "cable_length": q(30, "m"),
            "hose_fittings": 10,
        },
        load_side={
            "rated_flow": q(10.5, "L/s"),
            "rated_pressure_drop": q(55, "kPa"),
            "volume": q(1500, "L"),
            "pump": "machine",
        },
        access={
            "lift": "crane",
            "radius": q(14, "m"),
            "crane_chart_capacity": q(12, "t"),
            "hook_block_mass": q(350, "kg"),
            "rigging_mass": q(180, "kg"),
        },
    )


def indoors() -> Json:
    """In a hall at 43 degC, with fans."""
    return order(
        reference="WHOLE-INDOOR",
        fleet=fleet(machine("hall 60", 60, 3), machine("hall 90", 90, 2)),
        duty={
            "load": q(58, "kW"),
            "leaving_temperature": q(7, "degC"),
            "temperature_difference": q(5, "delta_degC"),
            "lowest_load_fraction": 0.5,
        },
        site={
            "elevation": q(20, "m"),
            "design_ambient_temperature": q(43, "degC"),
            "indoors": True,
            "relative_humidity_fraction": 0.3,
            "room": {
                "volume": q(2600, "m3"),
                "ventilation_flow": q(14000, "L/s"),
                "outdoor_temperature": q(34, "degC"),
            },
        },
        load_side={
            "rated_flow": q(2.8, "L/s"),
            "rated_pressure_drop": q(50, "kPa"),
            "volume": q(500, "L"),
            "pump": "machine",
        },
    )


ORDERS = {"data center": data_center, "food plant": food_plant, "roof": roof, "indoors": indoors}
