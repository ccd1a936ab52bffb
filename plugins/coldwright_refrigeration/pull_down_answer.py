"""Puts the answer of `refrigeration.pull_down` together."""

import math
from typing import NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, FieldError, Notes, Refused, field_error, tidy
from coldwright.contract.quantities import Duration, Power, Temperature, TemperatureDifference, Volume, VolumePerPower
from coldwright_refrigeration import liquids
from coldwright_refrigeration.pull_down import (
    PullDownCycling,
    PullDownGiven,
    PullDownPoint,
    PullDownResults,
)
from coldwright_refrigeration.pull_down_curve import Moment, Plant, run, starts

HOUR = 3600.0
LONGEST = 7 * 24 * HOUR
HOTTEST = 368.15
"""K: 95 degC, up to which liquid data reach."""
SAME = 1e-9
"""Share of the capacity below which what comes in and what is taken out are one and the same."""
LEAST_SHARE = 0.05
"""Share of the capacity that must be left at the set point for the slope to mean anything."""


def answer(given: PullDownGiven, notes: Notes) -> PullDownResults:
    """Work the answer out; refuse what cannot be right."""
    _refuse(given)
    plant = _plant(given, notes)
    _before_the_start(given, notes)
    set_point = given.set_point.si
    lacking = plant.net(plant.stages, set_point)
    reaches = lacking < -SAME * plant.capacity
    control = given.control
    on = starts(control.first_start_delay.si, control.stage_delay.si, plant.stages)
    curve = run(plant, given.initial_temperature.si, set_point, on, math.inf if reaches else _horizon(plant))
    _show_curve(given, plant, curve, reaches, notes)
    final = set_point if reaches else plant.steady()
    if not reaches:
        _not_reached(given, plant, final, lacking, notes)
    if max(moment.temperature for moment in curve) > HOTTEST:
        _overheats(curve, notes)
    volumes = _volumes(given, notes)
    cycling = _cycling(given, notes)
    _usual_notes(given, notes)
    return PullDownResults(
        reaches_set_point=reaches,
        time_to_set_point=Duration.from_si(curve[-1].time, "min") if reaches else UNSET,
        curve=tuple(
            PullDownPoint(
                time=Duration.from_si(m.time, "min"),
                temperature=Temperature.from_si(m.temperature, "degC"),
                stages=m.stages,
            )
            for m in curve
        ),
        final_temperature=UNSET if final is None else Temperature.from_si(final, "degC"),
        missing_capacity=UNSET if reaches else Power.from_si(max(lacking, 0.0), "kW"),
        cycling=cycling,
        minimum_volume=Volume.from_si(volumes.by_starts, "L"),
        minimum_run_time_volume=Volume.from_si(volumes.by_run, "L"),
        volume_to_add=Volume.from_si(volumes.to_add, "L"),
    )


def _refuse(given: PullDownGiven) -> None:
    errors: list[FieldError] = []
    fluid = given.loop.fluid
    if given.set_point.si >= given.initial_temperature.si:
        text = f"The set point of {given.set_point} does not lie below the {given.initial_temperature} of the loop."
        why = "There is nothing to pull down."
        errors.append(field_error("/set_point", text, value=given.set_point, why=why))
    try:
        liquids.check_liquid(fluid, "/loop/fluid")
    except Refused as refused:
        raise Refused([*errors, *refused.errors]) from None
    for name in ("initial_temperature", "set_point"):
        try:
            liquids.check_liquid_at(fluid, getattr(given, name), f"/{name}")
        except Refused as refused:
            errors += refused.errors
    machine = given.machine
    reference = given.set_point if machine.reference_temperature is UNSET else machine.reference_temperature
    share = 1 + machine.capacity_slope * (given.set_point.si - reference.si)
    if share < LEAST_SHARE:
        most = (1 - LEAST_SHARE) / (reference.si - given.set_point.si)
        errors.append(
            field_error(
                "/machine/capacity_slope",
                f"By this slope {share:.0%} of the capacity is left at the set point.",
                value=machine.capacity_slope,
                allowed=Allowed(minimum=0, maximum=tidy(math.floor(most * 1e6) / 1e6)),
                why="A straight line does not hold that far from the reference temperature.",
            )
        )
    if errors:
        raise Refused(errors)


