"""The answer in its units, with what follows from capacity and power."""

from msgspec import UNSET

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import Power, Temperature, VolumeFlow
from coldwright_basis.constants import TON_OF_REFRIGERATION
from coldwright_refrigeration.capacity.corrections import Penalties
from coldwright_refrigeration.capacity.envelope import check_envelope
from coldwright_refrigeration.capacity.given import CapacityGiven
from coldwright_refrigeration.capacity.rating import Rating
from coldwright_refrigeration.capacity.results import CapacityResults, CapacitySensitivity
from coldwright_refrigeration.shared import liquids

BTU_PER_WH = 3.412141633


def answer_of(given: CapacityGiven, found: Penalties, rating: Rating, notes: Notes) -> CapacityResults:
    """The results in their units."""
    conditions = given.conditions
    leaving = conditions.leaving_liquid_temperature.si
    mean_heat = liquids.volumetric_heat(conditions.fluid, leaving + rating.difference / 2)
    flow = rating.capacity / (mean_heat * rating.difference)
    shown = VolumeFlow.from_si(flow, "L/s") if conditions.flow is UNSET else conditions.flow.as_unit("L/s")
    capacity, power = Power.from_si(rating.capacity, "kW"), Power.from_si(rating.power, "kW")
    cop = rating.capacity / rating.power
    by = "table" if rating.estimate is None else "fit"
    notes.show("Q", "Capacity", f"Q_{by} x {found.capacity_factor:.9g}", capacity)
    notes.show("P", "Power", f"P_{by} x {found.power_factor:.9g}", power)
    notes.show("COP", "Capacity over power", f"{capacity} / {power}", cop)
    notes.show("EER", "Btu per Wh", f"{BTU_PER_WH:.6g} x {cop:.5g}", BTU_PER_WH * cop)
    in_envelope = check_envelope(given, rating.difference, shown, notes)
    return CapacityResults(
        capacity=capacity,
        power=power,
        kw_per_ton=tidy(rating.power / 1000 / (rating.capacity / TON_OF_REFRIGERATION)),
        cop=tidy(cop),
        eer=tidy(BTU_PER_WH * cop),
        source="table" if rating.estimate is None else "estimate",
        corrections=found.corrections,
        effective_ambient_temperature=Temperature.from_si(
            conditions.ambient_temperature.si + found.ambient_shift + found.condenser_shift, "degC"
        ),
        effective_leaving_liquid_temperature=Temperature.from_si(leaving + found.leaving_shift, "degC"),
        uncertainty=tidy(rating.uncertainty),
        flow=shown,
        entering_liquid_temperature=Temperature.from_si(leaving + rating.difference, "degC"),
        in_envelope=in_envelope,
        sensitivity=CapacitySensitivity(
            capacity_per_degree_ambient=tidy(rating.per_degree_ambient),
            capacity_per_degree_leaving=tidy(rating.per_degree_leaving),
        ),
        estimate=UNSET if rating.estimate is None else rating.estimate,
    )
