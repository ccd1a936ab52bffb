"""All facts that are asked of a start, in the order of their rules."""

from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.record import Record
from coldwright_readiness.startup.evidence.settling import Settlements
from coldwright_readiness.startup.rules import connecting, flow, loop, machine, power
from coldwright_readiness.startup.rules.fact import Fact


def facts_of(e: Evidence, settled: Settlements, unproved_instruments: list[Record]) -> dict[str, Fact]:
    """Rule -> fact."""
    antifreeze = loop.antifreeze_adequate(e) if e.limits.glycol else None
    found = [
        power.locks_clear(e, settled),
        power.supply_matches_plate(e),
        machine.level(e),
        machine.ground_connected(e),
        power.energised(e),
        power.voltage_in_limits(e),
        power.phase_correct(e),
        loop.hoses_connected(e),
        loop.valves_set(e),
        loop.loop_pressurised(e),
        loop.purged(e),
        loop.leak_free(e),
        *([antifreeze] if antifreeze is not None else []),
        flow.pump_running(e),
        flow.flow_proven(e, unproved_instruments),
        loop.strainer_clear(e),
        loop.set_point_safe(e, antifreeze),
        machine.no_alarm(e),
        machine.people_clear(e),
        power.oil_warm(e),
        *connecting.connection_facts(e),
    ]
    if e.limits.configuration.oil_heaters:
        found.append(power.oil_heaters_working(e))
    if e.of("machine_check"):
        found.append(machine.machine_checks_ok(e))
    if machine.water_asked(e):
        found.append(machine.water_warm(e))
    return {fact.rule: fact for fact in found}