def _plant(given: PullDownGiven, notes: Notes) -> Plant:
    machine, loop = given.machine, given.loop
    mean = (given.initial_temperature.si + given.set_point.si) / 2
    heat = liquids.volumetric_heat(loop.fluid, mean)
    metal = loop.metal_mass.si * loop.metal_specific_heat.si
    total = loop.volume.si * heat + metal
    expression = f"V rho c + m c = {loop.volume} x {heat / 1e6:.5f} MJ/m3.K + {metal / 1e6:.5g} MJ/K"
    notes.show("C", "Heat capacity of the loop", expression, total / 1e6, "MJ/K")
    gain, ambient = 0.0, given.set_point.si
    if given.heat_gain is not UNSET:
        gain, ambient = given.heat_gain.coefficient.si, given.heat_gain.ambient_temperature.si
    reference, limit = machine.reference_temperature, machine.capacity_limit_temperature
    return Plant(
        total,
        given.load.si,
        gain,
        ambient,
        machine.capacity.si,
        machine.stages,
        given.set_point.si if reference is UNSET else reference.si,
        machine.capacity_slope,
        math.inf if limit is UNSET else limit.si,
    )


def _horizon(plant: Plant) -> float:
    """How long a curve goes on, s, that never ends at its set point: until it has all but settled, or an hour."""
    steady = plant.steady()
    if steady is None:
        return HOUR
    steepness = plant.steepness(plant.stages, above_limit=steady > plant.limit)
    return min(8 * plant.heat_capacity / steepness, LONGEST)


def _show_curve(given: PullDownGiven, plant: Plant, curve: list[Moment], reaches: bool, notes: Notes) -> None:
    for moment in curve[:-1]:
        net = plant.net(moment.stages, moment.temperature)
        at = Temperature.from_si(moment.temperature, "degC")
        expression = (
            f"L + UA (Ta - T) - n/N Q (1 + k (T - Tr)), n = {moment.stages} of {plant.stages}, T = {at}, "
            f"t = {moment.time / 60:.4g} min"
        )
        notes.show("C dT/dt", "Heat into the loop", expression, Power.from_si(net, "kW"))
    steady = plant.steady()
    if steady is not None and plant.slope + plant.gain > 0:
        expression = "where L + UA (Ta - T) = Q (1 + k (T - Tr))"
        notes.show("T_inf", "Where all stages would hold the loop", expression, Temperature.from_si(steady, "degC"))
    if reaches:
        expression = f"from {given.initial_temperature} to {given.set_point}, start by start"
        notes.show("t", "Time to set point", expression, Duration.from_si(curve[-1].time, "min"))


def _before_the_start(given: PullDownGiven, notes: Notes) -> None:
    since, needed = given.oil_heated_since, given.oil_heating_before_start
    if since is not UNSET and since.si < needed.si * (1 - 1e-9):
        rest = Duration.from_si(needed.si - since.si, "min")
        notes.stop(
            "oil_heating_incomplete",
            f"The oil has been heated for {since}; {needed} are asked for, so {rest} are missing.",
            why="Refrigerant dissolved in cold oil boils at the start and takes the oil out of the compressor.",
            resolve=f"Leave the heaters on for {rest} more. Every loss of power starts the count again.",
            field="/oil_heated_since",
            references=("refrigeration_practice",),
        )
    most = given.machine.maximum_entering_temperature
    if most is not UNSET and given.initial_temperature.si > most.si + 1e-9:
        notes.check(
            "entering_above_maximum",
            f"The loop is at {given.initial_temperature}, and the machine takes liquid up to {most}.",
            why="Warm liquid overloads the compressors and lifts the suction pressure beyond its limit.",
            resolve="Throttle the flow or blend cold liquid in until the liquid enters below the limit.",
            field="/initial_temperature",
            references=("refrigeration_practice",),
        )


def _not_reached(given: PullDownGiven, plant: Plant, final: float | None, lacking: float, notes: Notes) -> None:
    where = "It does not settle." if final is None else f"It settles at {Temperature.from_si(final, 'degC')}."
    cooling = Power.from_si(plant.cooling(plant.stages, given.set_point.si), "kW")
    notes.stop(
        "set_point_not_reached",
        f"At {given.set_point} all stages take out {cooling} and {Power.from_si(lacking + cooling.si, 'kW')} comes in: "
        f"{Power.from_si(max(lacking, 0.0), 'kW')} are missing. {where}",
        why="Where the heat coming in is as large as the cooling, the temperature no longer falls.",
        resolve="Shed load until the loop is cold, add capacity, insulate, or accept a warmer set point.",
        field="/machine/capacity",
        references=("refrigeration_first_principles",),
    )


def _overheats(curve: list[Moment], notes: Notes) -> None:
    hottest = max(moment.temperature for moment in curve)
    notes.stop(
        "loop_overheats",
        f"The loop would get to {Temperature.from_si(hottest, 'degC')}, where its liquid is no longer known.",
        resolve="Start the machines sooner, or take the load off until they run.",
        field="/load",
    )


