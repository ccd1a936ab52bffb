"""The technical parts of a plan: what of each answer a person needs in hand. The whole answers are in the JSON."""

import re
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from coldwright.contract.quantities import type_of_kind
from coldwright.sheets.page import Block, Column, Facts, Heading, Lines, Section, Table, facts, section
from coldwright.sheets.people import is_quantity, number, plain_text, quantity, value_text, words

Results = Mapping[str, Any]
Wanted = tuple[str, str]
"""A label, and where the value stands: `feeder.running_current`."""


WORDS = {"proposed_backflow_preventer"}
"""Members that hold a word of an enumeration."""
_NUMBER = re.compile(r"-?[\d,]*\.?\d+(e-?\d+)?(°|( [^ ]+)*)?")


def at(results: Results, path: str) -> Any:
    """The value at a dotted path; nothing where any part of it is missing."""
    value: Any = results
    for step in path.split("."):
        value = value.get(step) if isinstance(value, Mapping) and not is_quantity(value) else None
    return value


def text_at(results: Results, path: str) -> str:
    """The value at a dotted path, for the eye; empty where it is missing."""
    value = at(results, path)
    name = path.rpartition(".")[2]
    return "" if value is None else words(value) if name in WORDS else value_text(value, name)


def chosen(results: Results, *wanted: Wanted) -> Facts | None:
    """Some values by labels; those that are missing are left out."""
    return facts(*((name, text_at(results, path)) for name, path in wanted))


def grid(items: Iterable[Results], *wanted: tuple[str, str, int]) -> Table | None:
    """Items as rows; columns that no item fills are left out."""
    rows = [tuple(text_at(item, path) for _, path, _ in wanted) for item in items]
    used = [i for i in range(len(wanted)) if any(row[i] for row in rows)]
    columns = tuple(Column(wanted[i][0], wanted[i][2], number=_is_number(rows, i)) for i in used)
    return Table(columns, tuple(tuple(row[i] for i in used) for row in rows)) if rows and used else None


def _is_number(rows: Sequence[tuple[str, ...]], place: int) -> bool:
    cells = [row[place] for row in rows if row[place]]
    return all(_NUMBER.fullmatch(cell) for cell in cells)


def under(title: str, *blocks: Block | None) -> tuple[Block | None, ...]:
    """Blocks under a heading, or nothing at all."""
    return (Heading(title), *blocks) if any(b is not None for b in blocks) else ()


def supply(results: Results) -> Section | None:
    """Who feeds the machines, with how much, behind which device."""
    block = results.get("supply")
    if not block:
        return None
    fit = block["service"]["fit"]
    reasons = tuple(plain_text(r) for r in fit["reasons"])
    return section(
        "Supply",
        facts(("From", words(block["source"])), ("Voltage", text_at(block, "voltage"))),
        chosen(
            block,
            ("Running current, all machines", "service.feeder.running_current"),
            ("Cable and supply must carry", "service.feeder.minimum_circuit_ampacity"),
            ("Smallest breaker that works", "service.feeder.smallest_workable_standard"),
            ("Largest breaker allowed", "service.feeder.maximum_overcurrent_standard"),
            ("Worst moment of the start", "service.feeder.locked_rotor_with_largest_starting"),
            ("Active power", "service.active_power"),
            ("Apparent power", "service.apparent_power"),
            ("Spare at the supply", "service.fit.spare_supply"),
        ),
        facts(("The site's offer", words(fit["verdict"]))) if block["source"] != "generator" else None,
        Lines(reasons) if reasons and block["source"] != "generator" else None,
        *under(
            "Each machine",
            grid(
                block["service"]["machines"],
                ("Machine", "machine_id", 20),
                ("No.", "quantity", 7),
                ("Running", "running_current", 12),
                ("Must carry", "minimum_circuit_ampacity", 12),
                ("Breaker at most", "maximum_overcurrent_standard", 14),
                ("Disconnect", "disconnect_standard", 14),
            ),
        ),
        *under(
            "Generator",
            chosen(
                block,
                ("Set", "generator_item"),
                ("Running load over its power here", "generator.load_fraction"),
                ("Power left by height and heat", "generator.derated_active_power"),
                ("Greatest dip of voltage", "generator.worst_dip_fraction"),
                ("Fuel", "generator.fuel_rate"),
                ("One filling lasts", "generator.time_per_fill"),
                ("Refuel every", "generator.refuel_interval"),
                ("Fuel for the hire", "generator.fuel_total"),
                ("Load bank", "generator.load_bank_power"),
            ),
        ),
        *under(
            "Transformer",
            chosen(
                block,
                ("Transformer", "transformer_item"),
                ("Load over its rating", "transformer.load_fraction"),
                ("Primary device at most", "transformer.primary_device_maximum_standard"),
                ("Secondary device at most", "transformer.secondary_device_maximum_standard"),
                ("Voltage at load", "transformer.secondary_voltage_at_load"),
            ),
        ),
    )


