"""Overcurrent devices of both sides."""

from typing import NamedTuple

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Current
from coldwright_basis.ratings import rating_at_least, rating_at_most
from coldwright_electrical.shared.transformers import TRANSFORMER_DEVICE_LIMITS
from coldwright_electrical.transformer.given import TransformerGiven


class Devices(NamedTuple):
    """Limits and standard ratings, A; None where the rule has none."""

    primary: float | None = None
    primary_standard: float | None = None
    secondary: float | None = None
    secondary_standard: float | None = None


def devices_of(given: TransformerGiven, notes: Notes, primary: float, secondary: float) -> Devices:
    """Limits and standard ratings of both sides from the rated currents [A]."""
    if given.practice == "iec":
        alone = given.protection == "primary_only"
        return Devices(
            primary,
            rating_at_least("iec", primary),
            None if alone else secondary,
            None if alone else rating_at_least("iec", secondary),
        )
    rows = TRANSFORMER_DEVICE_LIMITS.rows
    least = float(rows["least_rated_current"])
    if min(primary, secondary) < least:
        notes.check(
            "device_rule_not_covered",
            say(
                "A rated current of {primary:.3g} is below {least:g}, where other multiples hold.",
                primary=Current.of(min(primary, secondary), "A"),
                least=Current.of(least, "A"),
            ),
            resolve="Read NEC Table 450.3(B) for small currents.",
            field="/rated_apparent_power",
            references=(TRANSFORMER_DEVICE_LIMITS.reference.id,),
        )
        return Devices()
    factors = rows[given.protection]
    limit = float(factors["primary"]) * primary
    notes.show("I_p", "Limit of the primary device", f"{factors['primary']:g} x {primary:.5g}", limit, "A")
    if given.protection == "primary_only":
        return Devices(limit, rating_at_least("nec", limit))
    second = float(factors["secondary"]) * secondary
    notes.show("I_q", "Limit of the secondary device", f"{factors['secondary']:g} x {secondary:.5g}", second, "A")
    return Devices(limit, rating_at_most("nec", limit), second, rating_at_least("nec", second))


def report_missing(notes: Notes, devices: Devices) -> None:
    """A `check` for each side whose limit no standard rating reaches."""
    for side, limit, standard in (
        ("primary", devices.primary, devices.primary_standard),
        ("secondary", devices.secondary, devices.secondary_standard),
    ):
        if limit is not None and standard is None:
            notes.check(
                "device_rule_not_covered",
                say(
                    "No standard rating reaches the {limit:.5g} of the {side} side.",
                    limit=Current.of(limit, "A"),
                    side=side,
                ),
                resolve="Two transformers, or an engineered device.",
                field="/rated_apparent_power",
            )
