"""The figures of a service as results."""

from typing import Final

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Current
from coldwright_electrical.service.circuits import Circuit
from coldwright_electrical.service.given import MachineGiven
from coldwright_electrical.service.results import CircuitResults, MachineResults

_current: Final = Current.of


def optional_current(current: float | None) -> Current | UnsetType:
    """A current [A] as a quantity; absent where it is not known."""
    return UNSET if current is None else _current(current, "A")


def circuit_results(circuit: Circuit) -> CircuitResults:
    """Written out here and below, since unpacking a dictionary takes as long as making what is in it."""
    return CircuitResults(
        minimum_circuit_ampacity=_current(circuit.ampacity, "A"),
        minimum_circuit_ampacity_source=circuit.source,
        maximum_overcurrent_calculated=optional_current(circuit.device),
        maximum_overcurrent_standard=optional_current(circuit.device_standard),
        maximum_overcurrent_calculated_at_2_25=optional_current(circuit.device_high),
        maximum_overcurrent_standard_at_2_25=optional_current(circuit.device_high_standard),
        smallest_workable_standard=optional_current(circuit.smallest_workable),
        disconnect_minimum_current=optional_current(circuit.disconnect),
        disconnect_standard=optional_current(circuit.disconnect_standard),
        running_current=optional_current(circuit.running),
        locked_rotor_with_largest_starting=optional_current(circuit.starting),
    )


def machine_results(machine: MachineGiven, circuit: Circuit) -> MachineResults:
    """What one machine of an entry needs."""
    return MachineResults(
        machine_id=machine.machine_id,
        quantity=machine.quantity,
        minimum_circuit_ampacity=_current(circuit.ampacity, "A"),
        minimum_circuit_ampacity_source=circuit.source,
        maximum_overcurrent_calculated=optional_current(circuit.device),
        maximum_overcurrent_standard=optional_current(circuit.device_standard),
        maximum_overcurrent_calculated_at_2_25=optional_current(circuit.device_high),
        maximum_overcurrent_standard_at_2_25=optional_current(circuit.device_high_standard),
        smallest_workable_standard=optional_current(circuit.smallest_workable),
        disconnect_minimum_current=optional_current(circuit.disconnect),
        disconnect_standard=optional_current(circuit.disconnect_standard),
        running_current=optional_current(circuit.running),
        locked_rotor_with_largest_starting=optional_current(circuit.starting),
    )
