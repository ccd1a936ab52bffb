"""The valve or the frequency that brings a loop to its required flow."""

from typing import Any

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import PressureDifference, VolumeFlow
from coldwright_basis.compare import negligible
from coldwright_hydronic.loop.case import Case
from coldwright_hydronic.loop.slowing import slowed
from coldwright_hydronic.shared.devices import kv_for


def throttling(case: Case, wanted: float, notes: Notes) -> dict[str, Any]:
    """What a valve, or a lower frequency, must do to bring the loop to the required flow."""
    loop_ = case.loop
    if not loop_.pumps or wanted > loop_.end:
        return {}
    needed = loop_.resistance(wanted) + loop_.lift
    spare = loop_.rise(wanted) - needed
    if spare <= 0.0 or negligible(spare, needed):
        return {}
    drop = PressureDifference.from_si(spare, "kPa")
    results: dict[str, Any] = {"throttling_pressure_drop": drop}
    notes.show("dp_thr", "Drop to throttle", f"rho g H - S at {VolumeFlow.from_si(wanted, 'L/s')}", drop)
    kv = kv_for(wanted, spare, case.state.density)
    results["throttling_kv"] = tidy(kv)
    notes.show("Kv_thr", "Valve that does it", "Q[m3/h] / sqrt(dp_thr[bar] 1000 / rho)", kv, "m3/h")
    frequency = slowed(loop_, wanted, needed)
    if frequency is not None:
        results["equivalent_frequency"] = frequency
        notes.show("f", "Frequency that does it", "r^2 H_r(Q/r) rho g = S(Q), solved for r", frequency, "Hz")
    return results
