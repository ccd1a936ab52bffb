"""Cautions that belong to every plan."""

from coldwright.contract import Caution

CAUTIONS = (
    Caution(
        code="plan_is_not_a_permit",
        hazard="general",
        statement="This is a plan from what was given. Local codes, the permits of the site and licensed people prevail "
        "over it, and whoever stands on site may always stop.",
    ),
    Caution(
        code="measure_before_relying",
        hazard="general",
        statement="Loads, routes, breakers and ground come from people and gauges and may be wrong: measure what decides "
        "before machines leave the yard.",
    ),
)
