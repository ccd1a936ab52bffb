"""A wet stage before the machines of a plan, as a part of it: what it would do to their air, and what it would take."""

from typing import Annotated, Any

from coldwright.contract import (
    Ask,
    Column,
    Example,
    Given,
    Notes,
    PartQuestion,
    Results,
    Series,
    Taken,
    Word,
    about,
    calculator,
    finding,
    load_table,
    page,
    people,
    say,
)
from coldwright.contract.quantities import (
    Length,
    Mass,
    Power,
    Temperature,
    TemperatureDifference,
    Volume,
    VolumeFlow,
)
from coldwright_refrigeration.air_side import air_side
from coldwright_refrigeration.air_side.given import AirSideGiven
from coldwright_site.ground import ground
from coldwright_site.ground.given import GroundGiven

from coldwright_evaporative.cautions import LEGIONELLA, RULES_PREVAIL
from coldwright_evaporative.precooling import PrecoolingGiven, precooling
from coldwright_evaporative.references import PRACTICE, PSYCHROLIB, WATER_SAFETY
from coldwright_evaporative.units import WaterForHeat

CLIMATES = load_table("coldwright_evaporative", "climates")
RISE = TemperatureDifference(10.0, "delta_degC")
"""Of the air through a condenser (common practice)."""
WORTH_IT = 35.0
"""Degrees Celsius of design air from which a stage is worth a thought (common practice)."""
HOURS = 10.0
"""Of running in a hot day."""
TANK = (3.0, 2.4, 900.0)
"""Length and width in m of the skid of a water tank, and its empty mass in kg (invented)."""
EFFECTS = (0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9)


class Place(Taken, frozen=True, kw_only=True):
    """Where the machines stand."""

    design_ambient_temperature: Annotated[
        Temperature, about("Hottest air.", low=5, high=55, unit="degC", why="a stage is for warm air")
    ]


class Order(Taken, frozen=True, kw_only=True):
    """The order, as far as its air is concerned."""

    site: Annotated[Place, about("Its site.")]


class Energy(Taken, frozen=True, kw_only=True):
    """Heat of the plan."""

    heat_rejected: Annotated[
        Power,
        about("Heat that the condensers give to the air.", above=10, high=5000, unit="kW", why="one stage of pads"),
    ]


class StageGiven(Given, frozen=True, kw_only=True):
    """A plan, and the stage."""

    order: Annotated[Order, about("Its order.")]
    energy: Annotated[Energy, about("Its heat.")]
    climate: Annotated[str, Word.of(CLIMATES, "climate"), about("Climate of the place.")] = "inland"
    effectiveness: Annotated[
        float,
        about("Saturation effectiveness of the stage.", low=0.3, high=0.9, basis="common_practice"),
    ] = 0.7


class StageResults(Results, frozen=True, kw_only=True):
    """The air behind the stage, and the water."""

    air_flow: Annotated[VolumeFlow, about("Air of all condensers.")]
    entering_air: Annotated[Temperature, about("What the condensers would be given.")]
    water_per_day: Annotated[Volume, about("Water for ten hours of it.")]
    water_for_heat: Annotated[WaterForHeat, about("Water for each unit of heat.")]
    by_effectiveness: Annotated[Series, about("Entering air and water, by the effectiveness of the stage.")]
    open_questions: Annotated[tuple[PartQuestion, ...], about("What a stage depends on.")]


def stage_page(answer: Any, _: page.Occasion) -> page.Page:
    """For whoever thinks about a stage."""
    results: StageResults = answer.results
    return page.Page(
        kind="Wet stage",
        title="A wet stage before the machines of a plan",
        tone="plain",
        verdict=f"The condensers would be given {people.quantity(results.entering_air)}",
        lead=(f"{people.quantity(results.water_per_day)} of water a day.",),
        sections=page.present(
            (
                page.Standard("findings", "What to mind", ("stop", "check", "note")),
                page.section("By effectiveness", *page.plots("Air and water", results.by_effectiveness)),
                page.Standard("cautions"),
                page.Standard("sources"),
            )
        ),
    )


