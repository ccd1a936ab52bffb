"""Dose of a worker's day by the two US rules."""

import math
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, refuse, say
from coldwright.contract.quantities import Duration, SoundLevel
from coldwright_basis.compare import above, at_least
from coldwright_site.sound.given import ExposureGiven, SoundGiven
from coldwright_site.sound.results import ExposureResults


def exposure(given: SoundGiven, notes: Notes) -> ExposureResults | UnsetType:
    """Dose, average and allowed times of a worker's day; nothing without stays."""
    if not given.exposure:
        return UNSET
    hours = math.fsum(stay.duration.to("h") for stay in given.exposure)
    if above(hours, 24):
        raise refuse("/exposure", f"The stays come to {hours:.4g} h.", why="A day has 24 h.")
    dose, average, allowed = day(given.exposure, given.rule, notes)
    return ExposureResults(
        dose=dose,
        twa=UNSET if average is None else SoundLevel.of(average, "dBA"),
        allowed_time=tuple(Duration.of(a, "h") for a in allowed),
    )


class Rule(NamedTuple):
    """Level that is allowed for eight hours, decibels that halve the time, and the level from which stays count."""

    eight_hours: float
    halves: float
    counts_from: float
    reference: str


RULES = {
    "osha": Rule(90.0, 5.0, 80.0, "osha_1910_95_app_a"),
    "niosh": Rule(85.0, 3.0, 0.0, "niosh_98_126"),
}
HIGHEST = 115.0
"""dBA, where Table G-16 of 29 CFR 1910.95 ends."""


def allowed_hours(level: float, rule: Rule) -> float:
    """Hours a day that a level is allowed."""
    return float(8 / 2 ** ((level - rule.eight_hours) / rule.halves))


def day(stays: tuple[ExposureGiven, ...], name: str, notes: Notes) -> tuple[float, float | None, list[float]]:
    """Dose as a fraction, time-weighted average (none without dose) and allowed hours of each stay."""
    rule = RULES[name]
    allowed = [allowed_hours(stay.level.value, rule) for stay in stays]
    dose = math.fsum(
        stay.duration.to("h") / hours
        for stay, hours in zip(stays, allowed, strict=True)
        if stay.level.value >= rule.counts_from
    )
    for index, (stay, hours) in enumerate(zip(stays, allowed, strict=True)):
        expression = f"8 / 2^(({stay.level.value:g} - {rule.eight_hours:g}) / {rule.halves:g})"
        notes.show(f"T_{index + 1}", "Allowed time", expression, hours, "h")
    notes.show("D", "Dose, 1 is the limit", "sum C/T of the stays that count", dose)
    average = None
    if dose > 0:
        slope = 16.61 if name == "osha" else 10.0
        average = slope * math.log10(dose) + rule.eight_hours
        notes.show(
            "TWA", "Time-weighted average", f"{slope:g} log10({dose:.5g}) + {rule.eight_hours:g}", average, "dBA"
        )
    _judge(stays, name, dose, notes)
    return dose, average, allowed


def _judge(stays: tuple[ExposureGiven, ...], name: str, dose: float, notes: Notes) -> None:
    reference = (RULES[name].reference,)
    resolve = "A shorter stay, more distance, a screen; protectors only after these."
    loudest = max(stay.level.value for stay in stays)
    if loudest > HIGHEST:
        notes.stop(
            "above_115",
            say("A stay in {loudest:.1f}: no time is allowed above 115 dBA.", loudest=SoundLevel.of(loudest, "dBA")),
            resolve=resolve,
            field="/exposure",
            references=("osha_1910_95_app_a",),
        )
    if name == "niosh":
        if dose > 1:
            notes.note(
                "niosh_dose", f"The day is {dose:.2f} of the recommended dose.", resolve=resolve, references=reference
            )
        return
    if dose > 1:
        notes.stop(
            "osha_dose",
            f"The day is {dose:.2f} of the permitted dose.",
            resolve=resolve,
            field="/exposure",
            references=reference,
        )
    if at_least(dose, 0.5):
        notes.check(
            "hearing_conservation",
            f"The day is {dose:.2f} of the permitted dose; from 0.5 (85 dBA) a hearing conservation programme is due.",
            resolve=resolve,
            field="/exposure",
            references=reference,
        )
