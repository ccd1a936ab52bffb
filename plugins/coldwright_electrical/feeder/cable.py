"""What one size of cable may carry, set by set, and what it opposes to the current."""

from collections.abc import Iterator
from typing import Final, NamedTuple

from msgspec import UNSET

from coldwright.contract import Allowed, FieldError, Refused, field_error, load_table
from coldwright_basis.compare import above, at_most
from coldwright_electrical.feeder.ampacity import (
    PORTABLE_SIZES,
    RACEWAY_SIZES,
    RUBBER_SIZES,
    RUBBER_TEMPERATURE,
    SINGLE,
    THREE_CONDUCTOR,
    ambient_factor,
    bundling_factor,
    portable_ampacity,
    raceway_ampacity,
    rubber_ambient_factor,
    rubber_ampacity,
)
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.shared.impedance import reactance_at, resistance_at, table_impedance
from coldwright_electrical.shared.sizes import cross_section, is_metric

CONNECTOR_RATINGS = load_table("coldwright_electrical", "connector_ratings")

_connector_rating: Final = {size: float(rating) for size, rating in CONNECTOR_RATINGS.rows}

MOST_SETS: Final = 10

HOTTEST_CLASS: Final = 90
HOTTEST_BELOW_IT: Final = 59
"""Class of insulation in degC, and the air around a cable of a lower one; no question has hotter air than the class holds."""

LEAST_PARALLEL_AREA: Final = cross_section("1/0 AWG")

# Reactance by arrangement over that of the table, from ln(GMD/GMR) for 4/0 AWG in 23 mm cable: 0.0341 ohm/kft in
# trefoil, 0.0394 side by side, 0.0984 with 300 mm between. Lines of one phase laid together are no better than spaced.
REACTANCE_FACTOR: Final = {
    "bundled_per_set": 1.0,
    "flat_touching": 1.155,
    "spaced": 2.9,
    "conductors_of_a_phase_grouped": 2.9,
}


class Terms(NamedTuple):
    """What holds for every size of this question."""

    insulation: int
    termination: int
    temperature_factor: float
    bundling_factor: float
    connector_basis: bool
    """The connectors' rating decides in place of the terminations' table."""


class Cable(NamedTuple):
    """One size: currents [A] of one set, impedance [ohm/m] of one conductor. `None` where no such limit exists."""

    size: str
    area: float
    each: float
    contact: float | None
    termination: float | None
    connector: float | None
    resistance: float
    reactance: float

    @property
    def carries(self) -> float:
        """What the conductor itself carries, terminations apart."""
        return self.each if self.contact is None else min(self.each, self.contact)

    def total(self, sets: int) -> float:
        """Ampacity of parallel sets with the terminations' limit by the table."""
        return sets * (self.carries if self.termination is None else min(self.carries, self.termination))

    def total_by_connector(self, sets: int) -> float | None:
        """The same with the connectors' rating in place of the terminations' limit."""
        return None if self.connector is None else sets * min(self.carries, self.connector)

    def deciding(self, sets: int, *, connector_basis: bool) -> float:
        """The one of the two that counts."""
        by_connector = self.total_by_connector(sets) if connector_basis else None
        return self.total(sets) if by_connector is None else by_connector


def terms_of(given: FeederGiven) -> Terms:
    """Classes and factors; refuses what lies outside the tables."""
    errors: list[FieldError] = []
    nec = given.practice == "nec"
    insulation = given.insulation_temperature if given.insulation_temperature is not UNSET else (90 if nec else 60)
    termination = given.termination_temperature
    if termination is UNSET:
        termination = 60 if at_most(given.overcurrent_device.si, 100) else 75
    own = given.ampacity_each is not UNSET
    if not nec:
        _check_iec(given, insulation, own, errors)
    ambient = given.ambient_temperature.to("degC")
    factor = _temperature_factor(given, ambient, insulation, own, errors)
    if errors:
        raise Refused(errors)
    bundling = 1.0 if own else bundling_factor(given.current_carrying_conductors)
    by_connector = (
        nec
        and given.termination_basis == "connector_rating"
        and given.ends == "connectors"
        and given.construction == "single_conductor_portable"
    )
    return Terms(insulation, termination, factor, bundling, by_connector)


def _check_iec(given: FeederGiven, insulation: int, own: bool, errors: list[FieldError]) -> None:
    if given.construction == "wire_in_raceway":
        errors.append(
            field_error(
                "/construction",
                "Wire in raceway is taken under nec only.",
                value=given.construction,
                allowed=Allowed(one_of=("single_conductor_portable", "multi_conductor_portable")),
                why="The iec table of this method is that of flexible rubber cable.",
            )
        )
    if insulation != RUBBER_TEMPERATURE and not own:
        errors.append(
            field_error(
                "/insulation_temperature",
                f"The iec table holds for rubber cable with conductors at 60 degC, not {insulation} degC.",
                value=insulation,
                allowed=Allowed(one_of=("60",)),
                why="For other cable give `ampacity_each` with `ampacity_source`.",
            )
        )


