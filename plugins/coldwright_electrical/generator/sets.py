"""One set against the load: what it carries, how far it dips, how it is loaded at night."""

from collections.abc import Sequence
from typing import Final, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Notes, field_error, say, tidy
from coldwright.contract.quantities import ApparentPower, Power
from coldwright_basis.compare import above, at_least, below
from coldwright_electrical.generator.derating import Derating
from coldwright_electrical.generator.given import GeneratorGiven, GeneratorSetGiven
from coldwright_electrical.generator.results import GeneratorCandidateResults
from coldwright_electrical.generator.starting import Step, dip
from coldwright_electrical.shared.references import COMMON_PRACTICE

USUAL_SUBTRANSIENT: Final = 0.12

USUAL_TRANSIENT: Final = 0.18

GREATEST_DIP: Final = 0.30


class Reactances(NamedTuple):
    """Per unit of the set's rating, and which of them were assumed."""

    subtransient: float
    transient: float
    assumed: tuple[str, ...]


class Machine(NamedTuple):
    """A set as numbers, in kW and kVA."""

    kw: float
    kva: float
    reactances: Reactances
    derated_kw: float
    derated_kva: float


class Judgement(NamedTuple):
    """A set against the load."""

    machine: Machine
    dips: list[tuple[float, float]]
    load_fraction: float
    reduced_load_fraction: float
    reasons: list[str]

    @property
    def worst_dip(self) -> float:
        return max(transient for _, transient in self.dips)


def reactances_of(given: GeneratorSetGiven | UnsetType) -> Reactances:
    """Those given; the usual ones for the rest, X"d never above X'd."""
    sub = UNSET if isinstance(given, UnsetType) else given.subtransient_reactance
    transient = UNSET if isinstance(given, UnsetType) else given.transient_reactance
    assumed = tuple(name for name, x in (('X"d', sub), ("X'd", transient)) if isinstance(x, UnsetType))
    if isinstance(sub, UnsetType):
        sub = USUAL_SUBTRANSIENT if isinstance(transient, UnsetType) else min(USUAL_SUBTRANSIENT, transient)
    if isinstance(transient, UnsetType):
        transient = max(USUAL_TRANSIENT, sub)
    return Reactances(sub, transient, assumed)


def machine_of(given: GeneratorSetGiven, derating: Derating) -> Machine:
    """kW by the engine and never above the kVA, kVA by the alternator."""
    kw, kva = given.rated_active_power.to("kW"), given.rated_apparent_power.to("kVA")
    derated_kva = kva * derating.alternator
    return Machine(kw, kva, reactances_of(given), min(kw * derating.engine, derated_kva), derated_kva)


def judge(given: GeneratorGiven, machine: Machine, steps: Sequence[Step], running: complex) -> Judgement:
    """Every number of one set, and why it would not hold."""
    x = machine.reactances
    dips = [(dip(x.subtransient, s.power, machine.kva), dip(x.transient, s.power, machine.kva)) for s in steps]
    fraction = running.real / machine.derated_kw
    result = Judgement(machine, dips, fraction, given.low_power(running.real) / machine.derated_kw, [])
    if above(running.real, machine.derated_kw):
        result.reasons.append(f"running power {running.real:.4g} kW is above {machine.derated_kw:.4g} kW")
    if above(abs(running), machine.derated_kva):
        result.reasons.append(f"running power {abs(running):.4g} kVA is above {machine.derated_kva:.4g} kVA")
    limit = min(given.dip_limit_fraction, GREATEST_DIP)
    if above(result.worst_dip, limit):
        result.reasons.append(f"the worst dip, {result.worst_dip:.3f}, is above {limit:g}")
    return result


def candidate_results(given: GeneratorGiven, judgement: Judgement) -> GeneratorCandidateResults:
    """One line of the table of candidates."""
    machine, reasons = judgement.machine, list(judgement.reasons)
    if below(judgement.reduced_load_fraction, given.minimum_load_fraction):
        reasons.append(
            f"too big at low load: {judgement.reduced_load_fraction:.3f} of its power, "
            f"least {given.minimum_load_fraction:g}"
        )
    return GeneratorCandidateResults(
        rated_active_power=Power.of(machine.kw, "kW"),
        rated_apparent_power=ApparentPower.of(machine.kva, "kVA"),
        derated_active_power=Power.of(machine.derated_kw, "kW"),
        derated_apparent_power=ApparentPower.of(machine.derated_kva, "kVA"),
        worst_dip_fraction=tidy(judgement.worst_dip),
        load_fraction=tidy(judgement.load_fraction),
        reduced_load_fraction=tidy(judgement.reduced_load_fraction),
        holds=not judgement.reasons,
        reasons=tuple(reasons),
    )


def set_errors(given: GeneratorSetGiven, at: str) -> list[FieldError]:
    """Ratings and reactances that cannot belong to one set."""
    errors: list[FieldError] = []
    kw, kva = given.rated_active_power.to("kW"), given.rated_apparent_power.to("kVA")
    if not at_least(kw / kva, 0.6) or above(kw / kva, 1):
        errors.append(
            field_error(
                f"{at}/rated_apparent_power",
                f"{kw:g} kW and {kva:g} kVA make a rated power factor of {kw / kva:.3g}.",
                value=given.rated_apparent_power,
                allowed=Allowed(minimum=tidy(kw), maximum=tidy(kw / 0.6), unit="kVA"),
                why="Sets are rated at a power factor of 0.6 to 1, mostly 0.8.",
            )
        )
    sub, transient = given.subtransient_reactance, given.transient_reactance
    if not isinstance(sub, UnsetType) and not isinstance(transient, UnsetType) and sub > transient:
        errors.append(
            field_error(
                f"{at}/subtransient_reactance",
                f"X\"d, {sub:g}, is above X'd, {transient:g}.",
                value=sub,
                allowed=Allowed(maximum=transient),
                why='The damper winding helps in the first cycles: X"d is the smaller.',
            )
        )
    return errors


def show_dip(notes: Notes, machine: Machine, step: Step, dips: tuple[float, float]) -> None:
    """The dip of one step, first cycle and transient, the short form beside it."""
    s, x = step.kva / machine.kva, machine.reactances
    cos = step.power.real / step.kva
    for symbol, reactance, value in (('d"', x.subtransient, dips[0]), ("d'", x.transient, dips[1])):
        notes.show(
            f"{symbol}_{step.order}",
            f"Voltage dip of step {step.order}; short form X s/(1 + X s) = {reactance * s / (1 + reactance * s):.4f}",
            f"1 - 1/|1 + X s (sin + j cos)|, X = {reactance:g}, s = {step.kva:.5g}/{machine.kva:g}, cos = {cos:.3f}",
            value,
        )


def assume_reactances(notes: Notes, reactances: Reactances) -> None:
    """Say which reactances were taken as usual."""
    for name in reactances.assumed:
        value = reactances.subtransient if name.startswith('X"') else reactances.transient
        notes.assume(
            "subtransient_reactance" if name.startswith('X"') else "transient_reactance",
            say(
                "{name} is taken as {reactance:g}; sets range from 0.10 to 0.25 (X\"d) and 0.15 to 0.40 (X'd).",
                name=name,
                reactance=value,
            ),
            value=value,
            basis="common_practice",
            references=(COMMON_PRACTICE.id,),
        )
