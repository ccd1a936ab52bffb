"""What wetted pads or a fine spray before the condenser do to its air, and what water they take."""

from typing import Annotated, Literal, NamedTuple

from coldwright.contract import (
    Allowed,
    Example,
    Given,
    Notes,
    Results,
    about,
    calculator,
    finding,
    load_table,
    refuse,
    say,
)
from coldwright.contract.quantities import (
    Area,
    Duration,
    Length,
    Mass,
    Temperature,
    TemperatureDifference,
    Velocity,
    Volume,
    VolumeFlow,
)
from msgspec import UNSET, UnsetType

from coldwright_evaporative.cautions import LEGIONELLA, RULES_PREVAIL, TREATMENT_CHEMICALS, WATER_NEAR_POWER
from coldwright_evaporative.humid_air import STATED_DRY, Stage, humidity_ratio_of, through_wet_stage, wet_bulb_of
from coldwright_evaporative.page import precooling_page
from coldwright_evaporative.references import BLOWDOWN, EFFECTIVENESS, PRACTICE, PSYCHROLIB, WATER_SAFETY

GROWTH = load_table("coldwright_evaporative", "legionella")
COLDEST_WET_BULB = 4.0
LEAST_GAIN = 2.0
FASTEST_FACE = 3.0
WETTEST_AIR = 0.9
WATER_DENSITY = 1000.0
SEA_LEVEL = Length(0.0, "m")


class PrecoolingGiven(Given, frozen=True, kw_only=True):
    """The air of the place, the air that the fans move, the wet stage, and its water."""

    dry_bulb: Annotated[
        Temperature,
        about(
            "Dry bulb of the air before the wet stage.", low=5, high=55, unit="degC", why="colder air needs no cooling"
        ),
    ]
    wet_bulb: (
        Annotated[
            Temperature,
            about("Wet bulb of that air. Give this or `relative_humidity_fraction`.", low=-5, high=40, unit="degC"),
        ]
        | UnsetType
    ) = UNSET
    relative_humidity_fraction: (
        Annotated[
            float,
            about(
                "Relative humidity of that air. Give this or `wet_bulb`.",
                low=0.02,
                high=1,
                why="drier air is not found out of doors",
            ),
        ]
        | UnsetType
    ) = UNSET
    altitude: Annotated[Length, about("Height above the sea.", low=-400, high=3000, unit="m")] = SEA_LEVEL
    air_flow: Annotated[
        VolumeFlow, about("Air that the fans of the condenser move, at `dry_bulb`.", low=0.1, high=500, unit="m3/s")
    ]
    method: Annotated[Literal["wetted_media", "spray"], about("Wetted pads, or a fine spray into the air.")]
    saturation_effectiveness_fraction: Annotated[
        float,
        about(
            "Fall of the dry bulb over the depression of the wet bulb, from the maker's data at this face velocity.",
            low=0.1,
            high=0.95,
            why="one wet stage does not reach more",
            references=("evaporative_effectiveness",),
        ),
    ]
    face_area: Annotated[Area, about("Face of the pads.", low=0.1, high=500, unit="m2")] | UnsetType = UNSET
    cycles_of_concentration: Annotated[
        float,
        about(
            "Dissolved solids of the blowdown over those of the water that is fed.",
            low=1.2,
            high=10,
            basis="common_practice",
            references=("evaporative_practice",),
        ),
    ] = 3.0
    carryover_fraction: Annotated[
        float, about("Water carried away as droplets, over what evaporates.", low=0, high=2)
    ] = 0.0
    water_temperature: (
        Annotated[
            Temperature,
            about(
                "Warmest water in tank, pipe or sump. Without it, that of the wet bulb.", low=1, high=60, unit="degC"
            ),
        ]
        | UnsetType
    ) = UNSET
    operation: Annotated[Duration, about("Time of running in a day.", low=0, high=24, unit="h")] | UnsetType = UNSET
    design_air: (
        Annotated[Temperature, about("Entering air for which the machine was chosen.", low=10, high=60, unit="degC")]
        | UnsetType
    ) = UNSET