def cable(results: Results) -> Section | None:
    """Cable of each machine, and the one feeder that could stand in its place."""
    block = results.get("cable")
    if not block:
        return None
    return section(
        "Cable",
        grid(
            block["machines"],
            ("Machine", "type", 18),
            ("No.", "count", 6),
            ("Cable", "item", 20),
            ("Size", "feeder.conductor_size", 10),
            ("Sets", "feeder.sets", 7),
            ("Ground", "feeder.equipment_ground_size", 10),
            ("Carries", "feeder.ampacity_deciding", 10),
            ("Drop running", "feeder.drop_running_fraction", 10),
            ("Drop starting", "feeder.starting_drop_fraction", 10),
        ),
        *under(
            "To load and to join, for each machine",
            grid(
                block["machines"],
                ("Machine", "type", 18),
                ("Pieces of cable", "feeder.pick_list.cable_pieces", 12),
                ("Spare pieces", "feeder.pick_list.spare_pieces", 12),
                ("Pairs of connectors", "feeder.pick_list.mated_pairs", 12),
                ("Ramps", "feeder.pick_list.ramps", 10),
                ("Longest run", "feeder.longest_run", 12),
                ("Fault current there", "fault.fault_current_with_motors", 14),
            ),
        ),
        *under(
            "Or one feeder for all, to a panel beside them",
            chosen(
                block,
                ("Size", "group.conductor_size"),
                ("Sets", "group.sets"),
                ("Carries", "group.ampacity_deciding"),
                ("Drop running", "group.drop_running_fraction"),
            ),
        ),
    )


def loop(results: Results) -> Section | None:
    """Hose, flow, pump, pressures."""
    block = results.get("loop")
    if not block:
        return None
    runs = block["hose_runs"]
    hose = f"{quantity(block['hose_inner_diameter'])} bore, {runs} run{'s' if runs > 1 else ''} each way"
    return section(
        "Loop",
        facts(
            ("Hose", hose),
            ("From stock", plain_text(block["hose_item"])),
            ("Pump", f"the {words(block['pump_owner'])}'s"),
        ),
        chosen(
            block,
            ("Flow", "duty_flow"),
            ("Flow aimed at", "wanted_flow"),
            ("Warms by, at the load", "temperature_difference_at_load"),
            ("Pump head", "pump_head"),
            ("Pressure drop of the loop", "loop_pressure_drop"),
            ("Balancing valve, Kv", "balancing_kv"),
            ("Highest running pressure", "highest_pressure.value"),
            ("Highest at", "highest_pressure.name"),
            ("Lowest running pressure", "lowest_pressure.value"),
            ("Lowest at", "lowest_pressure.name"),
            ("NPSH there", "npsh_available"),
            ("NPSH wanted", "npsh_wanted"),
        ),
        *under(
            "Along the loop",
            grid(
                block.get("elements", ()),
                ("Part", "name", 26),
                ("Flow in each", "flow_each", 12),
                ("Velocity", "velocity", 12),
                ("Drop", "pressure_drop", 12),
                ("Pressure in", "pressure_in", 12),
                ("Pressure out", "pressure_out", 12),
            ),
        ),
        *under(
            "Fast valve",
            chosen(
                results,
                ("Pressure rise", "surge.pressure_rise"),
                ("Peak pressure", "surge.peak_pressure"),
                ("Room to the limit", "surge.margin"),
                ("Close it in no less than", "surge.safe_closure_time"),
            ),
        ),
    )


