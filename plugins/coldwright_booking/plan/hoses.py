"""Hose of the stock: what can be laid, and how much of it there is."""

from dataclasses import dataclass

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import GaugePressure, Length
from coldwright_basis.compare import whole_at_least
from coldwright_booking.fleet.given import Fleet, Hose
from coldwright_hydronic.loop.given import HoseOption

USUAL_BORES = (50.8, 76.2, 101.6, 152.4, 203.2)
"""mm; taken where the stock holds no hose at all (common practice: 2, 3, 4, 6 and 8 inch)."""
USUAL_SECTION = Length(15, "m")
MOST_RUNS = 3
USUAL_ROUGHNESS = Length(0.05, "mm")


@dataclass(frozen=True)
class HoseKind:
    """One kind of hose."""

    item: str
    bore: Length
    section: Length
    roughness: Length
    working_pressure: GaugePressure | UnsetType
    pieces: int
    in_stock: bool
    coupling: str = ""
    """Kind of coupling; empty where it is not given."""

    @property
    def option(self) -> HoseOption:
        """As `hydronic.loop` takes it."""
        return HoseOption(inner_diameter=self.bore, roughness=self.roughness, working_pressure=self.working_pressure)

    def pieces_for(self, one_way: Length, runs: int) -> int:
        """Sections for supply and return."""
        return 2 * runs * whole_at_least(one_way.si / self.section.si)


def hose_kinds(fleet: Fleet) -> list[HoseKind]:
    """The stock's hose, narrow first, the most plentiful row of each bore; the usual bores where there is none."""
    rows = sorted(
        (a for a in fleet.accessories if isinstance(a, Hose)),
        key=lambda h: (h.inner_diameter.si, -h.count * h.section_length.si),
    )
    kinds: dict[float, HoseKind] = {}
    for hose in rows:
        kinds.setdefault(
            hose.inner_diameter.si,
            HoseKind(
                item=hose.item,
                bore=hose.inner_diameter,
                section=hose.section_length,
                roughness=USUAL_ROUGHNESS if hose.roughness is UNSET else hose.roughness,
                working_pressure=hose.working_pressure,
                pieces=hose.count,
                in_stock=True,
                coupling=hose.coupling,
            ),
        )
    return list(kinds.values()) or [
        HoseKind(f"hose {bore:g} mm", Length(bore, "mm"), USUAL_SECTION, USUAL_ROUGHNESS, UNSET, 0, False)
        for bore in USUAL_BORES
    ]
