"""Penalties of the site: each an equivalent shift of a temperature, or a pair of factors printed for the machine."""

import math
from collections.abc import Sequence
from typing import Any

from msgspec import UNSET, Struct

from coldwright.contract import Allowed, Notes, Refused, field_error, refuse, say, tidy
from coldwright.contract.quantities import Length, TemperatureDifference, ThermalResistance
from coldwright_basis.compare import at_most, below, between, same
from coldwright_refrigeration.capacity.given import CapacityGiven, CorrectionFactors
from coldwright_refrigeration.capacity.rated_at import RatedAt
from coldwright_refrigeration.capacity.results import CapacityCorrection
from coldwright_refrigeration.shared import liquids
from coldwright_refrigeration.shared.condenser_air import condenser_air
from coldwright_refrigeration.shared.moist_air import standard_pressure

NO_ANTIFREEZE_FACTORS = 0.05
SLOWER_SUPPLY = 0.03
"""Relative uncertainty added by a penalty that is judged roughly."""
NARROWEST_RANGE, WIDEST_RANGE = 6 / 1.8, 18 / 1.8
"""K between which the evaporator's approach hardly depends on the range."""
NARROWEST = TemperatureDifference.from_si(NARROWEST_RANGE, "delta_degC")
WIDEST = TemperatureDifference.from_si(WIDEST_RANGE, "delta_degC")
"""The same, as sentences say them."""
RANGE_EXPONENT = -0.6
"""Transfer units of the evaporator go with the liquid's flow to this power."""


class Penalties(Struct):
    """What all penalties together do; gathered while they are gone through."""

    ambient_shift: float = 0.0
    """K, without the condenser air's."""
    leaving_shift: float = 0.0
    condenser_shift: float = 0.0
    conductance_ratio: float = 1.0
    capacity_factor: float = 1.0
    power_factor: float = 1.0
    uncertainty: float = 0.0
    corrections: tuple[CapacityCorrection, ...] = ()

    def add(self, name: Any, *, ambient: float = 0.0, leaving: float = 0.0, factors: Any = None) -> None:
        """List one penalty."""
        fields: dict[str, Any] = {}
        if ambient:
            fields["ambient_shift"] = TemperatureDifference.from_si(ambient, "delta_degC")
        if leaving:
            fields["leaving_shift"] = TemperatureDifference.from_si(leaving, "delta_degC")
        if factors is not None:
            self.capacity_factor *= factors[0]
            self.power_factor *= factors[1]
            fields |= {"capacity_factor": tidy(factors[0]), "power_factor": tidy(factors[1])}
        self.corrections += (CapacityCorrection(name=name, **fields),)


def penalties(given: CapacityGiven, basis: RatedAt, notes: Notes) -> Penalties:
    """All penalties but that of the temperature range, in the order in which they act on the air and the liquid."""
    found = Penalties()
    rise = given.conditions.recirculation_temperature_rise.si
    if rise:
        found.ambient_shift = rise
        found.add("recirculation", ambient=rise)
    ratio = _frequency(given, basis)
    _condenser_air(given, basis, ratio, found, notes)
    _fouling(given, basis, found, notes)
    _antifreeze(given, basis, found, notes)
    if ratio < 1:
        found.uncertainty += SLOWER_SUPPLY
        found.add("frequency", factors=(ratio, ratio))
        notes.check(
            "frequency_below_rating",
            say(
                "The supply runs at {frequency} and the rating is for {basis_frequency}: capacity and "
                "power are taken at {ratio:.4g} of the rating, and the fans move {ratio:.4g} of their "
                "air.",
                frequency=given.conditions.frequency,
                basis_frequency=basis.frequency,
                ratio=ratio,
            ),
            why="A fixed-speed compressor pumps in proportion to its speed. Common practice; the maker may forbid it.",
            resolve="Ask for the machine's own table at this frequency, or supply it at the rated one.",
            field="/conditions/frequency",
            references=("refrigeration_practice",),
        )
    return found


def _frequency(given: CapacityGiven, basis: RatedAt) -> float:
    """Supply frequency over rated frequency: 1, or down to 50/60."""
    if given.conditions.frequency is UNSET:
        return 1.0
    ratio = given.conditions.frequency.si / basis.frequency.si
    if same(ratio, 1):
        return 1.0
    if ratio >= 1 or below(ratio, 50 / 60):
        raise refuse(
            "/conditions/frequency",
            f"{given.conditions.frequency} on a rating for {basis.frequency} is outside the method.",
            value=given.conditions.frequency,
            allowed=Allowed(minimum=tidy(basis.frequency.si * 50 / 60), maximum=basis.frequency.si, unit="Hz"),
            why="Only running slower, down to 50 Hz on a 60 Hz rating, is judged; faster may overload motor and "
            "machine.",
        )
    return ratio


