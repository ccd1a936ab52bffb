"""Content of each part of the loop."""

from math import pi

from coldwright_hydronic.fill.given import FillGiven


def volumes_of(given: FillGiven) -> list[float]:
    """Volume of each line and vessel, in the order given [m3]."""
    return [
        *(pi / 4 * n.inner_diameter.si**2 * n.length.si * n.parallel_runs for n in given.lines),
        *(v.volume.si * v.count for v in given.vessels),
    ]
