"""Glycol strength for a cold, the volumes that make it, and what it costs in flow and head."""

from msgspec import UNSET

from coldwright.contract import Load, Notes, calculator, tidy
from coldwright.contract.quantities import Temperature, Volume
from coldwright_basis.liquids import mass_to_volume_fraction
from coldwright_hydronic.antifreeze.cost import cost_of
from coldwright_hydronic.antifreeze.examples import EXAMPLES
from coldwright_hydronic.antifreeze.findings import FINDINGS, always, judge_present, judge_running, judge_strength
from coldwright_hydronic.antifreeze.given import AntifreezeGiven
from coldwright_hydronic.antifreeze.present import present_strength
from coldwright_hydronic.antifreeze.references import BURST_TABLES
from coldwright_hydronic.antifreeze.results import AntifreezeResults
from coldwright_hydronic.antifreeze.volumes import correction, refuse_volumes
from coldwright_hydronic.antifreeze.working import ice_at_lowest, show_strength
from coldwright_hydronic.shared.backflow import BACKFLOW_PROTECTION, least_preventer
from coldwright_hydronic.shared.references import (
    CAUTION_REFERENCES,
    FIRST_PRINCIPLES,
    FLUIDS,
    PRACTICE,
    PROPERTY_REFERENCES,
)
from coldwright_hydronic.shared.second_opinion import inhibited_glycol
from coldwright_hydronic.shared.strength import Strength, required_strength, target_temperature


@calculator(
    "hydronic.antifreeze",
    version="1.0.3",
    title="Glycol strength, its volumes and its cost in flow and head",
    references=(*PROPERTY_REFERENCES, FLUIDS, BURST_TABLES, FIRST_PRINCIPLES, PRACTICE, *CAUTION_REFERENCES),
    tables=(BACKFLOW_PROTECTION,),
    hazards=("chemical", "environment", "general"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def antifreeze(given: AntifreezeGiven, notes: Notes) -> AntifreezeResults:
    """Strength of a glycol mixture for a cold, the volumes that make or correct it, and its cost in flow and head.

    Freeze: the mass fraction whose freezing point (Melinder's lines for plain glycol, by CoolProp) is the lowest
    temperature less the margin. Burst: three quarters of that fraction, so that by the lever rule a quarter of the mass
    is ice; not under 0.20 and not over three quarters of the fraction for -45 degC. Volumes add without contraction.
    Holds for plain ethylene and propylene glycol up to 0.60 by mass; inhibited fluids differ by 0.5 to 1 K.
    """
    target = target_temperature(given.kind, given.lowest_temperature, given.margin)
    wanted = Strength(given.kind, required_strength(given.kind, target, given.protection))
    show_strength(given, notes, target, wanted)
    concentrate = mass_to_volume_fraction(given.kind, given.concentrate_mass_fraction)
    present = present_strength(given)
    refuse_volumes(given, wanted, present, concentrate)
    batch, bleed = correction(given, notes, wanted, present, concentrate)
    volume_of_concentrate = given.loop_volume.si * wanted.by_volume / concentrate
    notes.show(
        "V_c",
        "Concentrate for a new fill",
        f"V x_t / x_c = {given.loop_volume} x {wanted.by_volume:.4f} / {concentrate:.4f}",
        Volume.from_si(volume_of_concentrate, "L"),
    )
    cost = cost_of(given, notes, wanted)
    lowest_leaving = wanted.freezing + given.margin.si + given.evaporator_approach.si
    opinion = inhibited_glycol(given.kind, wanted.by_volume)
    judge_strength(given, notes, target, wanted)
    judge_present(given, notes, target, wanted, present)
    judge_running(given, notes, wanted, present)
    always(notes)
    return AntifreezeResults(
        mass_fraction=tidy(wanted.by_mass),
        volume_fraction=tidy(wanted.by_volume),
        freezing_temperature=Temperature.from_si(wanted.freezing, "degC"),
        ice_fraction_at_lowest=tidy(ice_at_lowest(given, wanted, target)),
        concentrate_volume=Volume.from_si(volume_of_concentrate, "L"),
        water_volume=Volume.from_si(given.loop_volume.si - volume_of_concentrate, "L"),
        drain_volume_batch=batch,
        drain_volume_bleed=bleed,
        lowest_leaving_temperature=Temperature.from_si(lowest_leaving, "degC"),
        second_opinion=UNSET if opinion is UNSET else opinion.freezing_temperature,
        proposed_backflow_preventer=least_preventer(harmful=True),
        **cost,
    )
