"""The steps of the start as results."""

from msgspec import UNSET

from coldwright.contract import tidy
from coldwright.contract.quantities import ApparentPower
from coldwright_electrical.generator.results import GeneratorStepResults
from coldwright_electrical.generator.sets import Judgement
from coldwright_electrical.generator.starting import Step


def step_results(step: Step, chosen: Judgement | None, index: int) -> GeneratorStepResults:
    """One step of the start; its dips only where there is a set."""
    dips = None if chosen is None else chosen.dips[index]
    return GeneratorStepResults(
        start_order=step.order,
        load_ids=step.load_ids,
        starting_apparent_power=ApparentPower.of(step.kva, "kVA"),
        starting_power_factor=tidy(step.power.real / step.kva),
        dip_subtransient_fraction=UNSET if dips is None else tidy(dips[0]),
        dip_transient_fraction=UNSET if dips is None else tidy(dips[1]),
    )
