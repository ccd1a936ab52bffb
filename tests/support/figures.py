"""Figures that stand in a text, and whether they are those that the hand gives."""

import re
from collections.abc import Sequence

import pytest

FIGURE = re.compile(r"(?<![\w.])[-+]?\d+(?:,\d{3})*(?:\.\d+)?(?:e[-+]?\d+)?")


def figures(text: str) -> list[float]:
    """All of them, in the order in which they stand."""
    return [float(found.replace(",", "")) for found in FIGURE.findall(text)]


def same_figures(text: str, wanted: Sequence[float]) -> None:
    """To the digits that are printed, and no more or fewer of them."""
    spelt = FIGURE.findall(text)
    assert len(spelt) == len(wanted), text
    for found, number in zip(spelt, wanted, strict=True):
        mantissa, _, power = found.partition("e")
        half = 0.5 * 10.0 ** (int(power or 0) - len(mantissa.partition(".")[2]))
        assert float(found.replace(",", "")) == pytest.approx(number, abs=1.001 * half + 2e-4 * abs(number)), text
