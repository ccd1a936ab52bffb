"""What the plan says of taking the machines away, and of a stop in frost."""

from coldwright.contract import Notes, say
from coldwright.contract.people import count_of
from coldwright_basis.trade_words import in_words_of
from coldwright_booking.order.facts import Facts
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.plan import Plan
from coldwright_booking.plan.removal import TOTE


def report_removal(facts: Facts, plan: Plan, notes: Notes) -> None:
    """What becomes of the glycol, and what must stay on in frost."""
    removal = plan.removal
    if removal is None:
        return
    if removal.totes and isinstance(removal.drained, Asked):
        notes.note(
            "glycol_goes_back",
            say(
                "At the end {volume} of mixture come out of hoses, machines and load side: {totes} of {each} {take} it back.",
                volume=removal.drained.results.drained_volume,
                totes=count_of(removal.totes, "container"),
                take="takes" if removal.totes == 1 else "take",
                each=TOTE,
            ),
            why="Glycol in a stream or drain uses up its oxygen, and the load side needs its own liquid back.",
            resolve=in_words_of(
                facts.order.practice,
                "Test strength and inhibitor for the next {hire}; what fails goes to a licensed disposal.",
            ),
            field="/fluid",
        )
    if isinstance(removal.frost, Asked) and facts.lowest_ambient is not None:
        notes.note(
            "stop_in_frost",
            say(
                "Stopped in frost with the liquid in, the mixture is safe to {safe}; air down to {coldest} is expected.",
                safe=plan.liquid.lowest,
                coldest=facts.lowest_ambient,
            ),
            why="Supply and control switch stay on: any loss of them starts the oil heat anew, and trace heat stops.",
            resolve="Follow the steps of the stop in frost; below that cold, or with water topped up, drain instead.",
            field="/site/lowest_ambient_temperature",
        )