class PrecoolingResults(Results, frozen=True, kw_only=True):
    """The air that enters the condenser, and the water."""

    entering_air: Annotated[Temperature, about("Dry bulb behind the wet stage: what the condenser is given.")]
    reduction: Annotated[TemperatureDifference, about("By how much the air is cooled.")]
    wet_bulb: Annotated[Temperature, about("Wet bulb, before and behind.")]
    outdoor_humidity_ratio: Annotated[float, about("Water for each kg of dry air before the wet stage, kg.")]
    entering_humidity_ratio: Annotated[float, about("The same behind it.")]
    entering_relative_humidity_fraction: Annotated[float, about("Relative humidity behind it.")]
    evaporation: Annotated[VolumeFlow, about("Water that evaporates.")]
    carryover: Annotated[VolumeFlow, about("Water that is carried away as droplets.")]
    blowdown: Annotated[VolumeFlow, about("Water to be bled off.")]
    feed: Annotated[VolumeFlow, about("Water to be fed: the sum of the three.")]
    water_per_day: Annotated[Volume, about("Water fed in a day's running.")] | UnsetType = UNSET
    face_velocity: Annotated[Velocity, about("Velocity of the air through the face of the pads.")] | UnsetType = UNSET
    margin_to_design: (
        Annotated[TemperatureDifference, about("Design air less entering air; negative when it is too warm.")]
        | UnsetType
    ) = UNSET
    needed_effectiveness_fraction: (
        Annotated[
            float, about("Effectiveness that just reaches the design air; absent when none can, or none is needed.")
        ]
        | UnsetType
    ) = UNSET


FINDINGS = (
    finding("freezing", "stop", "The water can freeze in the wet stage."),
    finding("little_gain", "check", "The air is cooled by less than is worth the water."),
    finding("growth_temperature", "check", "The water is of a temperature in which Legionella multiplies."),
    finding("aerosol", "check", "A spray makes droplets that people can breathe in."),
    finding("wet_coil", "check", "The air comes so wet that droplets may reach the coil."),
    finding("fast_face", "check", "The air is so fast that it tears droplets from the pads."),
    finding("above_design", "check", "The air is still warmer than the machine was chosen for."),
    finding("cycles_not_reached", "note", "Droplets carry away more than the blowdown would."),
)
EXAMPLES = (
    Example(
        "dry_heat",
        "Invented: pads before a machine in dry heat, with a design temperature.",
        {
            "dry_bulb": {"value": 43, "unit": "degC"},
            "wet_bulb": {"value": 22, "unit": "degC"},
            "altitude": {"value": 340, "unit": "m"},
            "air_flow": {"value": 45, "unit": "m3/s"},
            "method": "wetted_media",
            "saturation_effectiveness_fraction": 0.7,
            "face_area": {"value": 22, "unit": "m2"},
            "operation": {"value": 9, "unit": "h"},
            "design_air": {"value": 35, "unit": "degC"},
        },
    ),
    Example(
        "humid_coast",
        "Invented: a spray in humid air, where little is gained.",
        {
            "dry_bulb": {"value": 91, "unit": "degF"},
            "relative_humidity_fraction": 0.74,
            "air_flow": {"value": 1200, "unit": "m3/h"},
            "method": "spray",
            "saturation_effectiveness_fraction": 0.5,
            "carryover_fraction": 0.8,
            "water_temperature": {"value": 84, "unit": "degF"},
        },
    ),
)


@calculator(
    "evaporative.precooling",
    version="1.0.0",
    title="Evaporative pre-cooling of condenser air",
    references=(PSYCHROLIB, EFFECTIVENESS, BLOWDOWN, WATER_SAFETY, PRACTICE),
    tables=(GROWTH,),
    examples=EXAMPLES,
    findings=FINDINGS,
    hazards=("environment", "electrical", "chemical"),
    page=precooling_page,
)
def precooling(given: PrecoolingGiven, notes: Notes) -> PrecoolingResults:
    """Temperature of the condenser's air behind wetted pads or a spray, and the water that they take.

    The air moves along its wet bulb by the saturation effectiveness; the water that evaporates is the mass flow of dry
    air times the gain of its humidity ratio; blowdown keeps the dissolved solids at the cycles of concentration. For air
    between 5 and 55 degC up to 3,000 m. Enter the result as the ambient temperature of the machine's capacity.
    """
    stage = _stage(given)
    water = _water(given, stage)
    notes.show("t2", "entering air", "t1 - e (t1 - t*)", stage.cooled, "degC")
    notes.show("W1", "humidity ratio before", "W(t1, t*)", stage.humidity_ratio, "kg/kg")
    notes.show("W2", "humidity ratio behind", "W(t2, t*)", stage.cooled_humidity_ratio, "kg/kg")
    notes.show("E", "evaporation", "V / v1 (W2 - W1)", water.evaporation * 60_000, "L/min")
    notes.show("B", "blowdown", "E / (C - 1) - D, not below 0", water.blowdown * 60_000, "L/min")
    mass, litre = Mass(1, "kg"), Volume(1, "L")
    notes.assume(
        "water_density", say("{mass} of water fills {litre}.", mass=mass, litre=litre), value=1.0, basis="derived"
    )
    notes.caution(LEGIONELLA, WATER_NEAR_POWER, TREATMENT_CHEMICALS, RULES_PREVAIL)
    _judge_air(given, stage, notes)
    _judge_water(given, stage, water, notes)
    return _results(given, stage, water)


