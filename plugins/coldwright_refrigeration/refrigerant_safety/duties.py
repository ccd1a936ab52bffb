"""Leak rate, leak checks and the duties of whoever owns or runs the machine."""

import datetime
from typing import NamedTuple

from msgspec import UNSET, Struct, convert

from coldwright.contract import Allowed, Notes, Refused, field_error, load_table, say
from coldwright.contract.quantities import Mass
from coldwright_refrigeration.refrigerant_safety.given import RefrigerantSafetyGiven
from coldwright_refrigeration.refrigerant_safety.results import DutyCode
from coldwright_refrigeration.shared.references import CFR_82_F, EU_2024_573
from coldwright_refrigeration.shared.refrigerant_limits import RefrigerantLimits
from coldwright_refrigeration.shared.saturation import saturation_of

RECOVERY_TABLE = load_table("coldwright_refrigeration", "recovery_levels")
LEAK_RATES_TABLE = load_table("coldwright_refrigeration", "leak_rate_limits")
INTERVALS_TABLE = load_table("coldwright_refrigeration", "leak_check_intervals")
POUND = 0.45359237
OZONE_CHARGE, SUBSTITUTE_CHARGE = 50 * POUND, 15 * POUND
SUBSTITUTE_GWP = 53
SUBSTITUTE_RULE_FROM = datetime.date(2026, 1, 1)
RECOVERY_CHARGE = 200 * POUND
REPAIR_DAYS, FOLLOW_UP_DAYS = 30, 10
DAYS_OF_A_YEAR = 365.0
DETECTION_FROM_TONNES = 500.0
HERMETIC_BELOW_TONNES = 10.0
PSI = 6894.757293168
CLASSIFYING_TEMPERATURE = 313.15
"""K; 104 degF, at which 40 CFR 82.152 classifies refrigerants by pressure."""


class _RecoveryLevel(Struct, frozen=True):
    psia_below: float
    under_200_lb: float
    from_200_lb: float


class _LeakRate(Struct, frozen=True):
    use: str
    limit: float


class _Interval(Struct, frozen=True):
    from_tonnes: float
    months: int


_RECOVERY = convert(RECOVERY_TABLE.rows, list[_RecoveryLevel])
_LEAK_RATES = {row.use: row.limit for row in convert(LEAK_RATES_TABLE.rows, list[_LeakRate])}
_INTERVALS = convert(INTERVALS_TABLE.rows, list[_Interval])


class Duty(NamedTuple):
    """One duty, with its delay in days where there is one."""

    code: DutyCode
    statement: str
    due_days: int | None = None


class Duties(NamedTuple):
    """What the rules say of this charge; CO2 equivalent in kg."""

    co2_equivalent: float
    leak_rate: float | None
    leak_rate_limit: float | None
    leak_check_interval: int | None
    entries: tuple[Duty, ...]


def refuse_contradictions(given: RefrigerantSafetyGiven) -> datetime.date:
    """Refuse what does not belong together; the day that the rules are asked for."""
    errors = []
    if given.location != "outdoors" and given.space_volume is UNSET:
        errors.append(field_error("/space_volume", f"The volume is required for `{given.location}`.", code="missing"))
    for i, addition in enumerate(given.additions):
        if addition.circuit >= len(given.circuits):
            errors.append(
                field_error(
                    f"/additions/{i}/circuit",
                    f"There is no circuit {addition.circuit}: `circuits` has {len(given.circuits)}.",
                    value=addition.circuit,
                    allowed=Allowed(minimum=0, maximum=len(given.circuits) - 1),
                )
            )
    when = SUBSTITUTE_RULE_FROM
    if given.date is not UNSET:
        try:
            when = datetime.date.fromisoformat(given.date)
        except ValueError:
            errors.append(field_error("/date", f"{given.date} is not a day of the calendar.", value=given.date))
    if errors:
        raise Refused(errors)
    return when


