"""Conductor sizes."""

from coldwright_basis.conductors import cross_section as cross_section


def is_metric(size: str) -> bool:
    """Whether the size is spelled in mm2."""
    return size.endswith(" mm2")