class _Water(NamedTuple):
    """Flows in m3/s."""

    evaporation: float
    carryover: float
    blowdown: float

    @property
    def feed(self) -> float:
        return self.evaporation + self.carryover + self.blowdown


def _stage(given: PrecoolingGiven) -> Stage:
    dry_bulb, altitude = given.dry_bulb.to("degC"), given.altitude.si
    if (given.wet_bulb is UNSET) == (given.relative_humidity_fraction is UNSET):
        text = "Give exactly one of `wet_bulb` and `relative_humidity_fraction`."
        raise refuse("/wet_bulb", text, why="the one follows from the other")
    if given.relative_humidity_fraction is not UNSET:
        wet_bulb = min(dry_bulb, wet_bulb_of(dry_bulb, given.relative_humidity_fraction, altitude))
    elif given.wet_bulb is not UNSET:
        wet_bulb = given.wet_bulb.to("degC")
        if wet_bulb > dry_bulb + 1e-9:
            allowed = Allowed(maximum=dry_bulb, unit="degC")
            raise refuse("/wet_bulb", "The wet bulb is above the dry bulb.", value=given.wet_bulb, allowed=allowed)
        wet_bulb = min(wet_bulb, dry_bulb)
        if humidity_ratio_of(dry_bulb, wet_bulb, altitude) <= STATED_DRY:
            why = f"air of {given.dry_bulb} without any water has a higher wet bulb"
            raise refuse("/wet_bulb", "No air is as dry as that.", value=given.wet_bulb, why=why)
    return through_wet_stage(dry_bulb, wet_bulb, altitude, given.saturation_effectiveness_fraction)


def _water(given: PrecoolingGiven, stage: Stage) -> _Water:
    gain = max(0.0, stage.cooled_humidity_ratio - stage.humidity_ratio)
    evaporation = given.air_flow.si / stage.volume * gain / WATER_DENSITY
    carryover = given.carryover_fraction * evaporation
    return _Water(evaporation, carryover, max(0.0, evaporation / (given.cycles_of_concentration - 1) - carryover))


def _celsius(value: float) -> Temperature:
    return Temperature.of(value, "degC")


def _judge_air(given: PrecoolingGiven, stage: Stage, notes: Notes) -> None:
    reduction = stage.dry_bulb - stage.cooled
    if stage.wet_bulb < COLDEST_WET_BULB:
        notes.stop(
            "freezing",
            say(
                "The wet bulb is {wet:.1f}, below {least}.",
                wet=_celsius(stage.wet_bulb),
                least=_celsius(COLDEST_WET_BULB),
            ),
            why="the water cools to the wet bulb and can freeze in pads, nozzles and pipes",
            do="Drain the wet stage; such air needs no cooling.",
            cleared_by="whoever runs the stage",
            field="/dry_bulb",
            references=("evaporative_practice",),
        )
    if reduction < LEAST_GAIN:
        notes.check(
            "little_gain",
            say(
                "The air is cooled from {before:.1f} to {after:.1f}: a gain that hardly pays.",
                before=_celsius(stage.dry_bulb),
                after=_celsius(stage.cooled),
            ),
            why="the wet bulb bounds what can be gained",
            resolve="Take a larger machine or shade it; keep the pads for drier days.",
            references=("evaporative_practice",),
        )
    if stage.cooled_relative_humidity > WETTEST_AIR:
        notes.check(
            "wet_coil",
            f"The air reaches the coil at a relative humidity of {stage.cooled_relative_humidity:.2f}.",
            why="water that dries on a coil leaves scale and corrodes it",
            resolve="Lower the effectiveness, or have the owner of the machine agree in writing.",
            field="/saturation_effectiveness_fraction",
            references=("evaporative_practice",),
        )
    if given.face_area is not UNSET and (velocity := given.air_flow.si / given.face_area.si) > FASTEST_FACE:
        area = Area.of(given.air_flow.si / FASTEST_FACE, "m2")
        notes.show("A", "Area of pads at the usual velocity", f"V / {FASTEST_FACE:g} m/s", area)
        notes.check(
            "fast_face",
            say(
                "The air moves at {velocity:.1f} through the face; {most} is usual at most.",
                velocity=Velocity.of(velocity, "m/s"),
                most=Velocity.of(FASTEST_FACE, "m/s"),
            ),
            do=say("Take at least {area:.1f} of pads.", area=area),
            cleared_by="whoever chooses the pads",
            field="/face_area",
            references=("evaporative_practice",),
        )
    if given.design_air is not UNSET and stage.cooled > given.design_air.to("degC"):
        needed = _needed_effectiveness(given, stage)
        free = "No wet stage reaches it: the wet bulb is above it."
        if needed is not UNSET:
            free = f"An effectiveness of {needed:.2f} would just reach it."
        notes.check(
            "above_design",
            say(
                "The air enters at {air:.1f}; the machine was chosen for {design}.",
                air=_celsius(stage.cooled),
                design=given.design_air,
            ),
            resolve=free,
            field="/design_air",
        )


