"""Unbalance of the voltages against its limit, and what follows from it."""

from typing import Any

from coldwright.contract import Notes, say, tidy
from coldwright_basis.compare import above
from coldwright_electrical.shared.references import COMMON_PRACTICE, IEC_60204_1
from coldwright_electrical.supply_quality.given import SupplyQualityGiven
from coldwright_electrical.supply_quality.readings import Readings
from coldwright_electrical.supply_quality.symmetry import (
    GREATEST_UNBALANCE,
    UNBALANCE_DERATING,
    derating_factor,
    greatest_deviation,
    negative_sequence,
    triangle_closes,
)


def unbalance_of(given: SupplyQualityGiven, readings: Readings, notes: Notes, actions: list[str]) -> dict[str, Any]:
    """The results that need a mean above 0; the findings on the way."""
    mean = readings.mean_voltage
    if mean <= 0:
        return {}
    u = greatest_deviation(readings.voltages)
    closes = triangle_closes(readings.voltages)
    negative = negative_sequence(readings.voltages) if closes else 1.0
    notes.show("u", "Voltage unbalance", f"max |V - V_m| / V_m, V_m = {mean:.5g} V", u)
    notes.show(
        "VUF",
        "Negative over positive sequence",
        "sqrt((1 - sqrt(3 - 6b)) / (1 + sqrt(3 - 6b))), b = sum V^4 / (sum V^2)^2",
        negative,
    )
    judge_unbalance(given, notes, actions, u, negative, closes=closes)
    counted = u if given.practice == "nec" else negative
    rise = 2 * (u * 100) ** 2 / 100
    notes.show("dT", "Growth of the temperature rise", f"2 u%^2 / 100, u% = {u * 100:.4g}", rise)
    found = {
        "voltage_unbalance_fraction": tidy(u),
        "negative_sequence_fraction": tidy(negative),
        "unbalance_margin_fraction": tidy(given.unbalance_limit_fraction - counted),
        "temperature_rise_increase_fraction": tidy(rise),
    }
    factor = derating_factor(u)
    if factor is not None:
        notes.show("k", "Derating factor", f"straight lines of the derating table at u = {u:.4g}", factor)
        found["derating_factor"] = tidy(factor)
    if readings.currents:
        found |= {
            "expected_current_unbalance_low_fraction": tidy(6 * u),
            "expected_current_unbalance_high_fraction": tidy(10 * u),
        }
    return found


def judge_unbalance(
    given: SupplyQualityGiven, notes: Notes, actions: list[str], u: float, negative: float, *, closes: bool
) -> None:
    """Unbalance against 5 %, against the limit, and what it costs below that."""
    counted = u if given.practice == "nec" else negative
    limit = given.unbalance_limit_fraction
    even_out = "Find the uneven single-phase load, loose joint or open delta, and even out the three lines."
    if not closes:
        notes.check(
            "readings_do_not_close",
            "One voltage is above the other two together, which no moment allows: the negative sequence is set to its "
            "greatest, 1.",
            resolve="Read all three again within a minute.",
            field="/line_voltages",
        )
    if above(u, GREATEST_UNBALANCE):
        notes.stop(
            "unbalance_above_five_percent",
            f"The voltage unbalance is {u:.2%}: above 5 % no motor may run, and no derating factor exists.",
            why="Negative sequence currents heat the rotor many times as much.",
            resolve=even_out,
            field="/line_voltages",
            references=(UNBALANCE_DERATING.reference.id,),
        )
        actions.append(even_out)
    if above(counted, limit):
        notes.stop(
            "unbalance_above_limit",
            say(
                "The unbalance that counts here is {counted:.2%}, {excess:.2%} above the limit of {limit:.2%}.",
                counted=counted,
                excess=counted - limit,
                limit=limit,
            ),
            why="A hermetic motor is cooled by its own refrigerant and has little to spare.",
            resolve=even_out,
            field="/line_voltages",
            references=(COMMON_PRACTICE.id, IEC_60204_1.id),
        )
        actions.append(even_out)
    elif above(u, 0.01):
        notes.check(
            "unbalance_derates",
            f"The voltage unbalance is {u:.2%}: motors give {derating_factor(u) or 0.76:.3f} of their output "
            f"and warm up {2 * (u * 100) ** 2 / 100:.1%} more.",
            why="Currents grow uneven 6 to 10 times as much.",
            resolve="Even out the single-phase loads on the source; read again under load.",
            field="/line_voltages",
            references=(UNBALANCE_DERATING.reference.id,),
        )