def duties_of(given: RefrigerantSafetyGiven, limits: RefrigerantLimits, when: datetime.date, notes: Notes) -> Duties:
    """Work out rates, intervals and duties, and write their findings."""
    total = sum(c.charge.si for c in given.circuits)
    gwp = limits.warming_potential
    notes.show("CO2e", "Carbon dioxide equivalent", f"{total:.4g} kg x {gwp:g} / 1000", total * gwp / 1000, "t")
    leak_rate = _leak_rate(given, notes)
    limit = _leak_rate_limit(given, limits, when)
    if given.refrigerant == "R-22":
        notes.note(
            "reclaimed_only",
            "R-22 is no longer made or imported new: only reclaimed refrigerant can be added.",
            resolve="Ask for its price and delay before a leak makes it urgent.",
            references=(CFR_82_F.id,),
        )
    if given.jurisdiction == "us":
        entries = _us_duties(given)
        if leak_rate is not None and limit is not None and leak_rate > limit:
            entries += _repair(given, leak_rate, limit, notes)
        return Duties(total * gwp, leak_rate, limit, None, tuple(entries))
    interval = _interval(given, limits, total * gwp / 1000, notes)
    return Duties(total * gwp, leak_rate, None, interval, tuple(_eu_duties(interval, total * gwp / 1000)))


def _leak_rate(given: RefrigerantSafetyGiven, notes: Notes) -> float | None:
    """Annualised rate of the last addition."""
    if not given.additions:
        return None
    for i, addition in enumerate(given.additions):
        held = given.circuits[addition.circuit].charge
        if addition.mass.si > held.si:
            notes.check(
                "addition_above_charge",
                say("{mass} were added to a circuit that holds {held}.", mass=addition.mass, held=held),
                why="A circuit cannot take more than its full charge unless it is overfilled or the figures are wrong.",
                resolve="Look at the record and the plate.",
                field=f"/additions/{i}/mass",
            )
    last = given.additions[-1]
    charge = given.circuits[last.circuit].charge.si
    days = DAYS_OF_A_YEAR
    if last.days_since_previous is not UNSET:
        days = min(last.days_since_previous.to("d"), DAYS_OF_A_YEAR)
    rate = last.mass.si / charge * DAYS_OF_A_YEAR / days
    notes.show(
        "LR", "Leak rate a year", f"{last.mass.si:.4g} kg / {charge:.4g} kg x {DAYS_OF_A_YEAR:g} / {days:g}", rate
    )
    return rate


def _leak_rate_limit(given: RefrigerantSafetyGiven, limits: RefrigerantLimits, when: datetime.date) -> float | None:
    """By use, where a rule of the US applies to the circuit: the one last filled, else the largest."""
    if given.jurisdiction != "us":
        return None
    charge = max(c.charge.si for c in given.circuits)
    if given.additions:
        charge = given.circuits[given.additions[-1].circuit].charge.si
    if limits.chemistry == "hcfc":
        applies = charge >= OZONE_CHARGE
    else:
        applies = (
            limits.warming_potential > SUBSTITUTE_GWP and charge >= SUBSTITUTE_CHARGE and when >= SUBSTITUTE_RULE_FROM
        )
    return _LEAK_RATES[given.use] if applies else None


def _repair(given: RefrigerantSafetyGiven, rate: float, limit: float, notes: Notes) -> list[Duty]:
    notes.check(
        "leak_rate_over_limit",
        say(
            "The leak rate is {rate:.3f} of the charge a year, above {limit:.2f} for `{use}`.",
            rate=rate,
            limit=limit,
            use=given.use,
        ),
        why="Above the limit the law asks for repair, and the clock runs from the day of the addition.",
        resolve=f"Find and repair the leak within {REPAIR_DAYS} days, and verify it twice.",
        field=f"/additions/{len(given.additions) - 1}/mass",
        references=(LEAK_RATES_TABLE.reference.id,),
    )
    return [
        Duty("repair_leak", f"Repair the leak within {REPAIR_DAYS} days of the addition.", REPAIR_DAYS),
        Duty(
            "verify_repair",
            "Verify the repair before the machine is back in service, and once more within "
            f"{FOLLOW_UP_DAYS} days of the first verification that held.",
            FOLLOW_UP_DAYS,
        ),
    ]


