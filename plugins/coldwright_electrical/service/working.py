"""How the numbers of a service come about, line by line."""

from collections.abc import Sequence
from typing import Final

from coldwright.contract import Notes
from coldwright_electrical.service.circuits import (
    CONTINUOUS_ALLOWANCE,
    LARGEST_MOTOR_ALLOWANCE,
    SMALL_MOTOR_DEVICE_MULTIPLE,
    Circuit,
    Duty,
    Motor,
)
from coldwright_electrical.service.given import ServiceGiven

MOST_TERMS: Final = 6
"""A sum of more terms than these is given in words."""


def show_working(
    given: ServiceGiven, duties: Sequence[Duty], circuits: Sequence[Circuit], feeder: Circuit, notes: Notes
) -> None:
    """The sum of each machine and of the feeder."""
    nec = given.practice == "nec"
    for machine, duty, circuit in zip(given.machines, duties, circuits, strict=True):
        who = machine.machine_id
        if circuit.running is not None:
            notes.show(
                "I",
                f"Running current, {who}",
                _sum_of_loads(duty) if duty.known else "from the data plate",
                circuit.running,
                "A",
            )
        if nec and duty.known:
            _show_nec_machine(given, who, duty, circuit, notes)
        elif nec:
            notes.show("MCA", f"Ampacity, {who}", "from the data plate", circuit.ampacity, "A")
        else:
            notes.show("I_B", f"Design current, {who}", circuit.source, circuit.ampacity, "A")
    ampacity, device = _feeder_sums(given, duties, circuits, feeder)
    notes.show("MCA" if nec else "I_B", "Ampacity of the feeder", ampacity, feeder.ampacity, "A")
    if feeder.device is not None:
        notes.show("I_dev", "Greatest device of the feeder", device, feeder.device, "A")
    if feeder.running is not None:
        volts = given.system_voltage.to("V")
        notes.show(
            "S",
            "Apparent power",
            f"sqrt(3) V I = 1.732 x {volts:g} x {feeder.running:.5g} / 1000",
            3**0.5 * volts * feeder.running / 1000,
            "kVA",
        )


def _sum_of_loads(duty: Duty) -> str:
    """The motors as counted, and the other loads: `2 x 58 + 4 x 3.4 + 14`, or in words where that grows long."""
    terms = [f"{own:.5g}" if count == 1 else f"{count} x {own:.5g}" for count, own in duty.terms]
    return _joined(terms, "sum of its motors and other loads")


def _feeder_sums(
    given: ServiceGiven, duties: Sequence[Duty], circuits: Sequence[Circuit], feeder: Circuit
) -> tuple[str, str]:
    """How the feeder's ampacity and its greatest device come about."""
    nec = given.practice == "nec"
    if len(duties) > 1 and any(machine.interlocked_with for machine in given.machines):
        return "the most of all machines that may run together", "largest device + the rest of those that run together"
    if len(duties) == 1 and duties[0].quantity == 1:
        return "as for its one machine", "as for its one machine"
    if not nec:
        terms = [f"{d.quantity} x {c.ampacity:.5g}" for d, c in zip(duties, circuits, strict=True)]
        return _joined(terms, "sum of all machines"), ""
    if feeder.running is None:
        return (
            "machines known by motors: running + 25 %; by plate: its ampacity",
            "largest device + all the rest, plates at ampacity / 1.25",
        )
    continuous = sum([duty.quantity * duty.continuous for duty in duties])
    largest = max([duty.largest for duty in duties])
    ampacity = f"{feeder.running:.5g} running"
    if continuous:
        ampacity += f" + {CONTINUOUS_ALLOWANCE:g} x {continuous:.5g} continuous"
    ampacity += f" + {LARGEST_MOTOR_ALLOWANCE:g} x {largest.current:.5g}, the largest motor once"
    rest = feeder.running - largest.current
    return ampacity, f"{_device_start(given.overcurrent_factor, largest)} + {rest:.5g}"


def _joined(terms: list[str], words: str) -> str:
    return words if len(terms) > MOST_TERMS else " + ".join(terms)


def _device_start(factor: float, largest: Motor) -> str:
    if largest.compressor:
        return f"{factor:g} x {largest.current:.5g}"
    return f"next rating up of {SMALL_MOTOR_DEVICE_MULTIPLE:g} x {largest.current:.5g}"


def _show_nec_machine(given: ServiceGiven, who: str, duty: Duty, circuit: Circuit, notes: Notes) -> None:
    large = duty.largest.current
    rest = duty.running - large
    notes.show(
        "MCA",
        f"Ampacity from the motors, {who}",
        f"{duty.running:.5g} + 0.25 x {large:.5g} + 0.25 x {duty.continuous:.5g} continuous",
        duty.calculated_ampacity(),
        "A",
    )
    if circuit.device is not None:
        start = _device_start(given.overcurrent_factor, duty.largest)
        notes.show(
            "I_dev", f"Greatest device before rounding down, {who}", f"{start} + {rest:.5g}", circuit.device, "A"
        )
    if circuit.disconnect is not None:
        notes.show("I_dis", f"Disconnect, {who}", f"1.15 x {duty.running:.5g}", circuit.disconnect, "A")
