"""What the plan says of relief valves: whether the pump's pressure would open them where they stand."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import GaugePressure
from coldwright.contract.sentences import Words
from coldwright_basis.compare import above, at_most, whole_at_least
from coldwright_booking.plan.filling import RELIEF_MARGIN, STEP
from coldwright_booking.plan.loop import LoopPlan
from coldwright_booking.plan.plan import Plan


def report_relief(plan: Plan, notes: Notes) -> None:
    """Behind a running pump a valve set for the standing loop lifts; on the pump's suction it meets the standing pressure.

    With the site's pump the machines, and the valves of those that can be shut off, stand behind it.
    """
    loop, filling = plan.loop, plan.filling
    if not isinstance(loop, LoopPlan) or filling is None or loop.asked.results.highest_pressure is UNSET:
        return
    highest, setting = loop.asked.results.highest_pressure.value, filling.relief_setting
    if not above(highest.si, setting.si):
        return
    behind = filling.relief_valves > 1 and not all(loop.runs_own(p) for p in plan.combination)
    said = say(
        "Relief valves are set to {setting}; with the pump on the loop reaches {highest}: a valve behind the pump would lift.",
        setting=setting,
        highest=highest,
    )
    place: Words = "the suction of the site's pump" if loop.site_pump else "the pump's suction, with the vessel"
    cures = say(
        "{where} on {place}, where the pressure stays at {standing}; {higher}; or a drive that slows the pump.",
        where="Fit them" if behind else "Keep them",
        place=place,
        standing=filling.required,
        higher=_higher(plan, loop, highest),
    )
    why = "A valve that lifts empties the loop, and the pump runs dry."
    if behind:
        notes.check(
            "relief_would_lift", said, why=why, do=cures, cleared_by="the site's mechanic", field="/load_side/pump"
        )
    else:
        notes.note("relief_would_lift", said, why=why, resolve=cures, field="/load_side/pump")


def _higher(plan: Plan, loop: LoopPlan, highest: GaugePressure) -> Words:
    """A setting above the running pressure, where hose and machines bear it."""
    ratings = [loop.hose.working_pressure, *(p.machine.evaporator.working_pressure for p in plan.combination)]
    known = [r for r in ratings if r is not UNSET]
    setting = GaugePressure.of(STEP * whole_at_least(highest.to("kPa") / (1 - RELIEF_MARGIN) / STEP), "kPa")
    if not known:
        return say("or valves of {setting}, if hose and machine bear that", setting=setting)
    weakest = min(known, key=lambda r: r.si)
    if at_most(setting.si, weakest.si):
        rest = "" if len(known) == len(ratings) else ", as far as ratings are given"
        return say(
            "or valves of {setting}, within the {weakest} of the weakest part{rest}",
            setting=setting,
            weakest=weakest,
            rest=rest,
        )
    return say("no valve of {setting}, since the weakest part bears {weakest}", setting=setting, weakest=weakest)
