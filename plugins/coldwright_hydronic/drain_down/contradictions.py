"""Vessels that cannot be drained as given."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Refused, field_error, tidy
from coldwright.contract.quantities import Length
from coldwright_basis.compare import between
from coldwright_hydronic.drain_down.given import DrainDownGiven, TableVessel, VesselGiven
from coldwright_hydronic.drain_down.vessels import height_of, initial_level, width_of

LEAST_STEP = 0.9999e-4
"""m, between rows of a table."""

WIDEST_OPENING = 0.5
"""Orifice over vessel diameter: beyond it the level falls too fast for Torricelli's law."""


def refuse_contradictions(given: DrainDownGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    errors: list[FieldError] = []
    if not (given.vessels or given.lines or given.residual_volumes):
        errors.append(field_error("/vessels", "Give at least one vessel, line or residual volume.", code="missing"))
    if given.vessels and given.drain_orifice_diameter is UNSET:
        text = "Vessels need the bore of the drain that they run out through."
        errors.append(field_error("/drain_orifice_diameter", text, code="missing"))
    for i, vessel in enumerate(given.vessels):
        errors += _vessel_errors(vessel, f"/vessels/{i}", given.drain_orifice_diameter)
    if errors:
        raise Refused(errors)


def _vessel_errors(vessel: VesselGiven, at: str, orifice: Length | UnsetType) -> list[FieldError]:
    errors: list[FieldError] = []
    bottom = 0.0
    if isinstance(vessel, TableVessel):
        if error := _table_error(vessel, at):
            return [error]
        bottom, top = vessel.volume_by_level[0].level.si, vessel.volume_by_level[-1].level.si
    else:
        top = height_of(vessel)
    width = width_of(vessel)
    if orifice is not UNSET and orifice.si > WIDEST_OPENING * width:
        errors.append(
            field_error(
                "/drain_orifice_diameter",
                f"The drain must not be wider than {WIDEST_OPENING:g} of the vessel {vessel.name}.",
                value=orifice,
                allowed=Allowed(maximum=tidy(1e3 * WIDEST_OPENING * width), unit="mm"),
                why="The level would fall as fast as the jet, where the method does not hold.",
            )
        )
    initial = initial_level(vessel)
    if initial is None:
        errors.append(field_error(f"{at}/initial_level", "Give the level or the height of the tank.", code="missing"))
        return errors
    for name, level in (("initial_level", initial), ("final_level", vessel.final_level.si)):
        if not between(bottom, level, top):
            errors.append(
                field_error(
                    f"{at}/{name}",
                    f"The level lies outside the vessel {vessel.name}.",
                    code="out_of_range",
                    value=getattr(vessel, name),
                    allowed=Allowed(minimum=bottom, unit="m")
                    if top == float("inf")
                    else Allowed(minimum=bottom, maximum=tidy(top), unit="m"),
                )
            )
    if not errors and vessel.final_level.si > initial:
        errors.append(field_error(f"{at}/final_level", "The last level is above the first.", value=vessel.final_level))
    return errors


def _table_error(vessel: TableVessel, at: str) -> FieldError | None:
    rows = vessel.volume_by_level
    for i in range(1, len(rows)):
        if rows[i].level.si < rows[i - 1].level.si + LEAST_STEP or rows[i].volume.si <= rows[i - 1].volume.si:
            return field_error(
                f"{at}/volume_by_level/{i}",
                "Levels and volumes must both rise from row to row, levels by 0.1 mm or more.",
                why="A vessel holds more the fuller it is.",
            )
    return None
