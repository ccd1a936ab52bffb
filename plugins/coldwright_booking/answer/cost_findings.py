"""What is to be known of a price: what is not in it, and whether anything could cost less."""

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright_booking.plan.plan import Plan

NAMED = 8
"""Items without a price that are listed by name."""


def report_cost(plan: Plan, notes: Notes) -> None:
    """Nothing where nothing has a price."""
    block = plan.cost.block if plan.cost is not None else None
    if block is None:
        return
    if block.not_priced:
        names = list(dict.fromkeys(lack.item for lack in block.not_priced))
        stated = ", ".join(names[:NAMED]) + (f" and {len(names) - NAMED} more" if len(names) > NAMED else "")
        notes.note(
            "not_all_priced",
            f"Not in the cost of {block.currency} {block.total}: {stated}.",
            why="Each has no rate, or its count is not known.",
            resolve="Give `hire_rate` of each row, and `rates` of the fleet or of the order.",
            field="/fleet/rates",
        )
    if block.least_proved is not UNSET and not block.least_proved:
        notes.note(
            "least_cost_not_proved",
            f"{block.plans_compared} plans were worked out, and this one costs least; others with dearer machines could "
            "still cost less in all.",
            resolve="`machine_types` narrows the choice.",
            field="/preferences",
        )
