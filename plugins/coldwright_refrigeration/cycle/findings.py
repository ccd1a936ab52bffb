"""What a cycle's figures mean for the compressor."""

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import PressureDifference, Temperature, TemperatureDifference
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_refrigeration.cycle.given import CycleGiven
from coldwright_refrigeration.cycle.points import CyclePoints
from coldwright_refrigeration.shared.references import COOLPROP, PRACTICE
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS

DISCHARGE_CHECK, DISCHARGE_STOP = 105.0, 120.0
"""degC; common practice, no source."""
FINDINGS = (
    finding(
        "discharge_too_hot",
        ("check", "stop"),
        f"The compressor outlet is above {DISCHARGE_CHECK:g} degC (check) or {DISCHARGE_STOP:g} degC (stop).",
    ),
    finding("pressure_ratio_high", "check", "The compressor works over more than six times its inlet pressure."),
    finding("near_critical", "stop", "The condensing pressure is within 5 % of the critical pressure."),
    finding("efficiency_unusual", "check", "The efficiency found from the outlet temperature is below 0.3."),
    finding("glide_reference", "note", "The blend's bubble and dew points lie more than 2 K apart."),
)
"""What `refrigeration.cycle` may have to say."""
RATIO_CHECK = 6.0
CRITICAL_MARGIN = 0.05
USUAL_EFFICIENCY = 0.3
GLIDE_WORTH_NAMING = 2.0


def judge(given: CycleGiven, points: CyclePoints, notes: Notes) -> None:
    """Write the findings."""
    _judge_discharge(points, notes)
    one, two, _, _ = points.states
    ratio = two.pressure / one.pressure
    if ratio > RATIO_CHECK:
        notes.check(
            "pressure_ratio_high",
            f"The pressure ratio is {ratio:.2f}, above {RATIO_CHECK:g}.",
            why="Capacity and efficiency of a one-stage compressor fall fast, and its outlet runs hot.",
            resolve="Bring the condensing temperature down or the evaporating temperature up.",
            references=(PRACTICE.id,),
        )
    critical = REFRIGERANTS[given.refrigerant].critical_pressure_kPa
    if critical is not UNSET and two.pressure > (1 - CRITICAL_MARGIN) * critical * 1000:
        notes.show("p_c", "Critical pressure", f"of {given.refrigerant}", critical, "kPa")
        expression = f"{1 - CRITICAL_MARGIN:g} x {critical:.6g}"
        notes.show("p_m", "Greatest condensing pressure", expression, (1 - CRITICAL_MARGIN) * critical, "kPa")
        notes.stop(
            "near_critical",
            say(
                "The condensing pressure of {pressure:.0f} is above {critical_margin:.0%} of the "
                "critical pressure of {critical:.0f}.",
                pressure=PressureDifference.from_si(two.pressure, "kPa"),
                critical_margin=1 - CRITICAL_MARGIN,
                critical=PressureDifference.of(critical, "kPa"),
            ),
            why="Next to the critical point little is left of the latent heat, and the figures are not to be trusted.",
            resolve=say(
                "Condense below {critical_margin:.0f}, or choose a refrigerant with a higher critical point.",
                critical_margin=PressureDifference.of((1 - CRITICAL_MARGIN) * critical, "kPa"),
            ),
            field="/condensing",
            references=(COOLPROP.id,),
        )
    if points.efficiency_is_found and points.isentropic_efficiency < USUAL_EFFICIENCY:
        notes.check(
            "efficiency_unusual",
            f"The readings give an isentropic efficiency of {points.isentropic_efficiency:.3f}.",
            why=f"Below {USUAL_EFFICIENCY:g} the readings rarely belong together.",
            resolve="Read pressures and temperatures again, at a steady state and the same moment.",
            field="/compressor_outlet_temperature",
            references=(PRACTICE.id,),
        )
    glide = points.condensing_dew - points.condensing_bubble
    if glide > GLIDE_WORTH_NAMING:
        notes.note(
            "glide_reference",
            say(
                "Bubble and dew point are {glide:.1f} apart at the condensing pressure. `condensing` was "
                "read as the {condensing_reference}, `evaporating` as the {evaporating_reference}.",
                glide=TemperatureDifference.of(glide, "delta_degC"),
                condensing_reference=given.condensing_reference if given.condensing.pressure is UNSET else "pressure",
                evaporating_reference=given.evaporating_reference
                if given.evaporating.pressure is UNSET
                else "pressure",
            ),
            why="Another reference moves the pressures, and with them every figure.",
            field="/condensing_reference",
        )


def _judge_discharge(points: CyclePoints, notes: Notes) -> None:
    discharge = points.states[1].temperature - ZERO_CELSIUS
    if discharge <= DISCHARGE_CHECK:
        return
    limit = DISCHARGE_STOP if discharge > DISCHARGE_STOP else DISCHARGE_CHECK
    notes.finding(
        "stop" if discharge > DISCHARGE_STOP else "check",
        "discharge_too_hot",
        say(
            "The compressor outlet is at {discharge:.1f}, {excess:.1f} above {limit:g}.",
            discharge=Temperature.of(discharge, "degC"),
            excess=TemperatureDifference.of(discharge - limit, "delta_degC"),
            limit=Temperature.of(limit, "degC"),
        ),
        why="Oil loses its film and cokes on the valves.",
        resolve="Less superheat, a lower condensing temperature, or a machine that cools its compressor.",
        references=(PRACTICE.id,),
    )
