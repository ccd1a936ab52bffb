"""The meter's figures as plain numbers."""

from typing import NamedTuple

from msgspec import UnsetType

from coldwright_electrical.supply_quality.given import LineCurrentsGiven, LineVoltagesGiven
from coldwright_electrical.supply_quality.symmetry import Three


class Readings(NamedTuple):
    """The meter's figures as plain numbers."""

    line_voltages: LineVoltagesGiven
    line_currents: LineCurrentsGiven | UnsetType

    @property
    def voltages(self) -> Three:
        v = self.line_voltages
        return (v.ab.value, v.bc.value, v.ca.value)

    @property
    def mean_voltage(self) -> float:
        return sum(self.voltages) / 3

    @property
    def currents(self) -> Three | tuple[()]:
        i = self.line_currents
        return () if isinstance(i, UnsetType) else (i.a.to("A"), i.b.to("A"), i.c.to("A"))
