"""The technical parts of a plan: what of each answer a person needs in hand. The whole answers are in the JSON."""

from collections.abc import Sequence
from typing import Any

from msgspec import UNSET, UnsetType

from coldwright.contract.page import Column, Facts, Lines, Section, Table, facts, grid, section, under
from coldwright.contract.people import fraction, plain_text, quantity, share, value_text, words
from coldwright.contract.quantities import Quantity
from coldwright_booking.answer.page_drawing import drawing
from coldwright_booking.answer.page_facts import follows_conductors, refuel_every
from coldwright_booking.answer.results import AssessmentResults, CableBlock, SiteBlock, SupplyBlock
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_site.placement.results import Missing
from coldwright_site.transport.results import VehicleLoad

Rows = tuple[tuple[str, Any], ...]


def chosen(*rows: tuple[str, Any]) -> Facts | None:
    """Some values by labels; those that are left out of the answer are left out here."""
    return facts(*((name, value_text(value)) for name, value in rows))


def unless_zero(value: Any) -> Any:
    """For what is not needed where it is nothing: a load bank, a mat, spare pieces."""
    amount = value.value if isinstance(value, Quantity) else value
    return UNSET if amount == 0 else value


def texts(*values: Any) -> tuple[str, ...]:
    """Cells of a row."""
    return tuple(value_text(value) for value in values)


def supply(results: AssessmentResults) -> Section | None:
    """Who feeds the machines, with how much, behind which device."""
    block = results.supply
    if isinstance(block, UnsetType):
        return None
    feeder, fit = block.service.feeder, block.service.fit
    reasons = tuple(plain_text(r) for r in fit.reasons)
    site = block.source != "generator"
    return section(
        "Supply",
        facts(("From", words(block.source)), ("Voltage", value_text(block.voltage))),
        chosen(
            ("Running current, all machines", feeder.running_current),
            ("Cable and supply must carry", feeder.minimum_circuit_ampacity),
            ("Smallest breaker that works", feeder.smallest_workable_standard),
            ("Largest on conductors sized by the load", feeder.maximum_overcurrent_standard)
            if follows_conductors(block.service)
            else ("Largest breaker allowed", feeder.maximum_overcurrent_standard),
            ("Highest current while starting", feeder.locked_rotor_with_largest_starting),
            ("Active power", block.service.active_power),
            ("Apparent power", block.service.apparent_power),
            ("Spare at the supply", fit.spare_supply),
        ),
        facts(("The site's offer", words(fit.verdict))) if site else None,
        Lines(reasons) if reasons and site else None,
        *under(
            "Each machine",
            grid(
                (
                    ("Machine", 20),
                    ("No.", 7),
                    ("Running", 12),
                    ("Must carry", 12),
                    ("Breaker at most", 14),
                    ("Disconnect", 14),
                ),
                (
                    texts(
                        m.machine_id,
                        m.quantity,
                        m.running_current,
                        m.minimum_circuit_ampacity,
                        m.maximum_overcurrent_standard,
                        m.disconnect_standard,
                    )
                    for m in block.service.machines
                ),
            ),
        ),
        *under("Generator", _generator(block, results.asked.generator)),
        *under("Transformer", _transformer(block)),
    )


def _generator(block: SupplyBlock, asked: GeneratorGiven | UnsetType) -> Facts | None:
    rows: Rows = (("Set", block.generator_item),)
    if not isinstance(stated := block.generator, UnsetType):
        rows += (
            ("Load on the set", share(stated.load_fraction)),
            ("Set's power at this site", stated.derated_active_power),
            ("Largest voltage dip", share(stated.worst_dip_fraction)),
            ("Fuel", stated.fuel_rate),
            ("One tank lasts", stated.time_per_fill),
            ("Refuel every", refuel_every(stated.refuel_interval)),
            ("Fuel for the whole period at full capacity", stated.fuel_total),
            ("Load bank, set to", UNSET if isinstance(asked, UnsetType) else unless_zero(asked.load_bank_power)),
        )
    return chosen(*rows)


