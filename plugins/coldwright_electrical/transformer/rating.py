"""Rating and impedance: as given, else the next one made and its usual impedance."""

import math

from msgspec import UnsetType

from coldwright.contract import Allowed, Notes, refuse, tidy
from coldwright_basis.usual import given_or_usual
from coldwright_electrical.shared.references import COMMON_PRACTICE
from coldwright_electrical.shared.transformers import TRANSFORMER_RATINGS, next_rating, usual_data
from coldwright_electrical.transformer.given import TransformerGiven


def rating_of(given: TransformerGiven, notes: Notes) -> float:
    """Rating [kVA]: as given, else the next one made above the load and its growth; refused above the largest."""
    if not isinstance(given.rated_apparent_power, UnsetType):
        return given.rated_apparent_power.to("kVA")
    wanted = given.load_apparent_power.to("kVA") * (1 + given.growth_fraction)
    rating = next_rating(given.practice, wanted)
    if rating is None:
        largest = float(TRANSFORMER_RATINGS.rows[given.practice][-1])
        raise refuse(
            "/load_apparent_power",
            f"With growth the load asks for {wanted:g} kVA; the largest rating here is {largest:g} kVA.",
            value=given.load_apparent_power,
            allowed=Allowed(maximum=tidy(largest / (1 + given.growth_fraction)), unit="kVA"),
            why="Give rated_apparent_power for a larger transformer, or split the load.",
        )
    notes.show(
        "S",
        "Rating, next one made",
        f"{given.load_apparent_power} x (1 + {given.growth_fraction:g}) = {wanted:.5g} kVA, the next one made",
        rating,
        "kVA",
    )
    return rating


def impedance_of(given: TransformerGiven, notes: Notes, kva: float) -> complex:
    """R + jX per unit."""
    usual, practice = usual_data(kva), (COMMON_PRACTICE.id,)
    statement = f"The impedance is {usual.impedance:g} per unit, usual for {kva:g} kVA."
    z = given_or_usual(
        given.impedance_fraction, usual.impedance, notes, "impedance_fraction", statement, references=practice
    )
    statement = f"X/R is {usual.x_over_r:g}, usual for {kva:g} kVA."
    ratio = given_or_usual(given.x_over_r, usual.x_over_r, notes, "x_over_r", statement, references=practice)
    r = z / math.sqrt(1 + ratio * ratio)
    notes.show("R", "Resistance per unit", f"z / sqrt(1 + a^2), z = {z:g}, a = {ratio:g}", r)
    notes.show("X", "Reactance per unit", f"a R = {ratio:g} x {r:.6g}", r * ratio)
    return complex(r, r * ratio)