def _us_duties(given: RefrigerantSafetyGiven) -> list[Duty]:
    return [
        Duty("certified_technician", "Only a technician certified under 40 CFR 82.161 works on the circuit."),
        Duty("no_venting", "Nobody lets refrigerant escape knowingly while maintaining, repairing or disposing."),
        Duty("recover_before_opening", _recovery(given)),
        Duty("keep_records", "Keep records of charge, additions, leak rates, repairs and verification tests."),
    ]


def _recovery(given: RefrigerantSafetyGiven) -> str:
    """40 CFR 82.156, Table 1, for recovery equipment made since 15 November 1993."""
    charge = max(c.charge.si for c in given.circuits)
    psia = saturation_of(given.refrigerant).bubble.pressure(CLASSIFYING_TEMPERATURE) / PSI
    row = next(r for r in _RECOVERY if psia < r.psia_below)
    inches = row.from_200_lb if charge >= RECOVERY_CHARGE else row.under_200_lb
    level = f"{inches:g} inches of mercury below atmospheric pressure" if inches else "atmospheric pressure"
    return (
        f"Before a certified technician opens the circuit the refrigerant is recovered down to {level} with certified "
        "equipment."
    )


def _interval(given: RefrigerantSafetyGiven, limits: RefrigerantLimits, tonnes: float, notes: Notes) -> int | None:
    """Months between leak checks in the EU and Great Britain."""
    if limits.chemistry != "hfc":
        notes.note(
            "other_eu_rule",
            {
                "hcfc": "Ozone-depleting refrigerants have leak checks by kilograms under their own regulation.",
                "hfo": "Unsaturated fluorocarbons have leak checks by kilograms in the EU since 2024.",
                "hydrocarbon": "Hydrocarbons are not fluorinated gases: no leak check is due under these rules.",
            }[str(limits.chemistry)],
            resolve="The stricter of both rules holds; confirm it with the authority. From memory.",
            references=(EU_2024_573.id,),
        )
    if limits.chemistry == "hydrocarbon" or (given.hermetic and tonnes < HERMETIC_BELOW_TONNES):
        return None
    if tonnes >= DETECTION_FROM_TONNES and not given.leak_detection:
        notes.check(
            "detection_compulsory",
            say(
                "The charge is {tonnes:.4g} CO2 equivalent and no leakage detection system is named.",
                tonnes=Mass.of(tonnes, "t"),
            ),
            why=say(
                "From {detection_from_tonnes:g} it is compulsory.",
                detection_from_tonnes=Mass.of(DETECTION_FROM_TONNES, "t"),
            ),
            resolve="Fit one that alerts the operator or the service company, or use smaller or other charges.",
            field="/leak_detection",
            references=(INTERVALS_TABLE.reference.id,),
        )
    months = next((row.months for row in _INTERVALS if tonnes >= row.from_tonnes), None)
    if months is None:
        return None
    return 2 * months if given.leak_detection else months


def _eu_duties(interval: int | None, tonnes: float) -> list[Duty]:
    entries = [
        Duty("certified_technician", "Only certified persons install, service, repair or check the circuit."),
        Duty("no_venting", "Nobody lets refrigerant escape on purpose."),
        Duty("recover_before_opening", "Certified persons recover the refrigerant before a circuit is opened."),
        Duty("keep_records", "Keep records of charge, additions, recoveries, checks and who did them."),
    ]
    if interval is not None:
        entries.append(
            Duty(
                "leak_check",
                f"A certified person checks for leaks at least every {interval} months; a leak is repaired without "
                "delay and checked again within a month.",
            )
        )
        if tonnes >= DETECTION_FROM_TONNES:
            entries.append(Duty("leak_detection", "Fit a leakage detection system and have it checked every year."))
    return entries
