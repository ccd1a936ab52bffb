"""Least volume of the loop, and how the machine cycles at low load."""

from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, say, tidy
from coldwright.contract.quantities import Duration, Power, TemperatureDifference, Volume
from coldwright_basis.compare import above, at_least
from coldwright_refrigeration.pull_down.curve import HOUR
from coldwright_refrigeration.pull_down.given import PullDownGiven
from coldwright_refrigeration.pull_down.results import PullDownCycling
from coldwright_refrigeration.shared import liquids


class Volumes(NamedTuple):
    """Volumes of the loop, m3."""

    by_starts: float
    by_run: float
    to_add: float


def volumes_of(given: PullDownGiven, stage: float, notes: Notes) -> Volumes:
    """Least volumes for a stage, W at the set point, by starts and by run time, and what is missing in the loop."""
    control = given.control
    heat = liquids.volumetric_heat(given.loop.fluid, given.set_point.si)
    band = control.dead_band.si
    by_starts = HOUR / 4 * stage / (control.allowed_starts_per_hour * heat * band)
    by_run = stage * control.minimum_run_time.si / (heat * band)
    to_add = max(0.0, by_starts - given.loop.volume.si, by_run - given.loop.volume.si)
    shown, over = Power.from_si(stage, "kW"), f"{heat / 1e6:.5f} MJ/m3.K x {control.dead_band}"
    expression = f"900 Q1 / (N rho c D) = 900 s x {shown} / ({control.allowed_starts_per_hour:g} x {over})"
    notes.show("V_min", "Volume by the allowed starts", expression, Volume.from_si(by_starts, "L"))
    expression = f"Q1 Z / (rho c D) = {shown} x {control.minimum_run_time} / ({over})"
    notes.show("V_run", "Volume by the least run at zero load", expression, Volume.from_si(by_run, "L"))
    if to_add > 0:
        notes.check(
            "volume_below_minimum",
            say(
                "The loop holds {volume}; its control asks for {by_starts}: {to_add} are missing.",
                volume=given.loop.volume,
                by_starts=Volume.from_si(max(by_starts, by_run), "L"),
                to_add=Volume.from_si(to_add, "L"),
            ),
            why="A small loop makes compressors start and stop often.",
            resolve="Add a buffer vessel, widen the band, or use hot-gas bypass or unloading.",
            field="/loop/volume",
            references=("refrigeration_practice", "cervera_vazquez_2016_run_time"),
        )
    return Volumes(by_starts, by_run, to_add)


def cycling_of(given: PullDownGiven, stage: float, notes: Notes) -> PullDownCycling | UnsetType:
    """One stage, W at the set point, in its band. The swing is as wide as the slowest of band and timers makes it."""
    if given.low_load is UNSET:
        return UNSET
    low = given.low_load.si
    if at_least(low, stage):
        notes.show("Q_1", "Capacity of one stage", "capacity over stages", Power.from_si(stage, "kW"))
        notes.note(
            "no_cycling",
            say(
                "The low load of {low_load:us=ton} keeps a stage of {stage:us=ton} running: nothing cycles.",
                low_load=given.low_load,
                stage=Power.from_si(stage, "kW"),
            ),
            field="/low_load",
        )
        return UNSET
    control, loop = given.control, given.loop
    heat = loop.volume.si * liquids.volumetric_heat(loop.fluid, given.set_point.si)
    heat += loop.metal_mass.si * loop.metal_specific_heat.si
    band = control.dead_band.si
    swing = max(band, low * control.anti_recycle_time.si / heat, (stage - low) * control.minimum_run_time.si / heat)
    on, off = heat * swing / (stage - low), heat * swing / low
    each_hour, worst = HOUR / (on + off), HOUR / 4 * stage / (heat * band)
    shown = TemperatureDifference.from_si(swing, "delta_degC")
    stored, one = f"{heat / 1e6:.5g} MJ/K x {shown}", Power.from_si(stage, "kW")
    expression = f"C D / (Q1 - L) = {stored} / ({one} - {given.low_load})"
    notes.show("t_on", "Running time of a stage at low load", expression, Duration.from_si(on, "min"))
    expression = f"C D / L = {stored} / {given.low_load}"
    notes.show("t_off", "Standing time", expression, Duration.from_si(off, "min"))
    if above(max(each_hour, worst), control.allowed_starts_per_hour):
        notes.check(
            "starts_above_allowed",
            say(
                "At {low_load:us=ton} a compressor starts {each_hour:.2f} times in an hour, and at the worst "
                "load, half a stage, the band alone would make it start {worst:.2f} times; "
                "{allowed_starts_per_hour:g} are allowed.",
                low_load=given.low_load,
                each_hour=each_hour,
                worst=worst,
                allowed_starts_per_hour=control.allowed_starts_per_hour,
            ),
            why="Each start heats the motor and throws oil out.",
            resolve="Add volume, widen the band, unload, or use hot-gas bypass.",
            field="/low_load",
            references=("refrigeration_practice",),
        )
    tolerance = given.process_tolerance
    if tolerance is not UNSET and above(swing, tolerance.si):
        notes.check(
            "swing_above_tolerance",
            say("The loop swings by {swing}, and the process bears {tolerance}.", swing=shown, tolerance=tolerance),
            resolve="Add volume, narrow the band, use smaller stages, or shorten the timers as far as the maker "
            "allows.",
            field="/process_tolerance",
        )
    return PullDownCycling(
        on_time=Duration.from_si(on, "min"),
        off_time=Duration.from_si(off, "min"),
        starts_per_hour=tidy(each_hour),
        worst_starts_per_hour=tidy(worst),
        temperature_swing=shown,
    )


LEAST_SHARE = 0.05
"""Share of the capacity that must be left at the set point for the slope to mean anything."""
