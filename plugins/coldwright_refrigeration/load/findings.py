"""What a person should know of a load."""

import math

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import AbsolutePressure, Power
from coldwright_basis.constants import STANDARD_ATMOSPHERE
from coldwright_refrigeration.load.found import Found
from coldwright_refrigeration.load.given import AirCoilLoad, HoseLoad, LoadGiven, PumpLoad, SpaceEstimateLoad

FINDINGS = (
    finding("estimate_share_high", "check", "More than 30 % of the load is only an estimate."),
    finding("liquid_difference_doubtful", "check", "A liquid difference under 4 or over 20 delta_degF."),
    finding("coil_cannot_reach", "check", "Air is to leave a coil colder than its liquid allows."),
    finding("coil_frosts", "check", "A wet coil whose air leaves below freezing frosts up."),
    finding("margin_high", "check", "A wide margin on parts that mostly coincide: the machines will be too large."),
    finding("product_may_freeze", "check", "A product is cooled below 0 degC without a freezing point."),
    finding("loop_gains_high", "note", "Hoses and pumps bring more than 5 % of the load."),
    finding("coil_dry", "note", "The coil stays dry: it cools without drying the air."),
    finding("estimate_band", "note", "How far an estimate may be off."),
    finding("hose_loses_heat", "note", "A hose in colder surroundings brings no load."),
    finding("dry_outside_air", "note", "Outside air drier than the room: its drying is not counted."),
    finding("jacket_never_reaches", "stop", "The batch can never get as cold as its coolant."),
)
MUCH_ESTIMATED = 0.3
MUCH_GAINED = 0.05
WIDE_MARGIN, MOSTLY_COINCIDENT = 0.25, 0.9


def note_site(given: LoadGiven, notes: Notes) -> None:
    """Says where the air pressure comes from."""
    airy = any(isinstance(entry, AirCoilLoad | SpaceEstimateLoad) for entry in given.loads)
    if airy and given.site.altitude is UNSET and given.site.barometric_pressure is UNSET:
        pressure = AbsolutePressure.of(STANDARD_ATMOSPHERE / 1000, "kPa")
        notes.assume(
            "sea_level",
            say(
                "Neither altitude nor air pressure was given: the air is taken at sea level, {pressure}.",
                pressure=pressure,
            ),
            value=pressure,
            basis="default",
            references=("ashrae_standard_atmosphere",),
        )


def stand_out(
    given: LoadGiven, found: list[Found], total: float, diversified: float, share: float, notes: Notes
) -> None:
    """What stands out among the parts."""
    if share > MUCH_ESTIMATED:
        notes.check(
            "estimate_share_high",
            say("{share:.0%} of the load is only an estimate.", share=share),
            why="Such estimates are off by -20 to +40 %: the machines may be too small.",
            resolve="Measure the load, or work the estimated parts out properly.",
            references=("refrigeration_practice",),
        )
    gains = math.fsum(
        entry.diversity * part.total
        for entry, part in zip(given.loads, found, strict=True)
        if isinstance(entry, HoseLoad | PumpLoad)
    )
    if diversified > 0 and gains > MUCH_GAINED * diversified:
        shown = Power.from_si(gains, "kW")
        notes.show("Q_gain", "Heat of hoses and pumps", "sum of the loads of these kinds", shown)
        notes.note(
            "loop_gains_high",
            say(
                "Hoses and pumps bring {gains:us=ton}, {share:.1%} of the load.",
                gains=shown,
                share=gains / diversified,
            ),
            resolve="Shade or insulate the hoses, shorten the runs, choose a wider hose.",
            references=("refrigeration_practice",),
        )
    if given.margin > WIDE_MARGIN and total > 0 and diversified > MOSTLY_COINCIDENT * total:
        notes.check(
            "margin_high",
            say(
                "A margin of {margin:.0%} on parts of which {diversified:.0%} coincide.",
                margin=given.margin,
                diversified=diversified / total,
            ),
            why="Machines that are too large start and stop often and wear out.",
            resolve="Lower the margin or the diversities; see refrigeration.pull_down for starts in the hour.",
            field="/margin",
            references=("refrigeration_practice",),
        )
