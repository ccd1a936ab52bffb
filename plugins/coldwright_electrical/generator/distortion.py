"""Distortion of the voltage by drives."""

import math

from coldwright.contract import Notes, load_table
from coldwright_electrical.generator import findings as findings
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.sets import Machine

DRIVE_SPECTRA = load_table("coldwright_electrical", "drive_spectra")


def distortion_of(given: GeneratorGiven, notes: Notes, machine: Machine) -> float | None:
    """THD of the voltage: V_h = h X"d I_h, drives of one spectrum added without regard to angle."""
    by_order: dict[str, float] = {}
    rated = machine.kva * 1000 / (math.sqrt(3) * given.system_voltage.value)
    for load in given.loads:
        if load.nonlinear:
            share = load.quantity * load.running_current.to("A") / rated
            for order, part in DRIVE_SPECTRA.rows[load.input_filter].items():
                by_order[order] = by_order.get(order, 0.0) + part * share
    if not by_order:
        return None
    x = machine.reactances.subtransient
    distortion = math.sqrt(sum((int(order) * x * current) ** 2 for order, current in by_order.items()))
    terms = ", ".join(f"{order}: {int(order) * x * current:.4f}" for order, current in by_order.items())
    notes.show("THD_v", "Distortion of the voltage", f'sqrt(sum (h X"d I_h)^2): {terms}', distortion)
    findings.judge_distortion(notes, distortion)
    return distortion