def _temperature_factor(
    given: FeederGiven, ambient: float, insulation: int, own: bool, errors: list[FieldError]
) -> float:
    if insulation < HOTTEST_CLASS and above(ambient, HOTTEST_BELOW_IT):
        errors.append(
            field_error(
                "/ambient_temperature",
                f"{ambient:.4g} degC is too hot for conductors of {insulation} degC.",
                value=given.ambient_temperature,
                allowed=Allowed(maximum=HOTTEST_BELOW_IT, unit="degC"),
                why="Nothing is left for the current, or the table ends.",
            )
        )
    elif not own:
        factor = rubber_ambient_factor(ambient) if given.practice == "iec" else ambient_factor(ambient, insulation)
        if factor is not None:
            return factor
        errors.append(
            field_error(
                "/ambient_temperature",
                f"The table has no factor for {ambient:.4g} degC with conductors of {insulation} degC.",
                value=given.ambient_temperature,
                allowed=Allowed(maximum=55, unit="degC"),
                why="The column ends there: use cable of a higher class.",
            )
        )
    return 1.0  # to a figure of the caller nothing is applied; what is refused comes to nothing


def sizes_to_try(given: FeederGiven) -> tuple[str, ...]:
    """Sizes of the table that the construction uses, the smallest first."""
    if given.practice == "iec":
        return RUBBER_SIZES
    return RACEWAY_SIZES if given.construction == "wire_in_raceway" else PORTABLE_SIZES


def cables_to_try(given: FeederGiven, terms: Terms) -> Iterator[Cable]:
    """Every size with all its numbers known, the smallest first."""
    for size in sizes_to_try(given):
        cable, _ = _cable(given, terms, size)
        if cable is not None:
            yield cable


def cable_given(given: FeederGiven, terms: Terms, size: str) -> Cable:
    """The size that the caller names; refused where a number is not known."""
    if is_metric(size) is not (given.practice == "iec"):
        wanted = "mm2" if given.practice == "iec" else "AWG or kcmil"
        raise Refused(
            [
                field_error(
                    "/conductor_size",
                    f"Sizes are in {wanted} under {given.practice}.",
                    value=size,
                    allowed=Allowed(one_of=sizes_to_try(given)),
                )
            ]
        )
    cable, errors = _cable(given, terms, size)
    if cable is None:
        raise Refused(errors)
    return cable


def _cable(given: FeederGiven, terms: Terms, size: str) -> tuple[Cable | None, list[FieldError]]:
    errors: list[FieldError] = []
    each, contact = _ampacity(given, terms, size)
    if each is None:
        errors.append(
            field_error(
                "/conductor_size",
                f"No ampacity is known for {size} in this construction at {terms.insulation} degC.",
                value=size,
                allowed=Allowed(one_of=sizes_to_try(given)),
                why="Cells that were not seen are not guessed: give `ampacity_each` with `ampacity_source`.",
            )
        )
    termination = raceway_ampacity(size, terms.termination) if given.practice == "nec" else None
    if given.practice == "nec" and termination is None:
        errors.append(
            field_error(
                "/conductor_size",
                f"No termination limit is known for {size}.",
                value=size,
                allowed=Allowed(one_of=RACEWAY_SIZES),
                why="110.14(C) takes it from Table 310.16, of which these sizes were seen.",
            )
        )
    connector = None
    if given.practice == "nec" and given.construction == "single_conductor_portable":
        given_rating = given.connector_rating
        connector = _connector_rating.get(size) if given_rating is UNSET else given_rating.si
        if connector is None and terms.connector_basis:
            errors.append(
                field_error(
                    "/connector_rating",
                    f"No usual connector rating is known for {size}: give that of the connectors.",
                    code="missing",
                    why="The connector basis rests on the stated current of both connectors.",
                )
            )
    resistance, reactance = _impedance(given, terms, size, errors)
    if errors or each is None:
        return None, errors
    return Cable(size, cross_section(size), each, contact, termination, connector, resistance, reactance), errors


def _ampacity(given: FeederGiven, terms: Terms, size: str) -> tuple[float | None, float | None]:
    if given.ampacity_each is not UNSET:
        return given.ampacity_each.si, None
    factor = terms.temperature_factor * terms.bundling_factor
    single = given.construction == "single_conductor_portable"
    if given.practice == "iec":
        return _times(rubber_ampacity(size, multi_core=not single), factor), None
    if given.construction == "wire_in_raceway":
        return _times(raceway_ampacity(size, terms.insulation), factor), None
    of_three = _times(portable_ampacity(size, terms.insulation, THREE_CONDUCTOR), factor)
    if not single:
        return of_three, None
    alone = _times(portable_ampacity(size, terms.insulation, SINGLE), factor)
    return alone, None if given.arrangement == "spaced" else of_three


def _times(ampacity: float | None, factor: float) -> float | None:
    return None if ampacity is None else ampacity * factor


def _impedance(given: FeederGiven, terms: Terms, size: str, errors: list[FieldError]) -> tuple[float, float]:
    """Resistance at the conductor temperature of the table and reactance as laid [ohm/m]."""
    row = table_impedance(size)
    resistance, reactance = given.resistance_per_length, given.reactance_per_length
    errors.extend(
        field_error(
            f"/{name}", f"None is tabulated for {size}: give it.", code="missing", why="Cells not seen are not guessed."
        )
        for name, value in (("resistance_per_length", resistance), ("reactance_per_length", reactance))
        if value is UNSET and row is None
    )
    r = x = 0.0
    if resistance is not UNSET:
        r = resistance.si
    elif row is not None:
        r = row.resistance if given.practice == "nec" else resistance_at(row, terms.insulation)
    if reactance is not UNSET:
        x = reactance.si
    elif row is not None:
        single = given.construction == "single_conductor_portable"
        x = reactance_at(row, given.frequency.value) * (REACTANCE_FACTOR[given.arrangement] if single else 1.0)
    return r, x
