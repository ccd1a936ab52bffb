"""Whether cold hoses and vessels sweat, how much drips, and what insulation keeps them dry."""

from msgspec import UNSET

from coldwright.contract import Load, Notes, Refused, calculator, field_error, finding, say
from coldwright.contract.quantities import Length, MassFlow, Temperature
from coldwright_refrigeration.condensation.examples import EXAMPLES
from coldwright_refrigeration.condensation.given import CondensationGiven, HoseSurface, VesselSurface
from coldwright_refrigeration.condensation.results import CondensationResults, WetSurface
from coldwright_refrigeration.condensation.surfaces import FREEZING, Air, bare, insulation, settling
from coldwright_refrigeration.shared import references
from coldwright_refrigeration.shared.cautions import LOCAL_RULES, WET_FLOOR
from coldwright_refrigeration.shared.moist_air import psychrometrics, standard_pressure


@calculator(
    "refrigeration.condensation",
    version="1.0.0",
    title="Condensation on cold hoses and vessels",
    references=(
        references.TIASA_INSULATION,
        references.NIA_CONDENSATION,
        references.PSYCHROLIB,
        references.FIRST_PRINCIPLES,
        references.PRACTICE,
        *references.SAFETY,
    ),
    hazards=("general", "electrical"),
    findings=(
        finding("surface_sweats", "check", "A surface is below the dew point: water settles and drips."),
        finding("frost_on_surface", "check", "A surface is below the dew point and below freezing: ice grows on it."),
        finding("air_saturated", "check", "The air is so damp that no insulation keeps its own surface dry."),
    ),
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def condensation(given: CondensationGiven, notes: Notes) -> CondensationResults:
    """Does water settle on a cold surface, how much of it drips, and how thick must insulation be?

    The wall and the film of air share the difference of temperature; below the dew point water settles. How much is an
    upper bound by the analogy of Lewis. Insulation is as thick as keeps its own surface above the dew point by the
    margin; joints and damaged places sweat all the same.
    """
    air = _air(given)
    notes.caution(LOCAL_RULES, WET_FLOOR)
    dew_point = Temperature.from_si(air.dew_point, "degC")
    notes.show("T_dew", "Dew point", "by PsychroLib, of the air's humidity, or as given", dew_point)
    found = tuple(_surface(given, surface, air, notes) for surface in given.surfaces)
    total = sum(s.drip_rate.si for s in found)
    return CondensationResults(
        dew_point_temperature=dew_point, surfaces=found, drip_rate=MassFlow.from_si(total, "kg/h")
    )


def _air(given: CondensationGiven) -> Air:
    errors = []
    warm, humidity = given.air_temperature.si, given.relative_humidity_fraction
    dew_point = given.dew_point_temperature
    if humidity is not UNSET and dew_point is not UNSET:
        errors.append(
            field_error("/dew_point_temperature", "Give the humidity or the dew point, not both.", value=dew_point)
        )
    elif humidity is UNSET and dew_point is UNSET:
        text = "Give the relative humidity of the air, or its dew point."
        errors.append(field_error("/relative_humidity_fraction", text, code="missing"))
    elif dew_point is not UNSET and dew_point.si > warm:
        text = f"A dew point of {dew_point} in air of {given.air_temperature}."
        errors.append(
            field_error("/dew_point_temperature", text, value=dew_point, why="no air is damper than saturated")
        )
    for i, surface in enumerate(given.surfaces):
        if isinstance(surface, HoseSurface) and surface.inside_diameter.si >= surface.outside_diameter.si:
            text = f"The inside diameter of {surface.inside_diameter} is not below the outside diameter."
            at = f"/surfaces/{i}/inside_diameter"
            errors.append(field_error(at, text, value=surface.inside_diameter))
    if errors:
        raise Refused(errors)
    if dew_point is not UNSET:
        at_dew = dew_point.si
    else:
        assert humidity is not UNSET  # noqa: S101 - one of the two is needed
        at_dew = FREEZING + float(psychrometrics().GetTDewPointFromRelHum(warm - FREEZING, humidity))
    return Air(warm, at_dew, standard_pressure(given.altitude.si), given.surface_coefficient.si)


def _surface(given: CondensationGiven, surface: HoseSurface | VesselSurface, air: Air, notes: Notes) -> WetSurface:
    at = bare(surface, air)
    shown = Temperature.from_si(at, "degC")
    wet = at < air.dew_point
    rate = MassFlow.from_si(settling(surface, air), "kg/h")
    name = surface.name
    notes.show("T_s", f"{name}: bare surface", "T_air - (T_air - T_liquid) x film / (film + wall)", shown)
    if not wet:
        return WetSurface(name=name, surface_temperature=shown, wet=False, drip_rate=rate)
    notes.show("m", f"{name}: water that settles, at most", "h A (W_air - W_s) / cp", rate)
    thickness = insulation(surface, air, given.insulation_conductivity.si, given.margin.si)
    thick = UNSET if thickness is None else Length.from_si(thickness, "mm")
    dew_point = Temperature.from_si(air.dew_point, "degC")
    frozen = at < FREEZING
    if thick is UNSET:
        notes.check(
            "air_saturated",
            say(
                "{name}: in air with its dew point at {dew} no insulation keeps its own surface dry.",
                name=name,
                dew=dew_point,
            ),
            do="Dry or move the air, or lead the water away.",
            cleared_by="site_mechanic",
            field="/air_temperature",
        )
    else:
        notes.show("t", f"{name}: insulation", "surface at the dew point and the margin", thick)
    drip = say(" Insulation of {thickness} keeps it dry.", thickness=thick) if thick is not UNSET else ""
    notes.check(
        "frost_on_surface" if frozen else "surface_sweats",
        say(
            "{name}: the bare surface is at {at}, the dew point at {dew}: up to {rate} of water settles on it.",
            name=name,
            at=shown,
            dew=dew_point,
            rate=rate,
        ),
        why="Ice grows, and falls or drips when it melts"
        if frozen
        else "It drips on floors, goods and electrical connections",
        do=say(
            "Keep connectors and walkways from below it, with trays and a drain.{drip}",
            drip=drip,
        ),
        cleared_by="site_mechanic",
        field="/surfaces",
        references=(references.TIASA_INSULATION.id,),
    )
    return WetSurface(name=name, surface_temperature=shown, wet=True, drip_rate=rate, insulation_thickness=thick)
