"""Least volume of `hydronic.fill`: what keeps the last step of a machine from starting too often."""

from typing import Any

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import Duration, Volume
from coldwright_basis.liquids import properties
from coldwright_hydronic.fill.given import FillGiven
from coldwright_hydronic.fill.results import GoverningRule

USUAL_RUN_TIME = Duration(5.0, "min")


def least_volume(given: FillGiven, notes: Notes, total: float) -> dict[str, Any]:
    """Heat balance over the control's band by each rule that was given; the greatest volume governs."""
    plan = given.cycling
    if plan is UNSET:
        return {}
    state = properties(given.fluid, needs=("density", "specific_heat"))
    held = state.volumetric_heat * plan.dead_band.si
    step, load = plan.step_capacity.si, plan.minimum_load.si
    run_time = plan.minimum_run_time
    if run_time is UNSET and plan.minimum_off_time is UNSET and plan.starts_per_hour is UNSET:
        run_time = USUAL_RUN_TIME
        notes.assume(
            "minimum_run_time",
            "The least time on is 5 minutes, as no rule was given.",
            value=run_time,
            basis="common_practice",
            references=("hydronic_practice",),
        )
    rules: dict[GoverningRule, float] = {}
    bottom = f"rho cp dT = {held / 1e3:.2f} kJ/m3"
    if run_time is not UNSET:
        rules["run_time"] = max(0.0, step - load) * run_time.si / held  # a load above the step never lets it stop
        _show(
            notes, "run time", f"(Q_step - Q_load) t_run/(rho cp dT), t_run = {run_time}, {bottom}", rules["run_time"]
        )
    if plan.minimum_off_time is not UNSET:
        rules["off_time"] = load * plan.minimum_off_time.si / held
        _show(
            notes, "off time", f"Q_load t_off/(rho cp dT), t_off = {plan.minimum_off_time}, {bottom}", rules["off_time"]
        )
    if plan.starts_per_hour is not UNSET:
        rules["starts_per_hour"] = step * (3600 / plan.starts_per_hour) / (4 * held)
        numbers = f"Q_step (3600/n)/(4 rho cp dT), n = {plan.starts_per_hour:g}, {bottom}"
        _show(notes, "starts in an hour, worst at half load", numbers, rules["starts_per_hour"])
    governing = max(rules, key=lambda rule: rules[rule])
    least = rules[governing]
    worked: dict[str, Any] = {
        "minimum_loop_volume": Volume.from_si(least, "L"),
        "governing_rule": governing,
        "buffer_volume": Volume.from_si(max(0.0, least - plan.effective_fraction * total), "L"),
    }
    if plan.rule_volume_per_capacity is not UNSET:
        worked["rule_volume"] = Volume.from_si(plan.rule_volume_per_capacity.si * step, "L")
    return worked


def _show(notes: Notes, rule: str, expression: str, volume: float) -> None:
    notes.show("V_min", f"Least volume by {rule}", expression, Volume.from_si(volume, "L"))