class _Volumes(NamedTuple):
    by_starts: float
    by_run: float
    to_add: float


def _one_stage(given: PullDownGiven) -> float:
    """Capacity of one stage at the set point, W."""
    machine = given.machine
    reference = given.set_point if machine.reference_temperature is UNSET else machine.reference_temperature
    rise = given.set_point.si - reference.si
    if machine.capacity_limit_temperature is not UNSET:
        rise = min(given.set_point.si, machine.capacity_limit_temperature.si) - reference.si
    return machine.capacity.si / machine.stages * (1 + machine.capacity_slope * rise)


def _volumes(given: PullDownGiven, notes: Notes) -> _Volumes:
    control = given.control
    heat = liquids.volumetric_heat(given.loop.fluid, given.set_point.si)
    stage, band = _one_stage(given), control.dead_band.si
    by_starts = HOUR / 4 * stage / (control.allowed_starts_per_hour * heat * band)
    by_run = stage * control.minimum_run_time.si / (heat * band)
    to_add = max(0.0, by_starts - given.loop.volume.si, by_run - given.loop.volume.si)
    shown, words = Power.from_si(stage, "kW"), f"rho c = {heat / 1e6:.5f} MJ/m3.K"
    expression = (
        f"900 Q1 / (N rho c D), Q1 = {shown}, N = {control.allowed_starts_per_hour:g}, D = {control.dead_band}, {words}"
    )
    notes.show("V_min", "Volume by the allowed starts", expression, Volume.from_si(by_starts, "L"))
    expression = f"Q1 Z / (rho c D), Z = {control.minimum_run_time}"
    notes.show("V_run", "Volume by the least run at zero load", expression, Volume.from_si(by_run, "L"))
    if to_add > 0:
        notes.check(
            "volume_below_minimum",
            f"The loop holds {given.loop.volume}; its control asks for {Volume.from_si(max(by_starts, by_run), 'L')}: "
            f"{Volume.from_si(to_add, 'L')} are missing.",
            why="A small loop makes compressors start and stop often.",
            resolve="Add a buffer vessel, widen the band, or use hot-gas bypass or unloading.",
            field="/loop/volume",
            references=("refrigeration_practice", "cervera_vazquez_2016_run_time"),
        )
    return _Volumes(by_starts, by_run, to_add)


def _cycling(given: PullDownGiven, notes: Notes) -> PullDownCycling | UnsetType:
    """One stage in its band. The swing is as wide as the slowest of band and timers makes it."""
    if given.low_load is UNSET:
        return UNSET
    stage, low = _one_stage(given), given.low_load.si
    if low >= stage * (1 - 1e-9):
        notes.note(
            "no_cycling",
            f"The low load of {given.low_load} keeps a stage of {Power.from_si(stage, 'kW')} running: nothing cycles.",
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
    expression = f"C D / (Q1 - L), C = {heat / 1e6:.5g} MJ/K, D = {shown}, L = {given.low_load}"
    notes.show("t_on", "Running time of a stage at low load", expression, Duration.from_si(on, "min"))
    notes.show("t_off", "Standing time", f"C D / L, D = {shown}", Duration.from_si(off, "min"))
    if max(each_hour, worst) > control.allowed_starts_per_hour * (1 + 1e-9):
        notes.check(
            "starts_above_allowed",
            f"At {given.low_load} a compressor starts {each_hour:.2f} times in an hour, and at the worst load, half a "
            f"stage, the band alone would make it start {worst:.2f} times; {control.allowed_starts_per_hour:g} are "
            "allowed.",
            why="Each start heats the motor and throws oil out.",
            resolve="Add volume, widen the band, unload, or use hot-gas bypass.",
            field="/low_load",
            references=("refrigeration_practice",),
        )
    tolerance = given.process_tolerance
    if tolerance is not UNSET and swing > tolerance.si * (1 + 1e-9):
        notes.check(
            "swing_above_tolerance",
            f"The loop swings by {shown}, and the process bears {tolerance}.",
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


def _usual_notes(given: PullDownGiven, notes: Notes) -> None:
    each = VolumePerPower.from_si(given.loop.volume.si / given.machine.capacity.si, "gal/ton")
    notes.note(
        "volume_for_capacity",
        f"The loop holds {each}; usual are 3 to 6 gal/ton for comfort and 6 to 10 gal/ton for a process.",
        field="/loop/volume",
        references=("refrigeration_practice",),
    )
    notes.note(
        "well_mixed",
        "The loop is taken as well mixed. In a real loop a cold front travels round, in volume over flow, and "
        "readings at "
        "one place step up and down around this curve.",
        references=("refrigeration_first_principles",),
    )
