"""Ways out of running a set too lightly loaded."""

from collections.abc import Sequence

from coldwright.contract.quantities import ApparentPower, Power
from coldwright_basis.compare import at_least, at_most
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.results import LightLoadRemedyResults
from coldwright_electrical.generator.sets import GREATEST_DIP, Machine
from coldwright_electrical.generator.starting import Step, dip, kva_for_dip


def light_load_remedies(
    given: GeneratorGiven, machine: Machine, steps: Sequence[Step], running: complex, low_kw: float
) -> tuple[LightLoadRemedyResults, ...]:
    """Ways out when the set is too big for `low_kw`, the load at night."""
    least = given.minimum_load_fraction
    suited = low_kw / least * machine.kw / machine.derated_kw
    bank = LightLoadRemedyResults(
        kind="load_bank",
        works=True,
        statement=f"Add a load bank of {least * machine.kw - low_kw:.4g} kW while the load is low.",
        load_bank_power=Power.of(max(0.0, least * machine.kw - low_kw), "kW"),
    )
    if low_kw < NO_LOAD * machine.kw:
        return (bank,)  # no set is small enough for nothing
    return (_smaller(given, machine, steps, running, suited), _two_sets(given, machine, steps, low_kw), bank)


NO_LOAD = 1e-3
"""Share of a set's rating below which there is no load to speak of."""


def _smaller(
    given: GeneratorGiven, machine: Machine, steps: Sequence[Step], running: complex, suited_kw: float
) -> LightLoadRemedyResults:
    """The greatest set that is still loaded enough at night: does it carry and start the load, or with what gear?"""
    share = suited_kw / machine.kw
    kva = machine.kva * share
    worst = max(steps, key=lambda s: dip(machine.reactances.transient, s.power, kva))
    limit = min(given.dip_limit_fraction, GREATEST_DIP)
    bearable = worst.kva * kva / kva_for_dip(machine.reactances.transient, worst.power, limit)
    carries = at_most(running.real, machine.derated_kw * share) and at_most(abs(running), machine.derated_kva * share)
    wanted = f"a set of at most {suited_kw:.4g} kW is loaded enough at night"
    if not carries:
        return LightLoadRemedyResults(
            kind="smaller_set",
            works=False,
            statement=f"One smaller set does not do: {wanted}, but does not carry the running load of "
            f"{running.real:.4g} kW, {abs(running):.4g} kVA.",
            rated_active_power=Power.of(suited_kw, "kW"),
            starting_apparent_power=ApparentPower.of(bearable, "kVA"),
        )
    if at_least(bearable, worst.kva):
        return LightLoadRemedyResults(
            kind="smaller_set",
            works=True,
            statement=f"Take a smaller set: {wanted}, carries the load and starts it within the dip limit.",
            rated_active_power=Power.of(suited_kw, "kW"),
            starting_apparent_power=ApparentPower.of(bearable, "kVA"),
        )
    unit = max((abs(s.greatest_unit) for s in steps), default=0.0)
    how = (
        "starting the units one at a time is enough"
        if at_most(unit, bearable)
        else f"the greatest unit alone draws {unit:.4g} kVA and needs gear that draws {bearable / unit:.2f} of it"
    )
    return LightLoadRemedyResults(
        kind="better_starting_gear",
        works=True,
        statement=f"Start more gently: {wanted}, and can take starts of {bearable:.4g} kVA where the worst step now draws "
        f"{worst.kva:.4g} kVA; {how}.",
        rated_active_power=Power.of(suited_kw, "kW"),
        starting_apparent_power=ApparentPower.of(bearable, "kVA"),
    )


def _two_sets(given: GeneratorGiven, machine: Machine, steps: Sequence[Step], low_kw: float) -> LightLoadRemedyResults:
    """Two halves in parallel start as the whole does; at night one of them rests."""
    half = machine.kw / 2
    loaded = low_kw / (machine.derated_kw / 2)
    unit = max((s.greatest_unit for s in steps), key=abs)
    alone = dip(machine.reactances.transient, unit, machine.kva / 2)
    limit = min(given.dip_limit_fraction, GREATEST_DIP)
    works = at_most(given.minimum_load_fraction, loaded) and at_most(loaded, 1)
    verdict = f"one alone is then loaded to {loaded:.3f} at night"
    if not works:
        verdict += ", still too little" if loaded < given.minimum_load_fraction else ", too much for one"
    start = (
        "and starts the greatest unit within the dip limit"
        if at_most(alone, limit)
        else f"but dips {alone:.3f} at the greatest unit's start: bring in the second set first"
    )
    return LightLoadRemedyResults(
        kind="two_sets",
        works=works,
        statement=f"Run two sets of {half:.4g} kW in parallel and rest one: {verdict}, {start}.",
        rated_active_power=Power.of(half, "kW"),
    )
