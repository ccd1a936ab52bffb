"""What a person should know of a capacity."""

from coldwright.contract import Notes, finding
from coldwright_basis.compare import above
from coldwright_refrigeration.capacity.given import CapacityGiven, RatingTable
from coldwright_refrigeration.capacity.grid import rising_rows

FINDINGS = (
    finding("outside_envelope", "stop", "A condition lies outside a limit of the machine."),
    finding("leaving_too_cold_without_antifreeze", "stop", "Plain water is to leave below 4.4 degC (40 degF)."),
    finding("voltage_outside_tolerance", "stop", "The supply voltage is more than 10 % from the rated voltage."),
    finding("entering_above_maximum", "check", "The liquid enters warmer than the machine takes: a hot start."),
    finding("ambient_low_without_head_pressure_control", "check", "Cold air without head-pressure control."),
    finding("capacity_rises_with_ambient", "check", "The table's capacity does not fall as the air gets warmer."),
    finding("antifreeze_factors_missing", "check", "Antifreeze, and no factors of the machine for it."),
    finding("frequency_below_rating", "check", "The supply frequency is below that of the rating."),
    finding("range_far_from_rating", "check", "The temperature difference is far from that of the rating."),
    finding("range_differs_from_rating", "note", "The temperature difference is not that of the rating."),
    finding("estimated_without_table", "note", "No table: the capacity is an estimate from one rated point."),
    finding("rated_point_not_used", "note", "A rated point was given beside a table, and was not used."),
    finding("power_excludes_fans", "note", "The power does not include the condenser fans."),
)


def note_voltage(given: CapacityGiven, notes: Notes) -> None:
    """A voltage other than rated."""
    ratio = given.conditions.voltage_ratio
    if above(abs(ratio - 1), 0.1):
        notes.stop(
            "voltage_outside_tolerance",
            f"The supply voltage is {ratio:.4g} of the rated voltage, outside 0.9 to 1.1.",
            why="Motors overheat or stall outside 10 % of their voltage.",
            resolve="Set the taps, shorten or thicken the cable, or take a machine for this voltage.",
            field="/conditions/voltage_ratio",
            references=("nema_mg1_voltage",),
        )


def warn_of_rising(table: RatingTable, notes: Notes) -> None:
    """Rows of the table that rise where a machine's capacity falls."""
    if rows := rising_rows(table):
        notes.check(
            "capacity_rises_with_ambient",
            f"The table's capacity does not fall with warmer air in the row of {', '.join(rows)}.",
            why="A sound machine gives less in warmer air: rows and columns may be exchanged, or a number mistyped.",
            resolve="Compare the table with the machine's data sheet.",
            field="/machine/rating_table/capacity",
        )
