"""The circuit that one machine needs, by nec and by iec."""

from typing import Final, Literal

from msgspec import Struct

from coldwright_basis.compare import below
from coldwright_basis.ratings import LEAST_NEC, rating_at_least, rating_at_most
from coldwright_electrical.service.safety_switches import frame_at_least

LARGEST_MOTOR_ALLOWANCE: Final = 0.25

CONTINUOUS_ALLOWANCE: Final = 0.25

SMALL_MOTOR_DEVICE_MULTIPLE: Final = 2.5
"""430.52: inverse-time breaker of a motor that is not a hermetic compressor."""

DISCONNECT_MULTIPLE: Final = 1.15

HIGH_FACTOR: Final = 2.25

Source = Literal["plate", "calculated"]


class Motor(Struct, frozen=True, order=True, gc=False):
    """Running current of one motor [A]."""

    current: float = 0.0
    compressor: bool = False


class Duty(Struct, frozen=True, gc=False):
    """Currents of ONE machine of an entry [A]; `known` says that its motors were given."""

    quantity: int
    known: bool
    terms: tuple[tuple[int, float], ...]
    """How many of which current: its motors, then its other loads."""
    tabulated: bool
    """Whether a motor's current is not its plate's, but that of the table for its rated power."""
    running: float
    continuous: float
    largest: Motor
    start_step: float | None
    """Greatest (locked rotor - own running current) over the motors that state one."""
    plate_ampacity: float | None
    plate_device: float | None
    plate_current: float | None

    def calculated_ampacity(self) -> float:
        """Every current once, 25 % more of what runs for hours and of the largest motor."""
        return self.running + CONTINUOUS_ALLOWANCE * self.continuous + LARGEST_MOTOR_ALLOWANCE * self.largest.current


class Circuit(Struct, frozen=True, gc=False):
    """What a machine or the group needs [A]; `None` where it cannot be known."""

    ampacity: float
    source: Source
    device: float | None = None
    device_standard: float | None = None
    device_high: float | None = None
    device_high_standard: float | None = None
    smallest_workable: float | None = None
    disconnect: float | None = None
    disconnect_standard: float | None = None
    running: float | None = None
    starting: float | None = None

    def unworkable(self) -> bool:
        """The greatest device allowed is smaller than the smallest that can carry the load."""
        return (
            self.device_standard is not None
            and self.smallest_workable is not None
            and below(self.device_standard, self.smallest_workable)
        )


def round_down(device: float | None) -> float | None:
    """The standard NEC rating not above a limit, never below the smallest made."""
    return None if device is None else rating_at_most("nec", device) or LEAST_NEC


def device_limit(largest: Motor, others: float, factor: float) -> float | None:
    """Largest device [A] of a circuit, before rounding; `others` are all the other currents.

    440.22(B)(1) where a compressor is the largest motor, 440.22(B)(2) with 430.62(A) where another motor is.
    """
    if largest.compressor:
        return factor * largest.current + others
    own = rating_at_least("nec", SMALL_MOTOR_DEVICE_MULTIPLE * largest.current)
    return None if own is None else own + others


def nec_machine(duty: Duty, factor: float) -> Circuit:
    """The circuit of one machine by its plate, and by its motors where they are known."""
    if not duty.known:
        ampacity = duty.plate_ampacity or 0.0
        return Circuit(
            ampacity, "plate", device_standard=duty.plate_device, smallest_workable=rating_at_least("nec", ampacity)
        )
    others = duty.running - duty.largest.current
    device = device_limit(duty.largest, others, factor)
    high = device_limit(duty.largest, others, HIGH_FACTOR)
    ampacity = duty.calculated_ampacity() if duty.plate_ampacity is None else duty.plate_ampacity
    disconnect = DISCONNECT_MULTIPLE * duty.running
    return Circuit(
        ampacity,
        "calculated" if duty.plate_ampacity is None else "plate",
        device,
        round_down(device) if duty.plate_device is None else duty.plate_device,
        high,
        round_down(high),
        rating_at_least("nec", ampacity),
        disconnect,
        frame_at_least(disconnect),
        duty.running,
        None if duty.start_step is None else duty.running + duty.start_step,
    )


def iec_circuit(
    current: float, source: Source, running: float | None, step: float | None, device: float | None
) -> Circuit:
    """IEC: the device is the next rated current above the design current; the disconnector carries at least as much."""
    rating = rating_at_least("iec", current)
    return Circuit(
        current,
        source,
        device_standard=device,
        smallest_workable=rating,
        disconnect=rating,
        disconnect_standard=rating,
        running=running,
        starting=None if step is None or running is None else running + step,
    )


def iec_machine(duty: Duty) -> Circuit:
    """Design current: the plate's rated current, else the motors' sum, else the plate's circuit ampacity."""
    if duty.plate_current is not None:
        return iec_circuit(duty.plate_current, "plate", duty.plate_current, duty.start_step, duty.plate_device)
    if duty.known:
        return iec_circuit(duty.running, "calculated", duty.running, duty.start_step, duty.plate_device)
    return iec_circuit(duty.plate_ampacity or 0.0, "plate", None, None, duty.plate_device)
