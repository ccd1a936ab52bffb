"""How long a loop takes to reach its set point, whether it ever does, and how it cycles at low load."""

import math

from msgspec import UNSET

from coldwright.contract import Load, Notes, calculator
from coldwright.contract.quantities import Duration, Power, Temperature, Volume
from coldwright_basis.compare import negligible
from coldwright_refrigeration.pull_down.curve import run, starts
from coldwright_refrigeration.pull_down.examples import EXAMPLES
from coldwright_refrigeration.pull_down.findings import FINDINGS, not_reached, overheats, usual_notes
from coldwright_refrigeration.pull_down.given import PullDownGiven
from coldwright_refrigeration.pull_down.plant import (
    HOTTEST,
    before_the_start,
    horizon,
    plant_of,
    refuse_contradictions,
    show_curve,
)
from coldwright_refrigeration.pull_down.results import PullDownPoint, PullDownResults
from coldwright_refrigeration.pull_down.volume import cycling_of, volumes_of
from coldwright_refrigeration.shared import references
from coldwright_refrigeration.shared.cautions import FREEZE_UP, LIVE_PARTS, LOCAL_RULES


@calculator(
    "refrigeration.pull_down",
    version="1.0.4",
    title="Time to set point, cycling and loop volume",
    references=(
        references.PRACTICE,
        references.FIRST_PRINCIPLES,
        references.COOLPROP,
        references.CERVERA_VAZQUEZ,
        references.NFPA_70E,
        references.OSHA_LOCKOUT,
    ),
    hazards=("general", "pressure", "electrical"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def pull_down(given: PullDownGiven, notes: Notes) -> PullDownResults:
    """How long a warm loop takes to reach its set point while the stages come on one by one, or why it never does.

    A well-mixed loop, C dT/dt = load + UA (Ta - T) - n/N Q (1 + k (T - Tr)), solved exactly between the starts of the
    stages. At low load one stage cycles in its band: run and standing times, starts in an hour, the swing with the
    timers in it, and the loop volume that keeps the starts within what the compressors bear. A loop that never gets cold is
    followed for eight of its time constants, a week at most.
    """
    notes.caution(LOCAL_RULES, FREEZE_UP, LIVE_PARTS)
    refuse_contradictions(given)
    plant = plant_of(given, notes)
    before_the_start(given, notes)
    set_point = given.set_point.si
    lacking = plant.net(plant.stages, set_point)
    reaches = lacking < 0.0 and not negligible(lacking, plant.capacity)
    control = given.control
    on = starts(control.first_start_delay.si, control.stage_delay.si, plant.stages)
    curve = run(plant, given.initial_temperature.si, set_point, on, math.inf if reaches else horizon(plant))
    show_curve(given, plant, curve, reaches, notes)
    final = set_point if reaches else plant.steady()
    if not reaches:
        not_reached(given, plant, final, lacking, notes)
    if max(moment.temperature for moment in curve) > HOTTEST:
        overheats(curve, notes)
    stage = plant.cooling(1, set_point)
    volumes = volumes_of(given, stage, notes)
    cycling = cycling_of(given, stage, notes)
    usual_notes(given, notes)
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
        final_temperature=UNSET if final is None or final > HOTTEST else Temperature.from_si(final, "degC"),
        missing_capacity=UNSET if reaches else Power.from_si(max(lacking, 0.0), "kW"),
        cycling=cycling,
        minimum_volume=Volume.from_si(volumes.by_starts, "L"),
        minimum_run_time_volume=Volume.from_si(volumes.by_run, "L"),
        volume_to_add=Volume.from_si(volumes.to_add, "L"),
    )