def _transformer(block: SupplyBlock) -> Facts | None:
    rows: Rows = (("Transformer", block.transformer_item),)
    if not isinstance(stated := block.transformer, UnsetType):
        rows += (
            ("Load, of its rating", share(stated.load_fraction)),
            ("Primary device at most", stated.primary_device_maximum_standard),
            ("Secondary device at most", stated.secondary_device_maximum_standard),
            ("Voltage at load", stated.secondary_voltage_at_load),
        )
    return chosen(*rows)


def cable(results: AssessmentResults) -> Section | None:
    """Cable of each machine, and the one feeder that could stand in its place."""
    block = results.cable
    if isinstance(block, UnsetType):
        return None
    return section(
        "Cable",
        grid(
            (
                ("Machine", 18), ("No.", 6), ("Cable", 20), ("Size", 10), ("Sets", 7), ("Ground", 10), ("Carries", 10),
                ("Drop running", 10), ("Drop starting", 10),
            ),
            (
                texts(
                    m.type,
                    m.count,
                    m.item,
                    m.feeder.conductor_size,
                    m.feeder.sets,
                    m.feeder.equipment_ground_size,
                    m.feeder.ampacity_deciding,
                    share(m.feeder.drop_running_fraction),
                    share(m.feeder.starting_drop_fraction),
                )
                for m in block.machines
            ),
        ),
        *under("To load and to join, for each machine", _to_join(block)),
        *under("Or one feeder for all, to a panel beside them", _group(block)),
    )  # fmt: skip


def _to_join(block: CableBlock) -> Table | None:
    return grid(
        (
            ("Machine", 18), ("Pieces of cable", 12), ("Spare pieces", 12), ("Pairs of connectors", 12), ("Ramps", 10),
            ("Longest run", 10), ("Fault current its panel must withstand", 16),
        ),
        (
            texts(
                m.type,
                m.feeder.pick_list.cable_pieces,
                unless_zero(m.feeder.pick_list.spare_pieces),
                m.feeder.pick_list.mated_pairs,
                unless_zero(m.feeder.pick_list.ramps),
                m.feeder.longest_run,
                "" if isinstance(m.fault, UnsetType) else m.fault.fault_current_with_motors,
            )
            for m in block.machines
        ),
    )  # fmt: skip


def _group(block: CableBlock) -> Facts | None:
    stated = block.group
    if isinstance(stated, UnsetType):
        return None
    return chosen(
        ("Size", stated.conductor_size),
        ("Sets", stated.sets),
        ("Carries", stated.ampacity_deciding),
        ("Drop running", share(stated.drop_running_fraction)),
    )


def loop(results: AssessmentResults) -> Section | None:
    """Hose, flow, pump, pressures."""
    block = results.loop
    if isinstance(block, UnsetType):
        return None
    runs = block.hose_runs
    hose = f"{quantity(block.hose_inner_diameter)} bore, {runs} run{'s' if runs > 1 else ''} each way"
    highest, lowest = block.highest_pressure, block.lowest_pressure
    return section(
        "Loop",
        facts(
            ("Hose", hose),
            ("From stock", plain_text(block.hose_item)),
            ("Pump", f"the {words(block.pump_owner)}'s"),
        ),
        chosen(
            ("Flow", block.duty_flow),
            ("Design flow", block.wanted_flow),
            ("Temperature rise at the load", block.temperature_difference_at_load),
            ("Pump head", block.pump_head),
            ("Pressure drop of the loop", block.loop_pressure_drop),
            ("Balancing valve, Kv", block.balancing_kv),
            ("Head taken by valves", share(block.throttled_head_fraction)),
            ("Highest running pressure", "" if isinstance(highest, UnsetType) else highest.value),
            ("Highest at", "" if isinstance(highest, UnsetType) else highest.name),
            ("Lowest running pressure", "" if isinstance(lowest, UnsetType) else lowest.value),
            ("Lowest at", "" if isinstance(lowest, UnsetType) else lowest.name),
            ("NPSH available there", block.npsh_available),
            ("NPSH required", block.npsh_wanted),
        ),
        *under(
            "Along the loop",
            grid(
                (
                    ("Part", 26), ("Flow in each", 12), ("Velocity", 12), ("Drop", 12), ("Pressure in", 12),
                    ("Pressure out", 12),
                ),
                (
                    texts(e.name, e.flow_each, e.velocity, e.pressure_drop, e.pressure_in, e.pressure_out)
                    for e in block.elements
                ),
            ),
        ),
        *under("Fast valve", _surge(results)),
    )  # fmt: skip