def _condenser_air(given: CapacityGiven, basis: RatedAt, speed: float, found: Penalties, notes: Notes) -> None:
    conditions, assumed = given.conditions, given.assumed
    altitude = basis.altitude if conditions.altitude is UNSET else conditions.altitude
    factors = None
    density = 1.0
    if not same(altitude.si, basis.altitude.si):
        rows = given.machine.corrections.altitude
        if rows:
            factors = read_factors(rows, "altitude", altitude.si, altitude, "/conditions/altitude")
        else:
            density = standard_pressure(altitude.si) / standard_pressure(basis.altitude.si)
    airflow = conditions.condenser_airflow_ratio * speed
    if density == airflow == 1 and factors is None:
        return
    air = condenser_air(density, airflow, assumed.condenser_ntu, assumed.air_film_exponent)
    found.conductance_ratio = air.conductance_ratio
    found.condenser_shift = air.shift(assumed.condensing_over_ambient.si)
    found.add("condenser_air", ambient=found.condenser_shift, factors=factors)
    s, ntu, n = density * airflow, assumed.condenser_ntu, assumed.air_film_exponent
    notes.show("s", "Air mass flow over rated", f"density {density:.6f} x airflow {airflow:.6f}", s)
    expression = f"s (1 - exp(-NTU s^(n-1))) / (1 - exp(-NTU)), s = {s:.4f}, NTU = {ntu:g}, n = {n:g}"
    notes.show("x", "Condenser conductance over rated", expression, air.conductance_ratio)
    notes.show(
        "dTa",
        "Equivalent rise of the ambient temperature",
        f"(1/{air.conductance_ratio:.8g} - 1) x {assumed.condensing_over_ambient}",
        TemperatureDifference.from_si(found.condenser_shift, "delta_degC"),
    )


def _fouling(given: CapacityGiven, basis: RatedAt, found: Penalties, notes: Notes) -> None:
    fouling = given.conditions.fouling_resistance
    if fouling is UNSET or same(fouling.si, basis.fouling_resistance.si):
        return
    rows = given.machine.corrections.fouling
    if rows:
        factors = read_factors(rows, "fouling_resistance", fouling.si, fouling, "/conditions/fouling_resistance")
        found.add("fouling", factors=factors)
        return
    shift = -given.assumed.evaporator_heat_flux.si * (fouling.si - basis.fouling_resistance.si)
    found.leaving_shift += shift
    found.add("fouling", leaving=shift)
    notes.show(
        "dTl",
        "Equivalent change of the leaving temperature by fouling",
        f"-{given.assumed.evaporator_heat_flux} x ({fouling} - {basis.fouling_resistance})",
        TemperatureDifference.from_si(shift, "delta_degC"),
    )


def _antifreeze(given: CapacityGiven, basis: RatedAt, found: Penalties, notes: Notes) -> None:
    fluid = given.conditions.fluid
    if liquids.same_liquid(fluid, basis.fluid):
        return
    rows = given.machine.corrections.antifreeze
    if rows and fluid.kind != "custom":
        share = liquids.strength(fluid)
        field = "kind" if share == 0 else "mass_fraction" if fluid.mass_fraction is not UNSET else "volume_fraction"
        factors = read_factors(rows, "mass_fraction", share, share, f"/conditions/fluid/{field}")
        found.add("antifreeze", factors=factors)
        return
    found.uncertainty += NO_ANTIFREEZE_FACTORS
    notes.check(
        "antifreeze_factors_missing",
        f"The rating is for {liquids.name(basis.fluid)} and the loop holds {liquids.name(fluid)}; no factors of the "
        "machine "
        f"are at hand. Capacity and power are left as they are, and {NO_ANTIFREEZE_FACTORS:.0%} is added to the "
        "uncertainty.",
        why="Antifreeze carries less heat and wets the tubes worse: the machine gives a few per cent less.",
        resolve="Send the machine's own factors in `machine.corrections.antifreeze`.",
        field="/machine/corrections",
        references=("refrigeration_practice",),
    )


def range_effect(given: CapacityGiven, basis: RatedAt, difference: float, *, shift: bool) -> tuple[float, float]:
    """Rise of the leaving temperature, K, and factor of the capacity, for a temperature difference (K)."""
    rated, own = basis.temperature_difference.si, given.machine.corrections.range
    near = not shift or between(NARROWEST_RANGE, difference, WIDEST_RANGE)
    if abs(difference - rated) < 1e-6 or (near and not own):
        return 0.0, 1.0
    if own:
        return 0.0, _range_factors(given, difference)[0]
    return _closer(given, rated, difference), 1.0


def _range_factors(given: CapacityGiven, difference: float) -> tuple[float, float]:
    """Factors of capacity and power by the machine's own table."""
    shown = TemperatureDifference.from_si(difference, "delta_degC")
    pointer = "/conditions/flow" if given.conditions.flow is not UNSET else "/conditions/temperature_difference"
    return read_factors(given.machine.corrections.range, "temperature_difference", difference, shown, pointer)


