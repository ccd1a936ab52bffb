"""Mass and size of every piece of the stock: as the fleet gives them, else as is usual for its kind, and asked for.

All of the usual values are common practice, no source: they keep a vehicle from being ordered too small, no more.
"""

from typing import NamedTuple

from msgspec import UNSET

from coldwright.contract.quantities import Length, Mass
from coldwright_basis.conductors import cross_section
from coldwright_booking.fleet import given as stock


class Size(NamedTuple):
    """Outer sizes of a piece."""

    length: Length
    width: Length
    height: Length


HOSE_KG = 4.5e-4
"""kg for each metre of hose and mm2 of bore squared, with its couplings."""
SET_KG, TRANSFORMER_KG = 20.0, 5.5
"""kg for each kW of a set in its canopy, and for each kVA of a transformer."""
CABLE_KG = 0.013
"""kg for each metre and mm2 of a copper conductor in its rubber, with its connectors."""
LINES_AND_GROUND = 4
"""Conductors in a bundled set and in a cord."""
VESSEL_KG, TANK_KG = 0.35, 1.1
"""kg for each litre of a vessel, empty, and of a full drum."""
CORD = "multi_conductor_portable"
KIND_KG: dict[type[stock.Accessory], float] = {
    stock.Coupling: 6.0,
    stock.Reducer: 6.0,
    stock.StockValve: 15.0,
    stock.Strainer: 25.0,
    stock.StockPump: 500.0,
    stock.Panel: 400.0,
    stock.LoadBank: 200.0,
    stock.Ramp: 20.0,
    stock.Mat: 200.0,
    stock.SpillKit: 25.0,
    stock.WhipCheck: 1.0,
    stock.OtherItem: 20.0,
}

ALONE = (
    stock.Generator,
    stock.LoadBank,
    stock.StockTransformer,
    stock.Panel,
    stock.StockPump,
    stock.Mat,
    stock.BufferVessel,
)
"""Kinds that take their own place on the deck."""


def travelling_mass(body: stock.MachineBody) -> Mass:
    """Of a machine on the road: drained, where that is given."""
    return body.mass_operating if body.mass_dry is UNSET else body.mass_dry


def mass_of(row: stock.AnyAccessory) -> Mass:
    """Of one piece."""
    if row.mass is not UNSET:
        return row.mass
    return Mass.of(_usual_kg(row), "kg")


def _usual_kg(row: stock.AnyAccessory) -> float:
    if isinstance(row, stock.Hose):
        return HOSE_KG * row.inner_diameter.to("mm") ** 2 * row.section_length.to("m")
    if isinstance(row, stock.CableFields):
        conductors = 1 if isinstance(row, stock.Cable) and row.construction != CORD else LINES_AND_GROUND
        return conductors * CABLE_KG * cross_section(row.conductor_size) * row.section_length.to("m")
    if isinstance(row, stock.Generator):
        return SET_KG * row.rated_active_power.to("kW")
    if isinstance(row, stock.StockTransformer):
        return TRANSFORMER_KG * row.rated_apparent_power.to("kVA")
    if isinstance(row, stock.BufferVessel | stock.ExpansionVessel):
        return 5 + VESSEL_KG * row.volume.to("L")
    if isinstance(row, stock.Antifreeze):
        return 10 + TANK_KG * row.volume.to("L")
    return KIND_KG[type(row)]


def stands_alone(row: stock.AnyAccessory) -> bool:
    """Whether it takes its own place on the deck, and is not packed on a pallet with others of its kind."""
    return isinstance(row, ALONE) or row.size is not UNSET


def size_of(row: stock.AnyAccessory) -> Size:
    """Of one piece that stands alone."""
    if row.size is not UNSET:
        return Size(row.size.length, row.size.width, row.size.height)
    if isinstance(row, stock.Generator):
        large = row.rated_active_power.to("kW") > 200
        return _size(5.0, 1.8, 2.4) if large else _size(3.6, 1.3, 2.0)
    if isinstance(row, stock.Mat) and row.length is not UNSET and row.width is not UNSET:
        return Size(row.length, row.width, Length(0.2, "m"))
    if isinstance(row, stock.BufferVessel):
        across = max(0.6, (row.volume.to("m3") / 1.5) ** 0.5 * 1.15)
        return _size(across, across, 1.9)
    return _size(1.2, 1.0, 1.6)


def _size(length: float, width: float, height: float) -> Size:
    return Size(Length.of(length, "m"), Length.of(width, "m"), Length.of(height, "m"))