def _surge(results: AssessmentResults) -> Facts | None:
    stated = results.surge
    if isinstance(stated, UnsetType):
        return None
    return chosen(
        ("Pressure rise", stated.pressure_rise),
        ("Peak pressure", stated.peak_pressure),
        ("Margin to the limit", stated.margin),
        ("Close it in no less than", stated.safe_closure_time),
    )


def liquid(results: AssessmentResults) -> Section | None:
    """What flows in the loop, how it is filled, and how it may grow."""
    block = results.fluid
    return section(
        "Liquid and fill",
        facts(("Liquid", words(block.kind)), ("Glycol by mass", share(block.mass_fraction))),
        chosen(*_strength(results)),
        chosen(*_fill(results)),
    )


def _strength(results: AssessmentResults) -> Rows:
    block, stated = results.fluid, results.fluid.antifreeze
    middle: Rows = (("Protected to", block.lowest_temperature), ("Leaving temperature", block.leaving_temperature))
    if isinstance(stated, UnsetType):
        return middle
    return (
        ("Glycol by volume", share(stated.volume_fraction)),
        ("Freezes at", stated.freezing_temperature),
        *middle,
        ("Concentrate", stated.concentrate_volume),
        ("Water to add", stated.water_volume),
    )


def _fill(results: AssessmentResults) -> Rows:
    stated, pressure = results.fill, ("Fill to, at the machine, pump off", results.fill_pressure)
    if isinstance(stated, UnsetType):
        return (pressure,)
    return (
        ("Volume of the loop", stated.total_volume),
        pressure,
        ("Least fill pressure", stated.required_fill_pressure),
        ("Pressure at the top", stated.top_pressure),
        ("Time to fill", _filling(results) or stated.fill_time),
        ("Margin below the relief valve", stated.relief_margin),
        ("Expansion of the liquid", stated.expansion_volume),
        ("Expansion vessel", stated.vessel_volume),
        ("Its precharge", stated.precharge_pressure),
        ("Least volume of the loop", unless_zero(stated.minimum_loop_volume)),
        ("Backflow protection proposed", words(stated.proposed_backflow_preventer)),
    )


def _filling(results: AssessmentResults) -> Quantity | None:
    """As the order of work has it: where antifreeze goes in first, the tap fills what is left."""
    if isinstance(results.arrival_plan, UnsetType):
        return None
    return next((step.duration for step in results.arrival_plan.steps if step.id == "fill_loop"), None)


def energy(results: AssessmentResults) -> Facts | None:
    """What the machines do, and what it takes."""
    rows: Rows = (
        ("Load of the order", results.load.net),
        ("Heat gained by hoses", results.load.hose_heat),
        ("Heat of the pumps", results.load.pump_heat),
        ("Load to plan for, with margin", results.design_load),
        ("Least load", results.load.lowest),
    )
    if not isinstance(stated := results.energy, UnsetType):
        rows += (("Power, all machines", stated.machine_power), ("Heat rejected", stated.heat_rejected))
    return chosen(*rows)


def standing(results: AssessmentResults, *, closed: bool) -> Section | None:
    """The drawing of the site; in sight where its area is given, else as the plan takes it to be, `closed` on a screen."""
    if has_area(results):
        return section("Where they stand", drawing(results))
    fact = "The free area is not given: drawn as large as it must be at least."
    return section("Where they stand", drawing(results), fact=fact, closed=closed)


