"""Grounding conductors and disconnection times. `None` where the table has no row."""

from typing import Final

from coldwright.contract import load_table
from coldwright_basis.compare import above, at_least
from coldwright_electrical.shared.impedance import METRIC_SIZES
from coldwright_electrical.shared.sizes import cross_section

_PACKAGE: Final = "coldwright_electrical"

EQUIPMENT_GROUND = load_table(_PACKAGE, "equipment_ground")

PROTECTIVE_CONDUCTOR = load_table(_PACKAGE, "protective_conductor")

DISCONNECTION_TIMES = load_table(_PACKAGE, "disconnection_times")

FUSE_OPERATING_CURRENTS = load_table(_PACKAGE, "fuse_operating_currents")


_NOMINAL: Final = 0.005
"""Nominal voltages are rounded: 400 V between lines is 230 V to earth, not 230.9 V, and 208 V is 120 V."""


def equipment_ground(device: float) -> str | None:
    """NEC Table 250.122: size of one copper equipment ground for a device [A]; `None` above the last row."""
    return next((size for rating, size in EQUIPMENT_GROUND.rows if at_least(rating, device)), None)


def protective_conductor(line_size: str) -> str | None:
    """IEC 60364-5-54 Table 54.2: size for lines in mm2, the next made; `None` outside the sizes of the tables."""
    line = cross_section(line_size)
    for row in PROTECTIVE_CONDUCTOR.rows:
        if line <= row.get("line_up_to", line):
            wanted = row.get("cross_section") or line * row["line_share"]
            return next((size for size in METRIC_SIZES if at_least(cross_section(size), wanted)), None)
    return None


def disconnection_time(voltage_to_earth: float, device: float, *, socket_outlet: bool) -> float:
    """IEC 60364-4-41 [s], TN: the table's time for final circuits up to 32 A (63 A with a socket-outlet), else 5 s.

    The table goes by the nominal voltage to earth, so a voltage that rounds to a row's limit belongs to that row.
    """
    rows = DISCONNECTION_TIMES.rows
    limit = rows["final_circuit_with_socket_outlet_up_to" if socket_outlet else "final_circuit_rating_up_to"]
    if above(device, limit):
        return float(rows["larger_circuits_tn"])
    times = (tn for up_to, tn, _ in rows["voltage_to_earth_up_to"] if voltage_to_earth <= up_to * (1 + _NOMINAL))
    return float(next(times, rows["voltage_to_earth_up_to"][-1][1]))
