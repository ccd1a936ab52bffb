"""Whether cold hoses and vessels sweat, how much drips, and what insulation keeps them dry."""

from collections.abc import Sequence
from typing import Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Load, Notes, Refused, calculator, field_error, finding, say
from coldwright.contract.quantities import Length, MassFlow, Temperature
from coldwright.contract.sentences import Words
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_refrigeration.condensation.examples import EXAMPLES
from coldwright_refrigeration.condensation.given import CondensationGiven, HoseSurface, VesselSurface
from coldwright_refrigeration.condensation.results import CondensationResults, WetSurface
from coldwright_refrigeration.condensation.surfaces import Air, bare, insulation, settling
from coldwright_refrigeration.shared import references
from coldwright_refrigeration.shared.cautions import LOCAL_RULES, WET_FLOOR
from coldwright_refrigeration.shared.moist_air import psychrometrics, standard_pressure


@calculator(
    "refrigeration.condensation",
    version="1.0.1",
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
        finding("surface_sweats", ("check", "note"), "A surface is below the dew point: water settles and drips."),
        finding("frost_on_surface", ("check", "note"), "A surface below the dew point and below freezing: ice grows."),
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
    _note(given, dew_point, [s for s in found if s.wet], notes)
    return CondensationResults(dew_point_temperature=dew_point, surfaces=found, drip_rate=_together(found))


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
            field_error("/dew_point_temperature", text, value=dew_point, why="No air is damper than saturated.")
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
        at_dew = ZERO_CELSIUS + float(psychrometrics().GetTDewPointFromRelHum(warm - ZERO_CELSIUS, humidity))
    return Air(warm, at_dew, standard_pressure(given.altitude.si), given.surface_coefficient.si)


def _together(surfaces: Sequence[WetSurface]) -> MassFlow:
    return MassFlow.from_si(sum(s.drip_rate.si for s in surfaces), "kg/h")


def _surface(given: CondensationGiven, surface: HoseSurface | VesselSurface, air: Air, notes: Notes) -> WetSurface:
    at, name = bare(surface, air), surface.name
    shown = Temperature.from_si(at, "degC")
    rate = MassFlow.from_si(settling(surface, air), "kg/h")
    notes.show("T_s", f"{name}: bare surface", "T_air - (T_air - T_liquid) x film / (film + wall)", shown)
    if at >= air.dew_point:
        return WetSurface(name=name, surface_temperature=shown, wet=False, drip_rate=rate)
    notes.show("m", f"{name}: water that settles, at most", "h A (W_air - W_s) / cp", rate)
    thickness = insulation(surface, air, given.insulation_conductivity.si, given.margin.si)
    thick = UNSET if thickness is None else Length.from_si(thickness, "mm")
    if thick is not UNSET:
        notes.show("t", f"{name}: insulation", "its surface at the dew point and the margin", thick)
    return WetSurface(name=name, surface_temperature=shown, wet=True, drip_rate=rate, insulation_thickness=thick)


def _note(given: CondensationGiven, dew_point: Temperature, wet: Sequence[WetSurface], notes: Notes) -> None:
    frozen = [s for s in wet if s.surface_temperature.si < ZERO_CELSIUS]
    severity: Literal["check", "note"] = "note" if given.below == "open_ground" else "check"
    for code, surfaces, why in (
        ("frost_on_surface", frozen, "Ice grows, and falls or drips when it melts."),
        (
            "surface_sweats",
            [s for s in wet if s not in frozen],
            "It drips on floors, goods and electrical connections.",
        ),
    ):
        if not surfaces:
            continue
        covers = [s.insulation_thickness for s in surfaces if not isinstance(s.insulation_thickness, UnsetType)]
        cover: Words = ""
        if len(covers) == len(surfaces):
            cover = say(
                " Insulation of at least {thickness}, the next thickness made, keeps its own surface dry.",
                thickness=max(covers, key=lambda c: c.si),
            )
        notes.finding(
            severity,
            code,
            say(
                "{names}: colder than the dew point of {dew}, down to {at}; up to {rate} of water settles on them.",
                names=", ".join(s.name for s in surfaces),
                dew=dew_point,
                at=min((s.surface_temperature for s in surfaces), key=lambda t: t.si),
                rate=_together(surfaces),
            ),
            why=why,
            do=say(
                "Keep connectors and walkways out of the space below, or catch the water with trays and a drain.{cover}",
                cover=cover,
            ),
            cleared_by="the site's mechanic",
            field="/surfaces",
            references=(references.TIASA_INSULATION.id,),
        )
    bare_only = [s.name for s in wet if isinstance(s.insulation_thickness, UnsetType)]
    if bare_only:
        notes.check(
            "air_saturated",
            say(
                "{names}: in air with its dew point at {dew} no insulation keeps its own surface dry.",
                names=", ".join(bare_only),
                dew=dew_point,
            ),
            do="Dry or move the air, or lead the water away.",
            cleared_by="the site's mechanic",
            field="/air_temperature",
        )
