"""Liquid flow through an exchanger from its pressure drop."""

from math import sqrt
from typing import Annotated, Literal, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Fluid,
    Given,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    refuse,
    tidy,
)
from coldwright.contract.quantities import (
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    TemperatureDifference,
    VolumeFlow,
)
from coldwright_basis.liquids import Property, check_fluid, properties
from coldwright_hydronic.cautions import EVAPORATOR_FREEZE, FLOW_DIRECTION, LOCAL_CODE, NEVER_LOOSEN_UNDER_PRESSURE
from coldwright_hydronic.devices import (
    TRUSTED_RATIO,
    Exponent,
    RatedFluid,
    assume_rated_with_water,
    device_drop,
    device_flow_ratio,
    fluid_correction,
    needs_of,
    rated_state,
)
from coldwright_hydronic.friction import GRAVITY
from coldwright_hydronic.references import (
    FIRST_PRINCIPLES,
    GAUGE_RANGES,
    OSHA_STORED_ENERGY,
    PRACTICE,
    PROPERTY_REFERENCES,
)
from coldwright_hydronic.shared.second_opinion import SecondOpinion, second_opinion

LEAST_DROP = 1.0
"""Pa: less than this no gauge tells from nothing."""
GREATEST_RATIO = 2.0
GAUGE_SPANS = tuple(step * decade for decade in (1e5, 1e6, 1e7, 1e8) for step in (1.0, 1.6, 2.5, 4.0, 6.0))
GAUGE_CLASS = 0.01
CLEAN_BELOW, WATCH_BELOW = 1.5, 2.5


class StrainerGiven(Given, frozen=True, kw_only=True):
    """The strainer in series with the exchanger."""

    rated_flow: Annotated[VolumeFlow, about("Flow of the clean rating.", low=0.001, high=10000, unit="L/s")]
    rated_pressure_drop: Annotated[
        PressureDifference, about("Drop of the clean strainer at that flow.", low=0.001, high=2000, unit="kPa")
    ]
    measured_pressure_drop: Annotated[PressureDifference, about("Drop measured now.", low=0, high=2000, unit="kPa")]


class ProofGiven(Given, frozen=True, kw_only=True):
    """What proves the flow to the machine."""

    proof_kind: Annotated[Literal["flow_switch", "pressure_switch"], about("A flow switch, or one on the drop.")]
    trip_flow: (
        Annotated[VolumeFlow, about("Flow at which a flow switch trips.", low=0.001, high=10000, unit="L/s")]
        | UnsetType
    ) = UNSET
    trip_pressure_drop: (
        Annotated[PressureDifference, about("Drop at which a switch trips.", low=0.001, high=2000, unit="kPa")]
        | UnsetType
    ) = UNSET
    made_with_pump_off: (
        Annotated[bool, about("Was the switch seen made while the pump was off? Leave out if nobody looked.")]
        | UnsetType
    ) = UNSET


