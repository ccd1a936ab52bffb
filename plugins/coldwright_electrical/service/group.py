"""Several machines on one feeder, some of which may be kept from running together."""

from collections.abc import Iterator, Sequence
from typing import Final

from msgspec.structs import replace

from coldwright.contract import Refused, refuse
from coldwright_basis.compare import at_least
from coldwright_basis.ratings import Practice, rating_at_least
from coldwright_electrical.service.circuits import (
    CONTINUOUS_ALLOWANCE,
    DISCONNECT_MULTIPLE,
    HIGH_FACTOR,
    LARGEST_MOTOR_ALLOWANCE,
    Circuit,
    Duty,
    Motor,
    Source,
    device_limit,
    iec_circuit,
    round_down,
)
from coldwright_electrical.service.safety_switches import frame_at_least

MOST_RUNNING_SETS: Final = 512

PLATE_MARGIN: Final = 1.25
"""A plate's circuit ampacity holds at most this much more than the running current."""


def feeder_circuit(
    practice: Practice, duties: Sequence[Duty], circuits: Sequence[Circuit], apart: Sequence[set[int]], factor: float
) -> Circuit:
    """What the feeder of all machines needs, the worst of the sets that may run together."""
    if not any(apart):
        return _of_set(practice, duties, circuits, range(len(duties)), factor)
    sets = [_of_set(practice, duties, circuits, members, factor) for members in running_sets(apart)]
    worst = max(sets, key=lambda c: c.ampacity)
    return worst if len(sets) == 1 else _worst_of(practice, sets, worst)


def _of_set(
    practice: Practice, duties: Sequence[Duty], circuits: Sequence[Circuit], members: Sequence[int], factor: float
) -> Circuit:
    if len(members) == 1 and duties[members[0]].quantity == 1:
        return circuits[members[0]]
    together = [duties[i] for i in members]
    if practice == "iec":
        return _iec_group(together, [circuits[i] for i in members])
    return _nec_group(together, factor)


def _nec_group(duties: list[Duty], factor: float) -> Circuit:
    running = ampacity = plates = 0.0
    largest, step = Motor(), None
    plate_devices = []
    all_known = True
    for duty in duties:
        if duty.known:
            running += duty.quantity * duty.running
            ampacity += duty.quantity * (duty.running + CONTINUOUS_ALLOWANCE * duty.continuous)
            largest = max(largest, duty.largest)
            if duty.start_step is not None:
                step = duty.start_step if step is None else max(step, duty.start_step)
        else:
            all_known = False
            one = duty.plate_ampacity or 0.0
            ampacity += duty.quantity * one
            plates += duty.quantity * one / PLATE_MARGIN
            if duty.plate_device is not None:
                plate_devices.append((duty.plate_device, one / PLATE_MARGIN))
    ampacity += LARGEST_MOTOR_ALLOWANCE * largest.current
    # Two bounds, each below the true limit, so the greater of them stands: the largest known motor, the largest plate.
    device_at = device_high = None
    if plate_devices:
        device, own = max(plate_devices)
        device_at = device + running + plates - own
    if largest.current:
        others = running - largest.current + plates
        device_high = _greater(device_limit(largest, others, HIGH_FACTOR), device_at)
        device_at = _greater(device_limit(largest, others, factor), device_at)
    disconnect = DISCONNECT_MULTIPLE * running if all_known else None
    return Circuit(
        ampacity,
        "calculated" if all_known else "plate",
        device_at,
        round_down(device_at),
        device_high,
        round_down(device_high),
        rating_at_least("nec", ampacity),
        disconnect,
        None if disconnect is None else frame_at_least(disconnect),
        running if all_known else None,
        running + step if all_known and step is not None else None,
    )


def _greater(one: float | None, other: float | None) -> float | None:
    if one is None or other is None:
        return other if one is None else one
    return max(one, other)


def _iec_group(duties: list[Duty], circuits: list[Circuit]) -> Circuit:
    current = sum(d.quantity * c.ampacity for d, c in zip(duties, circuits, strict=True))
    known = all(c.running is not None for c in circuits)
    steps = [d.start_step for d in duties if d.start_step is not None]
    source: Source = "plate" if any(c.source == "plate" for c in circuits) else "calculated"
    return iec_circuit(current, source, current if known else None, max(steps, default=None), None)


def _worst_of(practice: Practice, sets: list[Circuit], worst: Circuit) -> Circuit:
    """Each value the greatest over the sets; the device the smallest over the sets of the greatest ampacity."""
    governing = [c for c in sets if at_least(c.ampacity, worst.ampacity)]

    def greatest(values: list[float | None]) -> float | None:
        known = [v for v in values if v is not None]
        return max(known) if known else None

    strictest = min(governing, key=lambda c: float("inf") if c.device_standard is None else c.device_standard)
    running_known = all(c.running is not None for c in sets)
    disconnect = greatest([c.disconnect for c in sets]) if running_known or practice == "iec" else None
    return replace(
        worst,
        device=strictest.device,
        device_standard=strictest.device_standard,
        device_high=strictest.device_high,
        device_high_standard=strictest.device_high_standard,
        disconnect=disconnect,
        disconnect_standard=disconnect
        if practice == "iec"
        else (None if disconnect is None else frame_at_least(disconnect)),
        running=greatest([c.running for c in sets]) if running_known else None,
        starting=greatest([c.starting for c in sets]) if running_known else None,
    )


def running_sets(apart: Sequence[set[int]]) -> list[tuple[int, ...]]:
    """The largest sets of entries of which no two are interlocked; refuses when there are too many."""
    everyone = set(range(len(apart)))
    together = [everyone - apart[i] - {i} for i in range(len(apart))]
    found: list[tuple[int, ...]] = []
    for members in _cliques((), everyone, set(), together):
        found.append(members)
        if len(found) > MOST_RUNNING_SETS:
            raise _too_many()
    return found


def _too_many() -> Refused:
    return refuse(
        "/machines",
        f"The interlocks leave more than {MOST_RUNNING_SETS} different sets of machines that may run together.",
        why="Outside the method: split the group by feeder.",
    )


def _cliques(
    chosen: tuple[int, ...], open_: set[int], done: set[int], together: list[set[int]]
) -> Iterator[tuple[int, ...]]:
    """Bron and Kerbosch with a pivot: maximal sets of entries that may all run together."""
    if not open_ and not done:
        yield tuple(sorted(chosen))
        return
    pivot = max(open_ | done, key=lambda i: (len(together[i] & open_), -i))
    for i in sorted(open_ - together[pivot]):
        yield from _cliques((*chosen, i), open_ & together[i], done & together[i], together)
        open_ = open_ - {i}
        done = done | {i}
