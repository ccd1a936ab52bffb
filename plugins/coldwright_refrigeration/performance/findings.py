"""What a person should know of a measured capacity."""

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Power
from coldwright_refrigeration.performance.measured import Measured

FINDINGS = (
    finding("sensors_dominate", "check", "The liquid difference is so small that the sensors decide the result."),
    finding("heat_balance_open", "check", "Heat in and heat out differ by more than 6 %."),
    finding("capacity_short", "check", "The capacity is under 90 % of the expected, beyond the uncertainty."),
    finding("clamp_on_flow", "note", "What a clamp-on flow meter is usually good for."),
    finding("not_a_rating_test", "note", "Readings in the field are no certified test."),
)


def usual_notes(measured: Measured, notes: Notes) -> None:
    """What is always to be known of a measured capacity."""
    notes.note(
        "clamp_on_flow",
        "A clamp-on flow meter is usually good for 3 to 5 %, in a straight full pipe; the flow's share of the "
        "uncertainty "
        "above stands for the meter that was used.",
        field="/uncertainty/flow",
        references=("refrigeration_practice",),
    )
    notes.note(
        "not_a_rating_test",
        say(
            "{capacity:us=ton} by readings in the field is no certified test: AHRI 550/590 asks for calibrated "
            "instruments, steady states and more readings.",
            capacity=Power.from_si(measured.capacity, "kW"),
        ),
        references=("ahri_550_590_2023",),
    )
