"""Invented changes, for the examples."""

from coldwright.contract import Example
from coldwright_booking.assessment.examples import COLD_PROCESS, COMFORT

EXAMPLES = (
    Example(
        "more_load",
        "An invented school adds a wing: more load on the same site.",
        {
            "before": COMFORT,
            "after": COMFORT | {"duty": COMFORT["duty"] | {"load": {"value": 120, "unit": "ton"}}},
        },
    ),
    Example(
        "answer_arrives",
        "An invented process gives the strength of its site's pump side and longer hose.",
        {
            "before": COLD_PROCESS,
            "after": COLD_PROCESS
            | {
                "routes": COLD_PROCESS["routes"] | {"hose_length": {"value": 60, "unit": "m"}},
                "load_side": {"rated_pressure_drop": {"value": 40, "unit": "kPa"}, "pump": "machine"},
            },
        },
    ),
)
