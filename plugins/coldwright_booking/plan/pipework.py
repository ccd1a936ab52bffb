"""Pipework at the machines: headers, the hoses between them and the machines, and the joints of buffer vessels.

Loss coefficients are common practice from memory: a tee through its branch 1.0 of the branch's velocity head, into and
out of a vessel 0.5 and 1.0.
"""

from dataclasses import dataclass
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract.quantities import Length
from coldwright_booking.fleet.given import Fleet, Hose, LiquidConnection
from coldwright_booking.plan.hoses import USUAL_ROUGHNESS, HoseKind
from coldwright_booking.plan.machines import Combination, Picked
from coldwright_hydronic.loop.given import BranchesGiven, DeviceGiven, FittingsGiven, LineGiven, ValveGiven

SAME_BORE = 0.02
"""Difference of two bores, as a fraction, that are one nominal size: 76 and 76.2 mm (common practice)."""
LEAST_SECTION = 2.0
"""m from a header to a machine, at the least (common practice)."""
USUAL_LENGTH = Length(5, "m")
"""From a header to a machine where the stock has no hose (common practice)."""
TEE = 1.0
"""Loss coefficient of a header's branch."""
VESSEL = 1.5
"""Loss coefficient into a vessel and out of it."""
AT_VESSELS = "hose at buffer vessels"
LONGEST = 5000.0
"""m of one line that `hydronic.loop`, `fill` and `drain_down` take; no pump moves liquid through more."""
MOST_BRANCHES = 12
"""Runs side by side that `hydronic.loop` takes; of more machines each hose is taken to carry more, on the safe side."""
Element = LineGiven | FittingsGiven | DeviceGiven | ValveGiven | BranchesGiven


class MachineHose(NamedTuple):
    """The hoses of the machines of one type: two for each, to the supply header and to the return header."""

    picked: Picked
    hose: HoseKind

    @property
    def pieces(self) -> int:
        """Sections: one each."""
        return 2 * self.picked.count


@dataclass(frozen=True)
class Pipework:
    """What joins machines, runs of hose and load."""

    near: int
    """Headers at the machines' end, supply and return."""
    far: int
    """Headers at the load's end, supply and return."""
    hoses: tuple[MachineHose, ...]
    """Between headers and machines; none where one machine hangs on one run."""
    vessels: int
    """Buffer vessels in the supply, one after the other."""

    def hose_of(self, picked: Picked) -> HoseKind | None:
        """That of a type."""
        return next((h.hose for h in self.hoses if h.picked.machine is picked.machine), None)

    def vessel_hoses(self, runs: int) -> int:
        """Sections of the main hose, one of each run from every buffer vessel to what follows it."""
        return self.vessels * runs

    def pieces_of(self, item: str) -> int:
        """Sections of one item of the stock."""
        return sum(h.pieces for h in self.hoses if h.hose.item == item)


def pipework(combination: Combination, hoses: tuple[MachineHose, ...], runs: int, vessels: int) -> Pipework:
    """For these machines on so many runs of a hose with which these of theirs go."""
    joined = combination.units > 1 or runs > 1
    return Pipework(2 if joined else 0, 2 if runs > 1 else 0, hoses if joined else (), vessels)


def machine_hoses(fleet: Fleet, combination: Combination, main: HoseKind) -> tuple[MachineHose, ...]:
    """Between machines and headers, where the runs are of this hose."""
    return tuple(MachineHose(p, machine_hose(fleet, p.machine.connection, main)) for p in combination)


def machine_hose(fleet: Fleet, connection: LiquidConnection | UnsetType, main: HoseKind) -> HoseKind:
    """Of the stock the shortest section of the connection's bore, else of the main hose's bore."""
    wanted = main.bore if connection is UNSET else connection.inner_diameter
    rows = [a for a in fleet.accessories if isinstance(a, Hose) and a.section_length.to("m") >= LEAST_SECTION]
    for bore in (wanted, main.bore):
        fit = [r for r in rows if not other_bore(r.inner_diameter, bore)]
        if fit:
            row = min(fit, key=lambda r: (r.section_length.si, -r.count))
            return HoseKind(
                item=row.item,
                bore=row.inner_diameter,
                section=row.section_length,
                roughness=USUAL_ROUGHNESS if row.roughness is UNSET else row.roughness,
                working_pressure=row.working_pressure,
                pieces=row.count,
                in_stock=True,
                coupling=row.coupling,
            )
    return HoseKind(
        f"hose {wanted.to('mm'):g} mm of {USUAL_LENGTH}", wanted, USUAL_LENGTH, USUAL_ROUGHNESS, UNSET, 0, False
    )


def other_bore(one: Length, other: Length) -> bool:
    """Whether two bores are not of one nominal size."""
    return abs(one.si - other.si) > SAME_BORE * max(one.si, other.si)


def at_machine(made: Pipework, picked: Picked, evaporator: DeviceGiven) -> tuple[Element, ...]:
    """The path of one type: in from its header, through the machine, out to the other header."""
    hose = made.hose_of(picked)
    if hose is None:
        return (evaporator,)
    count, name = min(picked.count, MOST_BRANCHES), picked.machine.type
    return (
        FittingsGiven(
            name=f"headers to {name}", inner_diameter=hose.bore, k_factor=TEE * made.near, parallel_runs=count
        ),
        LineGiven(
            name=f"hose from header to {name}",
            line_kind="rubber_hose",
            inner_diameter=hose.bore,
            length=Length.of(2 * hose.section.to("m"), "m"),
            roughness=hose.roughness,
            parallel_runs=count,
            working_pressure=hose.working_pressure,
        ),
        evaporator,
    )


def length_at_vessels(vessels: int, hose: HoseKind) -> Length:
    """Hose of one run that so many buffer vessels take, as far as methods go."""
    return Length.of(min(vessels * hose.section.to("m"), LONGEST), "m")


def along_the_runs(made: Pipework, hose: HoseKind, runs: int) -> tuple[Element, ...]:
    """Losses where runs meet headers, and at buffer vessels with the hose that each takes."""
    parts: list[Element] = []
    if made.near + made.far:
        parts.append(
            FittingsGiven(
                name="headers to the runs",
                inner_diameter=hose.bore,
                k_factor=TEE * (made.near + made.far),
                parallel_runs=runs,
            )
        )
    if made.vessels:
        parts.append(
            FittingsGiven(
                name="joints of buffer vessels",
                inner_diameter=hose.bore,
                k_factor=VESSEL * made.vessels,
                parallel_runs=runs,
            )
        )
        parts.append(
            LineGiven(
                name=AT_VESSELS,
                line_kind="rubber_hose",
                inner_diameter=hose.bore,
                length=length_at_vessels(made.vessels, hose),
                roughness=hose.roughness,
                parallel_runs=runs,
                working_pressure=hose.working_pressure,
            )
        )
    return tuple(parts)