def range_penalty(
    given: CapacityGiven,
    basis: RatedAt,
    difference: float,
    found: Penalties,
    notes: Notes,
    *,
    shift: bool,
) -> None:
    """The penalty of a temperature difference (K) other than rated; `shift` false where the method holds it already."""
    rated = basis.temperature_difference
    if abs(difference - rated.si) < 1e-6:
        return
    if given.machine.corrections.range:
        found.add("range", factors=_range_factors(given, difference))
        return
    shown = TemperatureDifference.from_si(difference, "delta_degC")
    moved, _ = range_effect(given, basis, difference, shift=shift)
    both = say("Rated for a temperature difference of {rated}, planned for {shown}", shown=shown, rated=rated)
    if not shift:
        statement = say("{both}: the estimate takes it into account.", both=both)
        notes.note("range_differs_from_rating", statement, references=("refrigeration_first_principles",))
        return
    closer = TemperatureDifference.from_si(_closer(given, rated.si, difference), "delta_degC")
    approach = given.assumed.evaporator_approach
    expression = f"{approach} - {shown} / (exp(ln(1 + {rated}/{approach}) x ({shown}/{rated})^{-RANGE_EXPONENT:g}) - 1)"
    notes.show("dT_e", "Evaporator's approach, closer by", expression, closer)
    notes.show("dT_min", "Least difference without correction", "common practice", NARROWEST)
    notes.show("dT_max", "Greatest difference without correction", "common practice", WIDEST)
    if not moved:
        notes.note(
            "range_differs_from_rating",
            say(
                "{both}: from {narrowest} to {widest} nothing is corrected; the evaporator's approach would move by {move}.",
                both=both,
                narrowest=NARROWEST,
                widest=WIDEST,
                move=TemperatureDifference.from_si(abs(closer.si), "delta_degC"),
            ),
            references=("refrigeration_first_principles",),
        )
        return
    found.leaving_shift += moved
    found.add("range", leaving=moved)
    notes.check(
        "range_far_from_rating",
        say(
            "{both}: outside {narrowest} to {widest}, so the approach of the evaporator is worked out anew, which moves the "
            "leaving temperature by {moved}.",
            both=both,
            narrowest=NARROWEST,
            widest=WIDEST,
            moved=closer,
        ),
        why="Too little flow leaves tubes unwetted and can freeze, too much erodes them.",
        resolve=say(
            "Choose a difference between {narrowest} and {widest}, or send `machine.corrections.range`.",
            narrowest=NARROWEST,
            widest=WIDEST,
        ),
        references=("refrigeration_practice",),
    )


def _closer(given: CapacityGiven, rated: float, difference: float) -> float:
    """K by which the evaporator's approach is less at another range."""
    approach = given.assumed.evaporator_approach.si
    return approach - _approach(approach, rated, difference)


def _approach(approach: float, rated: float, difference: float) -> float:
    """Approach of the evaporator at another range, from its transfer units at the rated one."""
    ntu = math.log1p(rated / approach) * (rated / difference) ** RANGE_EXPONENT
    return difference / math.expm1(ntu)


def read_factors(
    rows: Sequence[CorrectionFactors], field: str, value: float, shown: object, pointer: str
) -> tuple[float, float]:
    """Factors at a value, linear between two rows; refused outside them, or where the rows do not rise."""
    table = {"altitude": "altitude", "fouling_resistance": "fouling", "mass_fraction": "antifreeze"}.get(field, "range")
    at = [_si(getattr(row, field)) for row in rows]
    errors = [
        field_error(
            f"/machine/corrections/{table}/{i + 1}/{field}",
            "The row does not lie above the one before it.",
            why="Rows are read between neighbours, so they must rise.",
        )
        for i in range(len(at) - 1)
        if at[i + 1] <= at[i]
    ]
    if errors:
        raise Refused(errors)
    if not between(at[0], value, at[-1]):
        raise refuse(
            pointer,
            f"{shown} is outside the machine's correction table `{table}`, which reaches from "
            f"{_text(rows[0], field)} to "
            f"{_text(rows[-1], field)}.",
            code="outside_table",
            value=shown,
            why="A correction table is never extrapolated.",
        )
    for low, high, one, other in zip(at, at[1:], rows, rows[1:], strict=False):
        if at_most(value, high):
            u = min(max((value - low) / (high - low), 0.0), 1.0)
            return (
                (1 - u) * one.capacity_factor + u * other.capacity_factor,
                (1 - u) * one.power_factor + u * other.power_factor,
            )
    return rows[-1].capacity_factor, rows[-1].power_factor


def _si(value: Length | ThermalResistance | TemperatureDifference | float) -> float:
    return float(value) if isinstance(value, float | int) else value.si


def _text(row: CorrectionFactors, field: str) -> str:
    value = getattr(row, field)
    return f"{value:g}" if isinstance(value, float | int) else str(value)
