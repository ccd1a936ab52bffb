"""All facts that are asked of a start, in the order of their rules."""

from collections.abc import Callable, Collection
from functools import cache
from typing import Final

from coldwright_readiness.startup.evidence.device_time import in_device_time
from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.record import Record
from coldwright_readiness.startup.evidence.settling import Settlements
from coldwright_readiness.startup.rules import connecting, flow, loop, machine, power
from coldwright_readiness.startup.rules.fact import Fact

SPACED: Final = ("R10", "R11", "R13", "R16", "R17")
"""Facts that ask how long two things lay apart: the uptime of the device that recorded both may show it."""


def facts_of(
    e: Evidence, settled: Settlements, unproved_instruments: list[Record], only: Collection[str] = ()
) -> dict[str, Fact]:
    """Rule -> fact, of every rule that is asked or of some of them only."""
    facts = _facts_of(e, settled, unproved_instruments, only)
    if any(rule in facts and not facts[rule].established for rule in SPACED):
        for other in in_device_time(e):
            spaced = _facts_of(other, settled, unproved_instruments, SPACED)
            facts |= {rule: spaced[rule] for rule in SPACED if rule in facts and spaced[rule].established}
    return facts


def _facts_of(
    e: Evidence, settled: Settlements, unproved_instruments: list[Record], only: Collection[str]
) -> dict[str, Fact]:
    antifreeze = cache(lambda: loop.antifreeze_adequate(e) if e.limits.glycol else None)
    asked: dict[str, Callable[[], Fact | None]] = {
        "R01": lambda: power.locks_clear(e, settled),
        "R02": lambda: power.supply_matches_plate(e),
        "R03": lambda: machine.level(e),
        "R04": lambda: machine.ground_connected(e),
        "R05": lambda: power.energised(e),
        "R06": lambda: power.voltage_in_limits(e),
        "R07": lambda: power.phase_correct(e),
        "R08": lambda: loop.hoses_connected(e),
        "R09": lambda: loop.valves_set(e),
        "R10": lambda: loop.loop_pressurised(e),
        "R11": lambda: loop.purged(e),
        "R12": lambda: loop.leak_free(e),
        "R13": antifreeze,
        "R14": lambda: flow.pump_running(e),
        "R15": lambda: flow.flow_proven(e, unproved_instruments),
        "R16": lambda: loop.strainer_clear(e),
        "R17": lambda: loop.set_point_safe(e, antifreeze()),
        "R18": lambda: machine.no_alarm(e),
        "R19": lambda: machine.people_clear(e),
        "R20": lambda: power.oil_warm(e),
        **connecting.connection_facts(e),
        "R29": lambda: power.oil_heaters_working(e) if e.limits.configuration.oil_heaters else None,
        "R30": lambda: machine.machine_checks_ok(e) if e.of("machine_check") else None,
        "R31": lambda: machine.water_warm(e) if machine.water_asked(e) else None,
    }
    found = {rule: judge() for rule, judge in asked.items() if not only or rule in only}
    return {rule: fact for rule, fact in found.items() if fact is not None}
