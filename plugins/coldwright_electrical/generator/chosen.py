"""Everything that only a set has: load bank, remedies, distortion, terminals, fuel."""

import math
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import Current, Power
from coldwright_basis.compare import below
from coldwright_electrical.generator import findings as findings
from coldwright_electrical.generator.consumption import FuelUse, fuel_use
from coldwright_electrical.generator.distortion import distortion_of
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.light_load import light_load_remedies
from coldwright_electrical.generator.results import LightLoadRemedyResults
from coldwright_electrical.generator.sets import Judgement, show_dip
from coldwright_electrical.generator.starting import Step


class SetFigures(NamedTuple):
    """What only a set has."""

    load_bank: Power | UnsetType = UNSET
    remedies: tuple[LightLoadRemedyResults, ...] = ()
    distortion: float | UnsetType = UNSET
    terminal_current: Current | UnsetType = UNSET
    fuel: FuelUse = FuelUse()


def figures_of(
    given: GeneratorGiven, notes: Notes, chosen: Judgement, steps: list[Step], running: complex
) -> SetFigures:
    """Judge the set in question, and work out what only a set has."""
    machine = chosen.machine
    for step, dips in zip(steps, chosen.dips, strict=True):
        show_dip(notes, machine, step, dips)
    notes.show("P/P_d", "Load fraction", f"{running.real:.5g} / {machine.derated_kw:.5g}", chosen.load_fraction)
    remedies: tuple[LightLoadRemedyResults, ...] = ()
    if below(chosen.reduced_load_fraction, given.minimum_load_fraction):
        remedies = light_load_remedies(given, machine, steps, running, given.low_power(running.real))
    findings.judge_power(given, notes, chosen, running)
    findings.judge_dip(given, notes, chosen, steps)
    findings.judge_light_load(given, notes, chosen, remedies)
    distortion = distortion_of(given, notes, machine)
    rated_current = machine.kva * 1000 / (math.sqrt(3) * given.system_voltage.value)
    return SetFigures(
        load_bank=Power.of(max(0.0, given.minimum_load_fraction * machine.kw - running.real), "kW"),
        remedies=remedies,
        distortion=UNSET if distortion is None else tidy(distortion),
        terminal_current=Current.of(1.15 * rated_current, "A") if given.practice == "nec" else UNSET,
        fuel=fuel_use(given, notes, machine, given.burning_power(running.real)),
    )
