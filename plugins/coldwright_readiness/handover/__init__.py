"""The acceptance record: figures against what was required, signatures, exceptions. No opinion beyond pass or fail."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Allowed, Example, FieldError, Notes, Refused, calculator, field_error, finding
from coldwright_basis.instants import stamp_error
from coldwright_basis.repeats import repeated
from coldwright_readiness.handover.findings import HANDOVER_ITEMS, report
from coldwright_readiness.handover.given import (
    KINDS_OF_UNIT,
    PARTIES,
    Bound,
    HandoverGiven,
    HandoverItem,
    Party,
    ReadingValue,
)
from coldwright_readiness.handover.results import HandoverCounts, HandoverResults, HandoverRow, Overall, RowResult
from coldwright_readiness.handover.values import comparable, equal, keeps_to, reaches, record_hash, rounded
from coldwright_readiness.shared import cautions
from coldwright_readiness.shared.references import CANONICAL_RECORD, COMMON_PRACTICE


def _example_item(name: str, required: dict[str, Any], measured: Any) -> dict[str, Any]:
    return {"id": name, "required": required, "measured": measured, "by": "T. Example"}


@calculator(
    "readiness.handover",
    version="1.0.2",
    title="Acceptance record: pass, fail, signatures, exceptions and a hash",
    references=(COMMON_PRACTICE, CANONICAL_RECORD),
    tables=(HANDOVER_ITEMS,),
    hazards=("rotating", "general"),
    findings=(
        finding("item_failed", "stop", "A line fails and both parties have not accepted it."),
        finding("item_accepted", "check", "A line fails and both parties accepted it."),
        finding("item_not_done", "check", "A line was not done."),
        finding("signature_missing", "check", "A party has not signed."),
        finding("exception_not_signed", "check", "An exception lacks the signature of a party."),
        finding("exception_not_needed", "note", "An exception for a line that does not fail."),
    ),
    examples=(
        Example(
            "Everything passes",
            "Invented: three lines, both parties signed.",
            {
                "items": [
                    _example_item(
                        "loop_pressure_pump_off",
                        {"minimum": {"value": 40, "unit": "psi"}, "maximum": {"value": 50, "unit": "psi"}},
                        {"value": 318, "unit": "kPa"},
                    ),
                    _example_item("voltage_unbalance", {"maximum": 0.02}, 0.008),
                    _example_item("phase_rotation", {"equals": "correct"}, "correct"),
                ],
                "signatures": [
                    {"party": "rental", "name": "T. Example", "at": "2026-05-04T10:40:00Z"},
                    {"party": "site", "name": "S. Example", "at": "2026-05-04T10:42:00Z"},
                ],
            },
        ),
        Example(
            "One line is accepted, one is not done",
            "Invented: the sound is a little high and accepted; the alarm list was not read.",
            {
                "items": [
                    _example_item(
                        "sound_at_boundary", {"maximum": {"value": 65, "unit": "dBA"}}, {"value": 66, "unit": "dBA"}
                    ),
                    {"id": "no_alarms", "required": {"equals": True}},
                ],
                "signatures": [{"party": "rental", "name": "T. Example"}],
                "exceptions": [
                    {"item": "sound_at_boundary", "reason": "day work only", "signed_by": ["rental", "site"]}
                ],
            },
        ),
    ),
)
def handover(given: HandoverGiven, notes: Notes) -> HandoverResults:
    """Judge the record of a handover line by line.

    A line passes when minimum <= measured <= maximum after conversion of units (rounded to the instrument's resolution
    first, where it is given), or when it equals what was asked. What was not measured is `not_done` and never passes. A
    failed line fails the record unless both parties signed an exception for it.
    """
    _refuse(given)
    notes.caution(*cautions.HANDOVER)
    notes.assume("instruments_in_date", "Every instrument is within its date of calibration.", basis="default")
    notes.assume("named_persons", "Whoever is named beside a line took the reading.", basis="default")
    results = [_judge(item) for item in given.items]
    signatures = () if given.signatures is UNSET else given.signatures
    signed = {s.party for s in signatures}
    missing = tuple(party for party in PARTIES if party not in signed)
    accepted = _accepted(given)
    report(given, results, missing, accepted, notes)
    sent = {"items": given.items, "signatures": given.signatures, "exceptions": given.exceptions}
    return HandoverResults(
        overall=_overall(given, results, missing, accepted),
        rows=tuple(
            HandoverRow(id=item.id, required=item.required, measured=item.measured, result=result)
            for item, result in zip(given.items, results, strict=True)
        ),
        counts=HandoverCounts(
            passed=results.count("pass"), fail=results.count("fail"), not_done=results.count("not_done")
        ),
        signatures_missing=missing,
        record_hash=record_hash({name: part for name, part in sent.items() if part is not UNSET}),
    )


def _judge(item: HandoverItem) -> RowResult:
    if item.measured is UNSET:
        return "not_done"
    measured, asked = item.measured, item.required
    if item.resolution is not UNSET:
        measured = rounded(measured, item.resolution)
    good = (
        (asked.minimum is UNSET or reaches(measured, asked.minimum))
        and (asked.maximum is UNSET or keeps_to(measured, asked.maximum))
        and (asked.equals is UNSET or equal(measured, asked.equals))
    )
    return "pass" if good else "fail"


def _accepted(given: HandoverGiven) -> set[str]:
    """Lines with an exception that both parties signed."""
    exceptions = () if given.exceptions is UNSET else given.exceptions
    return {e.item for e in exceptions if set(PARTIES) <= set(e.signed_by)}


def _overall(given: HandoverGiven, results: list[RowResult], missing: tuple[Party, ...], accepted: set[str]) -> Overall:
    failed = [item.id for item, result in zip(given.items, results, strict=True) if result == "fail"]
    if any(name not in accepted for name in failed):
        return "fail"
    if missing or "not_done" in results:
        return "incomplete"
    return "pass_with_exceptions" if failed else "pass"


def _refuse(given: HandoverGiven) -> None:
    errors = repeated((f"/items/{index}/id", item.id) for index, item in enumerate(given.items))
    known = {item.id for item in given.items}
    for index, item in enumerate(given.items):
        errors += _item_errors(item, f"/items/{index}")
    for index, exception in enumerate(() if given.exceptions is UNSET else given.exceptions):
        if exception.item not in known:
            text = "There is no such line in the record."
            errors.append(field_error(f"/exceptions/{index}/item", text, value=exception.item))
    for index, signature in enumerate(() if given.signatures is UNSET else given.signatures):
        if signature.at is not UNSET and (error := stamp_error(f"/signatures/{index}/at", signature.at)):
            errors.append(error)
    if errors:
        raise Refused(errors[:50])


def _item_errors(item: HandoverItem, pointer: str) -> list[FieldError]:
    asked = item.required
    bounds = {"minimum": asked.minimum, "maximum": asked.maximum, "equals": asked.equals}
    values = {f"required/{name}": v for name, v in bounds.items() if v is not UNSET}
    if not values or (asked.equals is not UNSET and len(values) > 1):
        return [field_error(f"{pointer}/required", "Give minimum and/or maximum, or equals alone.")]
    first = next(iter(values.values()))
    values |= {name: v for name in ("measured", "resolution") if (v := getattr(item, name)) is not UNSET}
    errors = []
    for name, value in values.items():
        if isinstance(value, ReadingValue) and value.unit not in KINDS_OF_UNIT:
            allowed = Allowed(one_of=tuple(KINDS_OF_UNIT))
            text = "There is no such unit."
            errors.append(
                field_error(f"{pointer}/{name}/unit", text, code="not_allowed", value=value.unit, allowed=allowed)
            )
        elif not comparable(value, first):
            errors.append(
                field_error(
                    f"{pointer}/{name}", "This cannot be compared with what is required: it is of another kind."
                )
            )
    if errors:
        return errors
    if asked.minimum is not UNSET and asked.maximum is not UNSET and not keeps_to(asked.minimum, asked.maximum):
        errors.append(field_error(f"{pointer}/required/minimum", "The minimum is above the maximum."))
    if item.resolution is not UNSET and not _positive(item.resolution):
        errors.append(field_error(f"{pointer}/resolution", "A resolution is above zero.", allowed=Allowed(above=0)))
    if item.observed_at is not UNSET and (error := stamp_error(f"{pointer}/observed_at", item.observed_at)):
        errors.append(error)
    return errors


def _positive(resolution: Bound) -> bool:
    number = resolution.value if isinstance(resolution, ReadingValue) else resolution
    return number > 1e-12