def liquid(results: Results) -> Section | None:
    """What flows in the loop, how it is filled, and how it may grow."""
    block = results["fluid"]
    return section(
        "Liquid and fill",
        facts(("Liquid", words(block["kind"])), ("Glycol by mass", text_at(block, "mass_fraction"))),
        chosen(
            block,
            ("Glycol by volume", "antifreeze.volume_fraction"),
            ("Freezes at", "antifreeze.freezing_temperature"),
            ("Safe to", "lowest_temperature"),
            ("Leaving temperature", "leaving_temperature"),
            ("Concentrate", "antifreeze.concentrate_volume"),
            ("Water to it", "antifreeze.water_volume"),
        ),
        chosen(
            results,
            ("Volume of the loop", "fill.total_volume"),
            ("Fill to, at the machine, pump off", "fill_pressure"),
            ("Least fill pressure", "fill.required_fill_pressure"),
            ("Pressure at the top", "fill.top_pressure"),
            ("Time to fill", "fill.fill_time"),
            ("Room below the relief valve", "fill.relief_margin"),
            ("The liquid grows by", "fill.expansion_volume"),
            ("Expansion vessel", "fill.vessel_volume"),
            ("Its precharge", "fill.precharge_pressure"),
            ("Least volume of the loop", "fill.minimum_loop_volume"),
            ("Backflow protection proposed", "fill.proposed_backflow_preventer"),
        ),
    )


def energy(results: Results) -> Facts | None:
    """What the machines do, and what it takes."""
    return chosen(
        results,
        ("Load of the order", "load.net"),
        ("Heat of hoses", "load.hose_heat"),
        ("Heat of pumps", "load.pump_heat"),
        ("Load to plan for, with margin", "design_load"),
        ("Least load", "load.lowest"),
        ("Power, all machines", "energy.machine_power"),
        ("Heat to the air", "energy.heat_rejected"),
    )


def place(results: Results) -> Section | None:
    """Lift, ground, clearances, sound and lorries."""
    block = results.get("site")
    if not block:
        return None
    transport = block.get("transport", {})
    return section(
        "Place, lift, sound and lorries",
        chosen(
            block,
            ("Smallest room over what is asked", "placement.smallest_margin"),
            ("Hose that the place needs", "placement.hose_length_needed"),
            ("Cable that the place needs", "placement.cable_length_needed"),
            ("Stand at least", "placement.stand_height"),
            ("Air at the coil with its own air drawn in", "placement.recirculated_air_temperature"),
            ("Lorries", "transport.number_of_loads"),
        ),
        *under(
            "Lift",
            grid(
                block["lift"],
                ("Machine", "type", 20),
                ("On the hook", "lift.hook_load.mass", 13),
                ("Each leg rated", "lift.required_leg_rated_load", 13),
                ("Chart used", "lift.capacity_fraction", 12),
                ("Wind at most", "lift.wind_speed_limit", 13),
                ("Tilt", "lift.tilt_angle", 10),
            ),
        ),
        *under(
            "Ground",
            grid(
                block["ground"],
                ("Machine", "type", 20),
                ("Presses with", "ground.bearing_pressure_maximum", 16),
                ("Ground bears", "ground.allowable_bearing_pressure", 16),
                ("Share", "ground.utilisation", 10),
                ("Mat, square side", "ground.required_square_side", 16),
            ),
        ),
        *under(
            "Sound",
            grid(
                at(block, "sound.receivers") or (),
                ("At", "id", 24),
                ("Level", "level", 12),
                ("Room by day", "margin_day", 12),
                ("Room at night", "margin_night", 12),
                ("Limit met from", "distance_for_limit", 16),
            ),
        ),
        *under("Lorries", _lorries(transport.get("loads", ()))),
    )


def _lorries(loads: Sequence[Results]) -> Table | None:
    rows = tuple(
        (
            str(place_),
            words(load["vehicle"]),
            ", ".join(plain_text(f"{i['quantity']} x {i['item']}") for i in load["items"]),
            text_at(load, "mass"),
            "; ".join(words(hint) for hint in load["permit_hints"]),
        )
        for place_, load in enumerate(loads, 1)
    )
    columns = (
        Column("No.", 5, number=True),
        Column("Vehicle", 18),
        Column("On it", 40),
        Column("Mass", 13, number=True),
        Column("Permits to ask for", 24),
    )
    return Table(columns, rows) if rows else None


def limit_text(value: float, unit: str, *, us: bool = False) -> str:
    """A number of the list of limits, which is in metric units in every answer."""
    if unit == "1":
        return number(value, 4)
    kind = next((k for k in type_of_kind.values() if us and k.metric_unit == unit), None)
    if kind is not None:
        converted = kind.of(value, unit).to(kind.us_unit)
        return quantity({"value": converted, "unit": kind.us_unit}, 4)
    return quantity({"value": value, "unit": unit}, 4)