PLAN = {
    "order": {"site": {"design_ambient_temperature": {"value": 40, "unit": "degC"}}},
    "energy": {"heat_rejected": {"value": 600, "unit": "kW"}},
}


@calculator(
    "evaporative.stage",
    version="1.0.0",
    title="A wet stage before the condensers",
    joins="booking",
    uses=("refrigeration.air_side", "site.ground", "evaporative.precooling"),
    references=(PSYCHROLIB, PRACTICE, WATER_SAFETY),
    tables=(CLIMATES,),
    hazards=("environment",),
    findings=(finding("worth_a_stage", "note", "The design air is so hot that a wet stage is worth a thought."),),
    examples=(
        Example("hot", "Invented: a hot inland day.", PLAN),
        Example("coast", "Invented: the same at the coast.", PLAN | {"climate": "coast"}),
    ),
    page=stage_page,
)
def stage(given: StageGiven, notes: Notes, ask: Ask) -> StageResults:
    """What a wet stage would do to the air of a plan's condensers, and the water that it would take in a day.

    The air is what carries the rejected heat at a rise of 10 K. The tank for a day's water is asked of the ground. It
    proposes, and changes nothing: the machines of the plan are chosen for the air without it.
    """
    ambient = given.order.site.design_ambient_temperature
    site = "/order/site/design_ambient_temperature"
    air = ask(
        air_side,
        AirSideGiven(ambient_temperature=ambient, heat_rejected=given.energy.heat_rejected, air_temperature_rise=RISE),
        origin={"/ambient_temperature": site, "/heat_rejected": "/energy/heat_rejected"},
        hazards=(),
    )
    humidity = dict(CLIMATES.rows)[given.climate]
    states = []
    for effect in (given.effectiveness, *EFFECTS):
        results, its_notes = ask.apart(
            precooling,
            PrecoolingGiven(
                dry_bulb=ambient,
                relative_humidity_fraction=humidity,
                air_flow=air.airflow,
                method="wetted_media",
                saturation_effectiveness_fraction=effect,
            ),
            origin={"/dry_bulb": site, "/air_flow": "/energy/heat_rejected"},
        )
        if not states:
            notes.adopt(its_notes, precooling.id, origin={"/dry_bulb": site}, hazards=("environment",))
        states.append(results)
    chosen, daily = states[0], states[0].feed.to("L/min") * 60 * HOURS
    length, width, empty = TANK
    ask(
        ground,
        GroundGiven(
            contact="skid",
            load=Mass.of(empty + daily, "kg"),
            contact_length=Length(length, "m"),
            contact_width=Length(width, "m"),
            soil_class="clay",
        ),
        origin={"/load": "/energy/heat_rejected"},
        hazards=(),
    )
    notes.caution(LEGIONELLA, RULES_PREVAIL)
    if ambient.to("degC") >= WORTH_IT:
        notes.note(
            "worth_a_stage",
            say("A wet stage would bring {air} down to {cooled:.1f}.", air=ambient, cooled=chosen.entering_air),
            field=site,
            references=("evaporative_practice",),
        )
    heat = given.energy.heat_rejected.to("kW")
    return StageResults(
        air_flow=air.airflow,
        entering_air=chosen.entering_air,
        water_per_day=Volume.of(daily / 1000, "m3"),
        water_for_heat=WaterForHeat.of(chosen.feed.to("L/min") * 60 / heat, "L/kWh"),
        by_effectiveness=Series(
            along=Column.of("effectiveness", None, "1", EFFECTS),
            columns=(
                Column.of("entering air", Temperature, "degC", [s.entering_air.to("degC") for s in states[1:]]),
                Column.of("water", VolumeFlow, "L/min", [s.feed.to("L/min") for s in states[1:]]),
            ),
        ),
        open_questions=(
            PartQuestion(
                field="/site/name", assumed=given.climate, effect="The humidity of the hottest hours.", who="customer"
            ),
        ),
    )