def has_area(results: AssessmentResults) -> bool:
    """Whether the site gave its free area."""
    asked = results.asked.placement
    return not isinstance(asked, UnsetType) and not isinstance(asked.area, UnsetType)


def place(results: AssessmentResults) -> Section | None:
    """Lift, ground, clearances, sound and vehicles."""
    block = results.site
    if isinstance(block, UnsetType):
        return None
    loads = () if isinstance(block.transport, UnsetType) else block.transport.loads
    return section(
        "Place, lift, sound and transport",
        chosen(*_placed(block)),
        *under(
            "Lift",
            grid(
                (
                    ("Machine", 20), ("On the hook", 13), ("Each leg rated", 13), ("Crane chart used", 12),
                    ("Wind at most", 13), ("Tilt", 10),
                ),
                (
                    texts(
                        m.type,
                        "" if isinstance(m.lift.hook_load, UnsetType) else m.lift.hook_load.mass,
                        m.lift.required_leg_rated_load,
                        share(m.lift.capacity_fraction),
                        m.lift.wind_speed_limit,
                        unless_zero(m.lift.tilt_angle),
                    )
                    for m in block.lift
                ),
            ),
        ),
        *under(
            "Ground",
            grid(
                (("Machine", 20), ("Ground pressure", 16), ("Allowable", 16), ("Share", 10), ("Mat, square side", 16)),
                (
                    texts(
                        m.type,
                        m.ground.bearing_pressure_maximum,
                        m.ground.allowable_bearing_pressure,
                        share(m.ground.utilisation),
                        unless_zero(m.ground.required_square_side),
                    )
                    for m in block.ground
                ),
            ),
        ),
        *under("Sound", _sound(block)),
        *under("Vehicles", _vehicles(loads)),
    )  # fmt: skip


def _placed(block: SiteBlock) -> Rows:
    rows: Rows = ()
    if not isinstance(stated := block.placement, UnsetType):
        least, short = stated.least_area, stated.missing
        rows = (
            ("Area needed between walls", "" if isinstance(least, UnsetType) else _by(least.length, least.width)),
            ("Area too short along x", "" if isinstance(short, UnsetType) else short.along_x),
            ("or along y", "" if isinstance(short, UnsetType) else short.along_y),
            ("Area too short along x and along y", _together(short)),
            ("Smallest margin over a clearance", stated.smallest_margin),
            ("Hose needed here", stated.hose_length_needed),
            ("Cable needed here", stated.cable_length_needed),
            ("Stand height at least", stated.stand_height),
            ("Air at the coil, with recirculation", stated.recirculated_air_temperature),
        )
    return rows if isinstance(block.transport, UnsetType) else (*rows, ("Vehicles", block.transport.number_of_loads))


def _together(short: Missing | UnsetType) -> str:
    if isinstance(short, UnsetType) or isinstance(short.together, UnsetType):
        return ""
    return f"{quantity(short.together.along_x)} and {quantity(short.together.along_y)}"


def _by(length: Quantity, width: Quantity) -> str:
    return f"{quantity(length)} by {quantity(width)}"


def _sound(block: SiteBlock) -> Table | None:
    if isinstance(block.sound, UnsetType):
        return None
    return grid(
        (("At", 24), ("Level", 12), ("Margin by day", 14), ("Margin at night", 16), ("Limit met from", 16)),
        (texts(r.id, r.level, r.margin_day, r.margin_night, r.distance_for_limit) for r in block.sound.receivers),
    )


def _vehicles(loads: Sequence[VehicleLoad]) -> Table | None:
    rows = tuple(
        (
            str(place_),
            words(load.vehicle),
            ", ".join(plain_text(f"{i.quantity} x {i.item}") for i in load.items),
            quantity(load.mass),
            "; ".join(words(hint) for hint in load.permit_hints),
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


def limit_text(value: float, unit: str) -> str:
    """A number of the list of limits, which has its unit beside it."""
    return fraction(value) if unit == "1" else quantity({"value": value, "unit": unit}, 4)
