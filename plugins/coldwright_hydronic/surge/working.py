"""The sum of a surge, line by line."""

from msgspec import UNSET

from coldwright.contract import Notes
from coldwright.contract.quantities import Duration, PressureDifference, Velocity
from coldwright_hydronic.surge.given import SurgeGiven
from coldwright_hydronic.surge.law import Event
from coldwright_hydronic.surge.segments import wall_of


def show_working(given: SurgeGiven, notes: Notes, event: Event, density: float, modulus: float | None) -> None:
    """Wave speeds, critical time and pressure rise, line by line."""
    stiffness = "K not needed" if modulus is None else f"K = {modulus / 1e9:.4g} GPa"
    for s, a in zip(given.segments, event.wave_speeds, strict=True):
        how = "as given"
        if s.wave_speed is UNSET:
            chi = wall_of(s, given.restraint_factor).compliance
            how = (
                f"1/sqrt(rho (1/K + chi + phi/K_g)), rho = {density:.2f} kg/m3, {stiffness}, chi = {chi:.4g} 1/Pa, "
                f"phi = {given.free_gas_fraction:g}"
            )
        notes.show("a", f"Wave speed in {s.name}", how, Velocity.from_si(a, "m/s"))
    notes.show(
        "a_eq",
        "Wave speed of the line",
        f"sum L / sum(L/a) = {sum(event.lengths):.7g} m / {event.travel_time:.7g} s",
        Velocity.from_si(event.wave_speed, "m/s"),
    )
    notes.show("T", "Critical time", "2 sum(L/a)", Duration.from_si(event.critical_time, "s"))
    if event.fast:
        equation = (
            f"rho a_eq dV = {density:.7g} kg/m3 x {event.wave_speed:.7g} m/s x {event.velocity_change:.7g} m/s, since "
            f"t_c = {given.closure_time} <= T"
        )
    else:
        equation = (
            f"2 rho sum(L V)/t_c = 2 x {density:.7g} x {event.momentum / density:.7g} / {given.closure_time.si:.7g}, "
            f"since t_c > T; not above rho a_eq dV = {event.joukowsky / 1e3:.5g} kPa"
        )
    notes.show("dp", "Pressure rise", equation, PressureDifference.from_si(event.rise, "kPa"))
    notes.assume(
        "frictionless_column",
        "Friction in the line is left out; in lines far longer than a temporary loop it adds to the peak slowly after the rise.",
        basis="derived",
        references=("joukowsky_michaud",),
    )