class ExchangerFlowGiven(Given, frozen=True, kw_only=True):
    """One measured drop, or two gauges with their heights, and the rating of the exchanger."""

    fluid: Annotated[Fluid, about("The liquid, with its temperature.")]
    rated_flow: Annotated[VolumeFlow, about("Flow of the rating.", low=0.001, high=10000, unit="L/s")]
    rated_pressure_drop: Annotated[
        PressureDifference, about("Pressure drop of the rating.", low=0.001, high=2000, unit="kPa")
    ]
    exponent: Exponent = 2.0
    rated_fluid: RatedFluid = UNSET
    pressure_drop: (
        Annotated[
            PressureDifference,
            about(
                "Drop measured between the two taps.",
                low=0.001,
                high=2000,
                unit="kPa",
                why="a drop of nothing or less is reversed flow, no flow, or swapped gauges",
            ),
        ]
        | UnsetType
    ) = UNSET
    inlet_gauge_pressure: (
        Annotated[GaugePressure, about("Gauge at the inlet.", low=-100, high=4000, unit="kPa")] | UnsetType
    ) = UNSET
    outlet_gauge_pressure: (
        Annotated[GaugePressure, about("Gauge at the outlet.", low=-100, high=4000, unit="kPa")] | UnsetType
    ) = UNSET
    inlet_gauge_elevation: (
        Annotated[Length, about("Height of the inlet gauge.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    outlet_gauge_elevation: (
        Annotated[Length, about("Height of the outlet gauge.", low=-300, high=300, unit="m")] | UnsetType
    ) = UNSET
    gauge_error: (
        Annotated[
            PressureDifference,
            about(
                "Uncertainty of the difference itself. If left out: nothing for one gauge moved between the taps, 1 % of "
                "the span of each of two gauges.",
                low=0,
                high=500,
                unit="kPa",
            ),
        ]
        | UnsetType
    ) = UNSET
    flow_minimum: (
        Annotated[VolumeFlow, about("Least flow that the exchanger may have.", low=0.001, high=10000, unit="L/s")]
        | UnsetType
    ) = UNSET
    flow_maximum: (
        Annotated[VolumeFlow, about("Greatest flow that it may have.", low=0.001, high=10000, unit="L/s")] | UnsetType
    ) = UNSET
    heat: (
        Annotated[Power, about("Heat taken from the liquid, from another measurement.", low=0.001, high=1e6, unit="kW")]
        | UnsetType
    ) = UNSET
    temperature_difference: (
        Annotated[
            TemperatureDifference, about("Entering less leaving, with that heat.", low=0.1, high=60, unit="delta_degC")
        ]
        | UnsetType
    ) = UNSET
    strainer: Annotated[StrainerGiven, about("Strainer in the same flow.")] | UnsetType = UNSET
    proof: Annotated[ProofGiven, about("Proof of flow.")] | UnsetType = UNSET


class ExchangerFlowResults(Results, frozen=True, kw_only=True):
    """The flow, how well it is known, and what follows for strainer and proof of flow."""

    corrected_pressure_drop: Annotated[PressureDifference, about("Drop with the heights of the gauges taken out.")]
    flow: Annotated[VolumeFlow, about("Flow.")]
    flow_fraction_of_rated: Annotated[float, about("Flow over rated flow.")]
    flow_uncertainty_fraction: Annotated[float, about("Relative uncertainty of the flow from the gauges alone.")]
    flow_from_heat: Annotated[VolumeFlow, about("Flow that the heat and difference tell.")] | UnsetType = UNSET
    disagreement_fraction: Annotated[float, about("Flow over flow from heat, less one.")] | UnsetType = UNSET
    strainer_clean_pressure_drop: (
        Annotated[PressureDifference, about("Drop of the clean strainer at this flow.")] | UnsetType
    ) = UNSET
    strainer_ratio: Annotated[float, about("Measured drop of the strainer over its clean drop.")] | UnsetType = UNSET
    strainer_state: (
        Annotated[Literal["clean", "watch", "dirty"], about("Up to 1.5 clean, up to 2.5 watch, above dirty.")]
        | UnsetType
    ) = UNSET
    trip_flow: Annotated[VolumeFlow, about("Flow at which the proof trips.")] | UnsetType = UNSET
    trip_margin_fraction: Annotated[float, about("Flow over trip flow, less one.")] | UnsetType = UNSET
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET


FINDINGS = (
    finding("flow_below_minimum", ("stop", "check"), "The flow is, or with its uncertainty may be, below the minimum."),
    finding("flow_above_maximum", "check", "The flow is above the maximum of the exchanger."),
    finding("minimum_not_given", "check", "The least flow is not known: freezing was not tested."),
    finding("outside_trusted_range", "check", "The flow is too far from the rating for the power law."),
    finding("trip_below_minimum", "stop", "The proof of flow trips only below the least flow: it proves nothing."),
    finding("proof_made_without_flow", "stop", "The proof of flow is made while the pump is off."),
    finding("trip_margin_small", "check", "The flow is less than 10 % above the trip of the proof, or below it."),
    finding("flow_and_heat_disagree", "check", "The drop and the heat tell flows more than 15 % apart."),
    finding("flow_uncertain", "check", "The gauges leave the flow uncertain by more than 10 %."),
    finding("strainer_dirty", "check", "The strainer drops more than 2.5 times its clean drop."),
    finding("strainer_to_watch", "note", "The strainer drops more than 1.5 times its clean drop."),
    finding("two_gauges", "note", "Two gauges were used: one gauge swapped between both taps has no zero error."),
)


class _Flow(NamedTuple):
    drop: float
    drop_error: float
    ratio: float
    flow: float
    uncertainty: float
    correction: float


@calculator(
    "hydronic.exchanger_flow",
    version="1.1.0",
    title="Liquid flow through an exchanger from its pressure drop",
    references=(FIRST_PRINCIPLES, PRACTICE, GAUGE_RANGES, OSHA_STORED_ENERGY, *PROPERTY_REFERENCES),
    hazards=("pressure", "general"),
    findings=FINDINGS,
    examples=(
        Example(
            "one_gauge_moved",
            "Invented evaporator, 15 L/s at 60 kPa, read at 45 kPa with a minimum of 8 L/s.",
            {
                "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
                "rated_flow": {"value": 15, "unit": "L/s"},
                "rated_pressure_drop": {"value": 60, "unit": "kPa"},
                "pressure_drop": {"value": 45, "unit": "kPa"},
                "flow_minimum": {"value": 8, "unit": "L/s"},
                "proof": {"proof_kind": "pressure_switch", "trip_pressure_drop": {"value": 20, "unit": "kPa"}},
            },
        ),
        Example(
            "two_gauges_and_strainer",
            "Invented readings of two gauges at different heights, with glycol and a strainer that fills up.",
            {
                "fluid": {
                    "kind": "propylene_glycol",
                    "volume_fraction": 0.3,
                    "temperature": {"value": 6, "unit": "degC"},
                },
                "rated_flow": {"value": 240, "unit": "gpm"},
                "rated_pressure_drop": {"value": 20, "unit": "ft_water"},
                "exponent": 1.85,
                "inlet_gauge_pressure": {"value": 45, "unit": "psi"},
                "outlet_gauge_pressure": {"value": 36, "unit": "psi"},
                "inlet_gauge_elevation": {"value": 1, "unit": "ft"},
                "outlet_gauge_elevation": {"value": 4, "unit": "ft"},
                "flow_minimum": {"value": 150, "unit": "gpm"},
                "strainer": {
                    "rated_flow": {"value": 240, "unit": "gpm"},
                    "rated_pressure_drop": {"value": 1.5, "unit": "psi"},
                    "measured_pressure_drop": {"value": 3, "unit": "psi"},
                },
            },
        ),
    ),
)
def exchanger_flow(given: ExchangerFlowGiven, notes: Notes) -> ExchangerFlowResults:
    """Flow through an evaporator, coil or plate exchanger from its measured pressure drop and its rating.

    Q = Q_r (dp / dp_r / [(rho/rho_r)^(n-1) (mu/mu_r)^(2-n)])^(1/n), gauges at different heights corrected, with the
    uncertainty that the gauges leave. Good for 0.3 to 1.5 times the rated flow, refused above twice. Compares with the
    flow that the heat tells, judges the strainer, and tests whether the proof of flow proves anything.
    """
    _refuse_contradictions(given)
    flow = _flow(given, notes)
    from_heat = _flow_from_heat(given, notes)
    strainer = _strainer(given, flow.flow, notes)
    trip = _trip_flow(given, flow, notes)
    results = ExchangerFlowResults(
        second_opinion=second_opinion(given.fluid),
        corrected_pressure_drop=PressureDifference.from_si(flow.drop, "kPa"),
        flow=VolumeFlow.from_si(flow.flow, "L/s"),
        flow_fraction_of_rated=tidy(flow.ratio),
        flow_uncertainty_fraction=tidy(flow.uncertainty),
        flow_from_heat=UNSET if from_heat is None else VolumeFlow.from_si(from_heat, "L/s"),
        disagreement_fraction=UNSET if from_heat is None else tidy(flow.flow / from_heat - 1.0),
        strainer_clean_pressure_drop=UNSET if strainer is None else PressureDifference.from_si(strainer[0], "kPa"),
        strainer_ratio=UNSET if strainer is None else tidy(strainer[1]),
        strainer_state=UNSET if strainer is None else _strainer_state(strainer[1]),
        trip_flow=UNSET if trip is None else VolumeFlow.from_si(trip, "L/s"),
        trip_margin_fraction=UNSET if trip is None else tidy(flow.flow / trip - 1.0),
    )
    _find_flow(given, notes, flow)
    _find_doubts(given, notes, results)
    _find_proof(given, notes, flow.flow, trip)
    notes.caution(EVAPORATOR_FREEZE, FLOW_DIRECTION, NEVER_LOOSEN_UNDER_PRESSURE, LOCAL_CODE)
    return results


# --- what is refused -----------------------------------------------------------------------------------------------


def _refuse_contradictions(given: ExchangerFlowGiven) -> None:
    needs: tuple[Property, ...] = needs_of(given.exponent)
    if given.heat is not UNSET:
        needs = (*needs, "specific_heat")
    check_fluid(given.fluid, needs=needs)
    errors = _drop_errors(given) + _pair_errors(given) + _proof_errors(given)
    if errors:
        raise Refused(errors)


def _drop_errors(given: ExchangerFlowGiven) -> list[FieldError]:
    names = ("inlet_gauge_pressure", "outlet_gauge_pressure", "inlet_gauge_elevation", "outlet_gauge_elevation")
    there = [n for n in names if getattr(given, n) is not UNSET]
    if given.pressure_drop is not UNSET:
        text = "Either one pressure_drop or the four fields of two gauges, not both."
        return [field_error("/pressure_drop", text, value=given.pressure_drop)] if there else []
    if not there:
        text = "Give the pressure_drop, or both gauge pressures with both gauge elevations."
        return [field_error("/pressure_drop", text, code="missing")]
    text = "Two gauges need both pressures and both elevations."
    return [field_error(f"/{n}", text, code="missing") for n in names if n not in there]


def _pair_errors(given: ExchangerFlowGiven) -> list[FieldError]:
    errors = []
    text = "Heat and temperature_difference are given together or not at all."
    if given.heat is UNSET and given.temperature_difference is not UNSET:
        errors.append(field_error("/heat", text, code="missing"))
    if given.heat is not UNSET and given.temperature_difference is UNSET:
        errors.append(field_error("/temperature_difference", text, code="missing"))
    least, most = given.flow_minimum, given.flow_maximum
    if least is not UNSET and most is not UNSET and least.si > most.si:
        errors.append(field_error("/flow_maximum", f"It is below flow_minimum, {least}.", value=most))
    return errors


def _proof_errors(given: ExchangerFlowGiven) -> list[FieldError]:
    if given.proof is UNSET:
        return []
    wanted, other = "trip_flow", "trip_pressure_drop"
    if given.proof.proof_kind == "pressure_switch":
        wanted, other = other, wanted
    errors = []
    if getattr(given.proof, wanted) is UNSET:
        text = f"A {given.proof.proof_kind} needs its {wanted}."
        errors.append(field_error(f"/proof/{wanted}", text, code="missing"))
    if getattr(given.proof, other) is not UNSET:
        text = f"A {given.proof.proof_kind} has no {other}: it trips on its {wanted}."
        errors.append(field_error(f"/proof/{other}", text, value=getattr(given.proof, other)))
    return errors


# --- the sums ------------------------------------------------------------------------------------------------------


def _flow(given: ExchangerFlowGiven, notes: Notes) -> _Flow:
    n = given.exponent
    state = properties(given.fluid, needs=needs_of(n))
    rated = rated_state(given.rated_fluid, n, "/rated_fluid")
    if given.rated_fluid is UNSET:
        assume_rated_with_water(notes)
    correction = fluid_correction(n, state, rated)
    drop = _corrected_drop(given, state.density, notes)
    rated_drop = given.rated_pressure_drop.si
    ratio = device_flow_ratio(drop, rated_drop, n, correction)
    if ratio > GREATEST_RATIO * (1 + 1e-9):
        most = device_drop(GREATEST_RATIO, rated_drop, n, correction)
        raise refuse(
            "/pressure_drop" if given.pressure_drop is not UNSET else "/inlet_gauge_pressure",
            f"The drop of {drop / 1e3:.4g} kPa tells {ratio:.4g} times the rated flow; the law ends at twice.",
            code="out_of_range",
            value=tidy(drop / 1e3),
            allowed=Allowed(maximum=tidy(most / 1e3), unit="kPa"),
            why="so large a drop is a fouled or blocked exchanger, a wrong gauge or the wrong rating, not a flow",
        )
    flow = given.rated_flow.si * ratio
    error = _drop_error(given, notes)
    uncertainty = error / (n * drop)
    notes.show(
        "c",
        "drop with this liquid over drop with the rated one",
        f"(rho/rho_r)^(n-1) (mu/mu_r)^(2-n), n = {n:g}, rho {state.density:.5g} over {rated.density:.5g} kg/m3",
        correction,
    )
    notes.show(
        "Q",
        "flow",
        f"Q_r (dp / (dp_r c))^(1/n) = {given.rated_flow} x ({drop / 1e3:.5g} / ({rated_drop / 1e3:.5g} x "
        f"{correction:.5g}))^(1/{n:g})",
        VolumeFlow.from_si(flow, "L/s"),
    )
    notes.show("u", "uncertainty", f"u_dp / (n dp) = {error / 1e3:.4g} / ({n:g} x {drop / 1e3:.5g})", uncertainty)
    return _Flow(drop, error, ratio, flow, uncertainty, correction)


def _corrected_drop(given: ExchangerFlowGiven, density: float, notes: Notes) -> float:
    if given.pressure_drop is not UNSET:
        return given.pressure_drop.si
    inlet, outlet = given.inlet_gauge_pressure, given.outlet_gauge_pressure
    z_in, z_out = given.inlet_gauge_elevation, given.outlet_gauge_elevation
    if inlet is UNSET or outlet is UNSET or z_in is UNSET or z_out is UNSET:  # refused before
        raise Refused(_drop_errors(given))
    drop = inlet.si - outlet.si + density * GRAVITY * (z_in.si - z_out.si)
    if drop < LEAST_DROP:
        raise refuse(
            "/outlet_gauge_pressure",
            f"With the heights taken out the drop is {drop / 1e3:.4g} kPa; it must be above zero.",
            code="out_of_range",
            value=outlet,
            allowed=Allowed(maximum=tidy(GaugePressure.from_si(outlet.si + drop - LEAST_DROP, outlet.unit).value),
                            unit=outlet.unit),
            why="the flow is reversed or stopped, or the gauges or their heights are swapped",
        )  # fmt: skip
    notes.show(
        "dp",
        "corrected pressure drop",
        f"p_in - p_out + rho g (z_in - z_out) = {inlet.to('kPa'):.5g} - {outlet.to('kPa'):.5g} + {density:.5g} x "
        f"{GRAVITY} x ({z_in.to('m'):.5g} - {z_out.to('m'):.5g}) / 1000",
        PressureDifference.from_si(drop, "kPa"),
    )
    return drop


def _drop_error(given: ExchangerFlowGiven, notes: Notes) -> float:
    if given.gauge_error is not UNSET:
        return given.gauge_error.si
    if given.inlet_gauge_pressure is UNSET or given.outlet_gauge_pressure is UNSET:
        notes.assume(
            "one_gauge_moved",
            "The drop comes from one gauge moved between the taps, or from one differential gauge: its zero falls out.",
            value=PressureDifference(0.0, "kPa"),
            basis="common_practice",
            references=("hydronic_practice",),
        )
        return 0.0
    highest = max(abs(given.inlet_gauge_pressure.si), abs(given.outlet_gauge_pressure.si))
    span = next(s for s in GAUGE_SPANS if s >= highest / 0.75)
    error = sqrt(2.0) * GAUGE_CLASS * span
    notes.assume(
        "gauge_error_of_two_gauges",
        f"Each gauge is good to 1 % of its span, taken as {span / 1e3:g} kPa, the smallest usual span that is read "
        "below three quarters of it.",
        value=PressureDifference.from_si(error, "kPa"),
        basis="common_practice",
        references=("hydronic_practice", "en_837"),
    )
    return error


def _flow_from_heat(given: ExchangerFlowGiven, notes: Notes) -> float | None:
    if given.heat is UNSET or given.temperature_difference is UNSET:
        return None
    state = properties(given.fluid, needs=("density", "specific_heat"))
    flow = given.heat.si / (state.volumetric_heat * given.temperature_difference.si)
    notes.show(
        "Q_heat",
        "flow from heat",
        f"heat / (rho cp dT) = {given.heat.to('kW'):.5g} / ({state.volumetric_heat / 1e3:.5g} x "
        f"{given.temperature_difference.si:.5g})",
        VolumeFlow.from_si(flow, "L/s"),
    )
    return flow


def _strainer(given: ExchangerFlowGiven, flow: float, notes: Notes) -> tuple[float, float] | None:
    if given.strainer is UNSET:
        return None
    s = given.strainer
    clean = device_drop(flow / s.rated_flow.si, s.rated_pressure_drop.si, 2.0, 1.0)
    shown = PressureDifference.from_si(clean, "kPa")
    notes.show("dp_s", "clean drop of the strainer", f"{s.rated_pressure_drop} x (Q / {s.rated_flow})^2", shown)
    return clean, s.measured_pressure_drop.si / clean


def _strainer_state(ratio: float) -> Literal["clean", "watch", "dirty"]:
    if ratio <= CLEAN_BELOW:
        return "clean"
    return "watch" if ratio <= WATCH_BELOW else "dirty"


def _trip_flow(given: ExchangerFlowGiven, flow: _Flow, notes: Notes) -> float | None:
    if given.proof is UNSET:
        return None
    if given.proof.trip_pressure_drop is UNSET:
        return None if given.proof.trip_flow is UNSET else given.proof.trip_flow.si
    ratio = device_flow_ratio(
        given.proof.trip_pressure_drop.si, given.rated_pressure_drop.si, given.exponent, flow.correction
    )
    trip = given.rated_flow.si * ratio
    shown = VolumeFlow.from_si(trip, "L/s")
    n = given.exponent
    numbers = (
        f"Q_r (dp / (dp_r c))^(1/n) = {given.rated_flow} x ({given.proof.trip_pressure_drop.to('kPa'):.5g} / "
        f"({given.rated_pressure_drop.to('kPa'):.5g} x {flow.correction:.5g}))^(1/{n:g})"
    )
    notes.show("Q_trip", "flow at the trip of the switch", numbers, shown)
    return trip


# --- what was found ------------------------------------------------------------------------------------------------


def _find_flow(given: ExchangerFlowGiven, notes: Notes, flow: _Flow) -> None:
    shown = VolumeFlow.from_si(flow.flow, "L/s")
    if given.flow_minimum is UNSET:
        notes.check(
            "minimum_not_given",
            "The least flow of the exchanger is not given, so freezing was not tested.",
            why="below its least flow an evaporator can freeze in a part of its tubes",
            resolve="take flow_minimum from the machine's data",
            field="/flow_minimum",
        )
    elif flow.flow < given.flow_minimum.si:
        notes.stop(
            "flow_below_minimum",
            f"The flow is {shown}, {1 - flow.flow / given.flow_minimum.si:.1%} below the minimum of "
            f"{given.flow_minimum}.",
            why="too little flow freezes the evaporator",
            resolve="open valves, clean the strainer, let the air out, look for an open bypass, lay larger or more hose",
            field="/flow_minimum",
        )
    elif flow.flow * (1.0 - flow.uncertainty) < given.flow_minimum.si:
        notes.check(
            "flow_below_minimum",
            f"The flow is {shown}, but with its uncertainty of {flow.uncertainty:.1%} it may be below the minimum of "
            f"{given.flow_minimum}.",
            why="too little flow freezes the evaporator",
            resolve="read both taps with one gauge, or raise the flow",
            field="/gauge_error",
        )
    if given.flow_maximum is not UNSET and flow.flow > given.flow_maximum.si:
        notes.check(
            "flow_above_maximum",
            f"The flow is {shown}, {flow.flow / given.flow_maximum.si - 1:.1%} above the maximum of "
            f"{given.flow_maximum}.",
            why="fast water wears the tubes, and the pump's motor may be overloaded",
            resolve="throttle on the discharge side of the pump, or lower its frequency",
            field="/flow_maximum",
        )
    if not TRUSTED_RATIO[0] <= flow.ratio <= TRUSTED_RATIO[1]:
        notes.check(
            "outside_trusted_range",
            f"The flow is {flow.ratio:.2f} times the rated one; the law is trusted from 0.3 to 1.5.",
            why="far from the rating the exponent changes",
            resolve="use a rating nearer to this flow, or measure the flow in another way",
            field="/rated_flow",
            references=("hydronic_practice",),
        )


def _find_doubts(given: ExchangerFlowGiven, notes: Notes, r: ExchangerFlowResults) -> None:
    if r.disagreement_fraction is not UNSET and abs(r.disagreement_fraction) > 0.15:
        high = r.disagreement_fraction > 0
        notes.check(
            "flow_and_heat_disagree",
            f"The drop tells {r.flow}, the heat {r.flow_from_heat}: {r.disagreement_fraction:+.0%}.",
            why="a high drop with little heat is a fouled or air-bound evaporator"
            if high
            else "more heat than the flow can carry: a wrong curve, a wrong sensor or crossed hoses",
            resolve="let the air out, check the rating curve, the sensors and the hoses, read again",
            field="/heat",
            references=("hydronic_practice",),
        )
    if r.flow_uncertainty_fraction > 0.10:
        notes.check(
            "flow_uncertain",
            f"The gauges leave the flow uncertain by {r.flow_uncertainty_fraction:.0%}.",
            why="a difference of two large readings is small",
            resolve="read both taps with one gauge, or use a differential gauge",
            field="/gauge_error",
        )
    if r.strainer_ratio is not UNSET and r.strainer_state != "clean":
        dirty = r.strainer_state == "dirty"
        notes.finding(
            "check" if dirty else "note",
            "strainer_dirty" if dirty else "strainer_to_watch",
            f"The strainer drops {r.strainer_ratio:.2f} times its clean drop of {r.strainer_clean_pressure_drop}.",
            why="a strainer that fills up takes the flow from the evaporator",
            resolve="clean it: pump stopped, valves shut, zero pressure proven by an open vent" if dirty else
            "read it again at the next visit; clean it above 2.5",
            field="/strainer/measured_pressure_drop",
            references=("hydronic_practice",),
        )  # fmt: skip
    if given.inlet_gauge_pressure is not UNSET:
        notes.note(
            "two_gauges",
            "The drop is the difference of two gauges.",
            why="their zero errors add to it",
            resolve="swap one gauge between both taps and read both",
            field="/inlet_gauge_pressure",
            references=("hydronic_practice",),
        )


def _find_proof(given: ExchangerFlowGiven, notes: Notes, flow: float, trip: float | None) -> None:
    if given.proof is UNSET or trip is None:
        return
    shown = VolumeFlow.from_si(trip, "L/s")
    if given.proof.made_with_pump_off is True:
        notes.stop(
            "proof_made_without_flow",
            "The proof of flow was seen made with the pump off.",
            why="a switch that is stuck or bridged lets the compressor run without flow",
            resolve="free, replace or unbridge the switch, and see it open with the pump off",
            field="/proof/made_with_pump_off",
        )
    if given.flow_minimum is not UNSET and trip < given.flow_minimum.si * (1.0 - 1e-9):
        notes.stop(
            "trip_below_minimum",
            f"The proof trips at {shown}, below the least flow of {given.flow_minimum}.",
            why="between the two the evaporator can freeze with its flow proven",
            resolve="raise the trip to the least flow or above",
            field="/proof",
        )
    if flow < 1.10 * trip * (1.0 - 1e-9):
        notes.check(
            "trip_margin_small",
            f"The flow is {flow / trip - 1:+.1%} from the trip at {shown}.",
            why="below the trip the machine will not run; just above it, it trips for nothing",
            resolve="raise the flow; lower the trip only if it stays above the least flow",
            field="/proof",
            references=("hydronic_practice",),
        )