def _judge_water(given: PrecoolingGiven, stage: Stage, water: _Water, notes: Notes) -> None:
    temperature = stage.wet_bulb if given.water_temperature is UNSET else given.water_temperature.to("degC")
    if given.water_temperature is UNSET:
        notes.assume(
            "water_at_wet_bulb",
            "The water that runs round has the temperature of the wet bulb.",
            value=Temperature.of(temperature, "degC"),
            basis="derived",
        )
    low, high = GROWTH.rows["from"], GROWTH.rows["to"]
    if low <= temperature <= high:
        notes.check(
            "growth_temperature",
            say(
                "The water is at {water:.1f}, between {low} and {high}.",
                water=_celsius(temperature),
                low=_celsius(low),
                high=_celsius(high),
            ),
            why="Legionella multiplies in it.",
            do=say(
                "Keep it below {cool}, run it to waste, or treat it under the site's water safety plan.",
                cool=_celsius(20.0),
            ),
            cleared_by="whoever answers for the site's water",
            references=("evaporative_legionella", "evaporative_water_safety"),
        )
    if given.method == "spray":
        notes.check(
            "aerosol",
            "A spray makes droplets fine enough to be breathed in, whatever the water's temperature.",
            resolve="Use potable water that does not stand, or pads, and keep people and air intakes away.",
            field="/method",
            references=("evaporative_water_safety",),
        )
    if water.blowdown == 0 and water.evaporation > 0:
        notes.note(
            "cycles_not_reached",
            "Droplets alone carry away what the blowdown would: none is needed.",
            field="/carryover_fraction",
            references=("evaporative_blowdown",),
        )


def _needed_effectiveness(given: PrecoolingGiven, stage: Stage) -> float | UnsetType:
    depression = stage.dry_bulb - stage.wet_bulb
    if given.design_air is UNSET or depression <= 0:
        return UNSET
    needed = (stage.dry_bulb - given.design_air.to("degC")) / depression
    return needed if 0 < needed <= 1 else UNSET


def _results(given: PrecoolingGiven, stage: Stage, water: _Water) -> PrecoolingResults:
    def flow(value: float) -> VolumeFlow:
        return VolumeFlow.from_si(value, "L/min")

    margin: TemperatureDifference | UnsetType = UNSET
    if given.design_air is not UNSET:
        margin = TemperatureDifference.of(given.design_air.to("degC") - stage.cooled, "delta_degC")
    return PrecoolingResults(
        entering_air=Temperature.of(stage.cooled, "degC"),
        reduction=TemperatureDifference.of(stage.dry_bulb - stage.cooled, "delta_degC"),
        wet_bulb=Temperature.of(stage.wet_bulb, "degC"),
        outdoor_humidity_ratio=stage.humidity_ratio,
        entering_humidity_ratio=stage.cooled_humidity_ratio,
        entering_relative_humidity_fraction=stage.cooled_relative_humidity,
        evaporation=flow(water.evaporation),
        carryover=flow(water.carryover),
        blowdown=flow(water.blowdown),
        feed=flow(water.feed),
        water_per_day=UNSET if given.operation is UNSET else Volume.from_si(water.feed * given.operation.to("s"), "m3"),
        face_velocity=UNSET if given.face_area is UNSET else Velocity.of(given.air_flow.si / given.face_area.si, "m/s"),
        margin_to_design=margin,
        needed_effectiveness_fraction=_needed_effectiveness(given, stage),
    )
