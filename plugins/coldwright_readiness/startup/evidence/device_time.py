"""The records as one device's own uptime spaces them: its stamps may be wrong, all by the same amount.

In device time each record of the device is an instant, and whatever others recorded is less sure by as much as the
device's clock is. What is surely so in device time is surely so; a clock that was set meanwhile makes it unsure, not wrong.
"""

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from msgspec import structs

from coldwright_readiness.startup.evidence.evidence import Evidence
from coldwright_readiness.startup.evidence.intake import Intake
from coldwright_readiness.startup.evidence.record import Boot, Record

MOST_DEVICES: Final = 6
"""So many devices are asked for their time, those with most records first: a start has one or two."""


def in_device_time(e: Evidence) -> Iterator[Evidence]:
    """The evidence once more for each device whose uptime says more than its stamps."""
    for boot, records in _spaced(e):
        first = min(r.earliest - r.uptime for r in records)
        last = max(r.latest - r.uptime for r in records)
        if any(r.earliest < r.latest for r in records):
            yield Evidence(_moved(e.taken, boot, first, last - first), e.limits, e.now)


def _spaced(e: Evidence) -> list[tuple[Boot, list[Record]]]:
    """Devices that tell their uptime, each in one boot, with a clock that the service knows or that is declared."""
    found: dict[Boot, list[Record]] = {}
    for r in e.taken.every:
        if r.boot is not None and r.uptime >= 0 and not r.lone:
            found.setdefault(r.boot, []).append(r)
    most_first = sorted(found.items(), key=lambda item: (-len(item[1]), item[0]))
    return [(boot, records) for boot, records in most_first[:MOST_DEVICES] if len(records) > 1]


def _moved(taken: Intake, boot: Boot, first: int, unsure: int) -> Intake:
    """Everything in the time of a device whose boot was at `first`, or `unsure` later."""
    every: list[Record] = []
    by_kind: dict[str, list[Record]] = {}
    for r in taken.every:
        if r.boot == boot and r.uptime >= 0:
            seen = structs.replace(r, earliest=first + r.uptime, latest=first + r.uptime)
        else:
            seen = structs.replace(r, earliest=r.earliest - unsure)
        every.append(seen)
    every.sort(key=lambda r: (r.earliest, r.latest, r.id))
    for r in every:
        by_kind.setdefault(r.kind, []).append(r)
    return replace(taken, every=every, by_kind=by_kind)
