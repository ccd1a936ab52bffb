"""The sum of a feeder, line by line."""

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright_electrical.feeder.cable import Terms
from coldwright_electrical.feeder.choice import Choice, Demand
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.sums import Sums


def show_working(given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, sums: Sums, notes: Notes) -> None:
    """The sum of the cable chosen."""
    cable, sets, load = choice.cable, choice.sets, demand.load
    unit, per = ("ohm/kft", 304.8) if demand.nec else ("ohm/km", 1000.0)
    r, x = cable.resistance * per, cable.reactance * per
    if given.ampacity_each is UNSET:
        base = cable.each / (terms.temperature_factor * terms.bundling_factor)
        expression = f"table {base:.5g} x ambient {terms.temperature_factor:.4g} x bundling {terms.bundling_factor:g}"
    else:
        expression = "given"
    notes.show("I_z", f"Ampacity of one {cable.size}", expression, cable.each, "A")
    limits = [f"{cable.each:.5g}"]
    if cable.contact is not None:
        limits.append(f"contact {cable.contact:.5g}")
    if terms.connector_basis and cable.connector is not None:
        limits.append(f"connector {cable.connector:g}")
    elif cable.termination is not None:
        limits.append(f"termination {cable.termination:g}")
    notes.show("I_total", "Ampacity of the run that decides", f"{sets} x min({', '.join(limits)})", sums.deciding, "A")
    cosine, sine = load.power_factor, load.sine
    effective = r * cosine + x * sine
    notes.show(
        "Z_e", "Effective impedance", f"R cos + X sin = {r:.4g} x {cosine:g} + {x:.4g} x {sine:.4f}", effective, unit
    )
    notes.show(
        "R", "Resistance of the run", f"r L / n = {r:.4g} x {demand.length / per:.5g} / {sets}", sums.resistance, "ohm"
    )
    notes.show(
        "X", "Reactance of the run", f"x L / n = {x:.4g} x {demand.length / per:.5g} / {sets}", sums.reactance, "ohm"
    )
    notes.show(
        "dV_approx",
        "Running drop, short form, source included",
        f"sqrt(3) I (R cos + X sin), I = {load.current:.5g} A",
        sums.approximate,
        "V",
    )
    notes.show(
        "dV",
        "Running drop, exact",
        "V - sqrt(3) {sqrt[E^2 - (I X cos - I R sin)^2] - I (R cos + X sin)}, E = V / sqrt(3)",
        sums.exact,
        "V",
    )
    if demand.start is not None and sums.starting_fraction is not None:
        motor = load.voltage / (3**0.5 * demand.start.current)
        notes.show(
            "d_start",
            "Starting drop as a fraction",
            f"1 - |Zm| / |Zm + Z|, |Zm| = V / (sqrt(3) I) = {motor:.5g} ohm at {demand.start.power_factor:g}",
            sums.starting_fraction,
            "1",
        )
    notes.show(
        "L_max",
        "Longest run, by the starting drop" if sums.longest_by_starting else "Longest run, by the running drop",
        "|Zm + Zs + z L| = |Zm| / (1 - allowed)"
        if sums.longest_by_starting
        else f"{demand.allowed_running:g} V n / [sqrt(3) I (r cos + x sin)]",
        sums.longest,
        "m",
    )
    notes.show(
        "P_loss", "Loss in the run", f"3 I^2 R = 3 x {load.current:.5g}^2 x {sums.resistance:.5g}", sums.loss, "W"
    )
