"""What is refused of a set-up because its parts contradict one another."""

from msgspec import UNSET

from coldwright.contract import (
    Allowed,
    FieldError,
    Refused,
    field_error,
)
from coldwright_basis.compare import above
from coldwright_basis.instants import duration, span, stamp_error
from coldwright_basis.repeats import repeated
from coldwright_readiness.procedure.given import ProcedureGiven
from coldwright_readiness.shared.configuration import configuration_errors, warm_up_span
from coldwright_readiness.shared.own_durations import LONGEST_STEP, duration_errors, pointer_to
from coldwright_readiness.shared.steps import (
    Step,
)


def refuse_contradictions(given: ProcedureGiven) -> None:
    """Raise `Refused` with everything that contradicts itself."""
    c = given.configuration
    errors = configuration_errors(c)
    if not c.second_start:
        errors += _filling_errors(given)
        errors += _mixture_errors(given)
        errors += _extra_errors(given)
        if c.fluid_kind != "water" and given.antifreeze_duration is UNSET:
            errors.append(field_error("/antifreeze_duration", "A glycol must be charged: how long?", code="missing"))
    if (given.pull_down_duration is UNSET) == (given.pull_down is UNSET):
        code = "missing" if given.pull_down is UNSET else "refused"
        text = "Give exactly one of pull_down_duration and pull_down."
        errors.append(field_error("/pull_down_duration", text, code=code))
    if given.arrival_at is not UNSET and (error := stamp_error("/arrival_at", given.arrival_at)):
        errors.append(error)
    errors += repeated((f"/crew/{index}/id", person.id) for index, person in enumerate(given.crew))
    if errors:
        raise Refused(errors)


def _extra_errors(given: ProcedureGiven) -> list[FieldError]:
    """What belongs to a set where the site feeds, and flushing through a tap of which no flow is given."""
    errors = []
    if given.configuration.supply_source != "generator":
        of_a_set = {"load_bank_power": given.load_bank_power, "refuel_interval": given.refuel_interval}
        there = [name for name, value in of_a_set.items() if value is not UNSET]
        there += ["generator_brought"] if given.generator_brought else []
        errors += [field_error(f"/{name}", "The supply of the configuration is the site's, no set.") for name in there]
    if given.flush_volume is not UNSET and given.fill_flow is UNSET:
        errors.append(
            field_error("/fill_flow", "Flushing takes `flush_volume` at the flow of the tap.", code="missing")
        )
    return errors


def _mixture_errors(given: ProcedureGiven) -> list[FieldError]:
    volumes = {"concentrate_volume": given.concentrate_volume, "water_volume": given.water_volume}
    there = [name for name, volume in volumes.items() if volume is not UNSET]
    if not there:
        return []
    if given.configuration.fluid_kind == "water":
        why = "the liquid of the configuration is water; `loop_volume` is its volume"
        return [field_error(f"/{name}", "Water has no concentrate.", value=volumes[name], why=why) for name in there]
    if len(there) < len(volumes):
        (name,) = volumes.keys() - there
        return [field_error(f"/{name}", f"`{there[0]}` is given without it.", code="missing")]
    parts = given.concentrate_volume, given.water_volume
    loop = given.loop_volume
    if loop is not UNSET and any(part is not UNSET and above(part.si, loop.si) for part in parts):
        why = "concentrate and water together are what the loop holds"
        return [field_error("/loop_volume", "The loop holds less than one part of its mixture.", value=loop, why=why)]
    return []


def _filling_errors(given: ProcedureGiven) -> list[FieldError]:
    text = "Give either fill_duration, or loop_volume together with fill_flow."
    volume, flow = given.loop_volume is not UNSET, given.fill_flow is not UNSET
    if given.fill_duration is not UNSET:
        names = [n for n, there in (("loop_volume", volume), ("fill_flow", flow)) if there]
        return [field_error(f"/{n}", text) for n in names]
    if volume and flow:
        return []
    name = "fill_flow" if volume else "loop_volume" if flow else "fill_duration"
    return [field_error(f"/{name}", text, code="missing")]


def refuse_durations(given: ProcedureGiven, steps: tuple[Step, ...]) -> None:
    """Raise `Refused` for own durations of steps that are not there, or out of range."""
    errors = [*duration_errors(given.step_durations, steps)]
    there = {s.id for s in steps}
    for step, wanted in given.step_durations.items():
        if step not in there or not 0 <= wanted.si <= LONGEST_STEP.si:
            continue
        if step == "oil_warm_up" and span(wanted) < warm_up_span(given.configuration):
            shortest = duration(warm_up_span(given.configuration))
            errors.append(
                field_error(
                    pointer_to(step),
                    f"{wanted} is shorter than the warm-up, {shortest}.",
                    code="out_of_range",
                    value=wanted,
                    allowed=Allowed(minimum=shortest.value, unit=shortest.unit),
                    why="Oil heat cannot be hurried; refrigerant left in the oil wrecks compressors.",
                )
            )
    if errors:
        raise Refused(errors)
