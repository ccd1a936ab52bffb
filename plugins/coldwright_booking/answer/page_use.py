"""The plan in use, for people: the room, restarts, and what sweats."""

from msgspec import UnsetType

from coldwright.contract.page import Facts, Section, Table, grid, section, under
from coldwright.contract.people import plain_text
from coldwright_booking.answer.page_facts import joined, said
from coldwright_booking.answer.page_parts import chosen, texts, unless_zero
from coldwright_booking.answer.results import AssessmentResults


def in_use(results: AssessmentResults) -> Section | None:
    """The room, restarts and condensation; none where the plan has none of them."""
    return section(
        "In use",
        *under("Room", _air(results), _charges(results)),
        *under("While something restarts", _restarts(results)),
        *under("Condensation", _damp(results)),
    )


def fact(results: AssessmentResults) -> str:
    """Air for the room, time that the liquid stays cold through each interruption, water that drips."""
    parts = []
    if not isinstance(indoors := results.indoors, UnsetType) and not isinstance(heat := indoors.heat, UnsetType):
        parts.append(said("the room needs ", heat.required_flow, " of air"))
    if not isinstance(restart := results.restart, UnsetType):
        parts += [said(f"{plain_text(one.name)}: cold for ", one.holds) for one in restart.interruptions]
    if not isinstance(damp := results.condensation, UnsetType):
        wet = damp.drip_rate.value > 0
        parts.append(said("condensation up to ", damp.drip_rate) if wet else "no condensation")
    return joined(*parts)


def _air(results: AssessmentResults) -> Facts | None:
    if isinstance(indoors := results.indoors, UnsetType) or isinstance(heat := indoors.heat, UnsetType):
        return None
    return chosen(
        ("Heat to the room", heat.heat_to_room),
        ("Ventilation needed", heat.required_flow),
        ("Air changes an hour", heat.air_changes),
        ("Settles at", heat.room_temperature),
        ("Too warm after, with its fans", heat.time_to_limit),
        ("Too warm after, with no air", heat.time_to_limit_shut),
    )


def _charges(results: AssessmentResults) -> Table | None:
    if isinstance(indoors := results.indoors, UnsetType):
        return None
    return grid(
        (("Machine", 20), ("Largest circuit", 14), ("A leak reaches", 14), ("Limit", 12), ("Room at least", 14)),
        (
            texts(
                stated.type,
                stated.safety.largest_charge,
                stated.safety.concentration,
                stated.safety.concentration_limit,
                stated.safety.minimum_space_volume,
            )
            for stated in indoors.refrigerant
        ),
    )


def _restarts(results: AssessmentResults) -> Table | None:
    if isinstance(restart := results.restart, UnsetType):
        return None
    return grid(
        (
            ("When", 18), ("No flow for", 13), ("Cools again after", 13), ("To be bridged", 13),
            ("The loop carries it for", 13), ("Supply reaches", 12), ("Buffer needed", 14),
        ),
        (
            texts(
                one.name,
                unless_zero(one.no_flow),
                one.no_cooling,
                one.carried,
                one.holds,
                one.warmest_reached,
                unless_zero(one.volume_to_add),
            )
            for one in restart.interruptions
        ),
    )  # fmt: skip


def _damp(results: AssessmentResults) -> Table | None:
    if isinstance(damp := results.condensation, UnsetType):
        return None
    return grid(
        (("Surface", 24), ("Surface at", 14), ("Dew point", 14), ("Drips at most", 14), ("Insulation", 14)),
        (
            texts(
                one.name,
                one.surface_temperature,
                damp.dew_point_temperature,
                unless_zero(one.drip_rate),
                one.insulation_thickness,
            )
            for one in damp.surfaces
        ),
    )
