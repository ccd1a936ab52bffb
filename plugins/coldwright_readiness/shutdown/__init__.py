"""From the last cold water to the road, or to a night or a winter of standing."""

from typing import Annotated, Any, Literal

from msgspec import UNSET, UnsetType, field

from coldwright.contract import (
    Allowed,
    Caution,
    Example,
    Given,
    Load,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    finding,
    load_table,
    say,
)
from coldwright.contract.quantities import Duration, Length, Mass, Temperature, TemperatureDifference, Volume
from coldwright_basis.compare import at_least
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.instants import duration, span
from coldwright_basis.trade_words import words_of
from coldwright_readiness.shared import cautions
from coldwright_readiness.shared.configuration import configuration_errors, practice_of
from coldwright_readiness.shared.given import Configuration, MachinesInTurn, OwnDurations
from coldwright_readiness.shared.own_durations import duration_errors, for_machines
from coldwright_readiness.shared.references import (
    COMMON_PRACTICE,
    DEENERGISE,
    ELECTRICAL_SAFETY,
    FLUID_DATA,
    GLYCOL_FREEZING,
    HIGH_POINT,
    INSULATION,
    LOCKOUT,
    MOTOR_SUPPLY,
    REFRIGERANT_LEAKS,
    REFRIGERANT_WORK,
    SCHEDULING,
    STILL_WATER,
)
from coldwright_readiness.shared.schedule import critical_path, timings
from coldwright_readiness.shared.step_report import ProcedureStep, described
from coldwright_readiness.shared.steps import MINUTE, Step, with_durations
from coldwright_readiness.shared.words import filled
from coldwright_readiness.shutdown.lay_up import Slug, required_mass_fraction, slug, time_to_first_ice

SHUTDOWN_STEPS = load_table("coldwright_readiness", "shutdown_steps")
Reason = Literal["off_hire", "overnight", "winter_standby", "emergency"]
LayUp = Literal["drained", "antifreeze", "kept_running", "stays_filled"]
PEOPLE_FIRST = Caution(
    code="people_first",
    hazard="general",
    statement="A person in danger, fire, smoke, shock or escaping refrigerant: open the source at once, leave, call for "
    "help. Nobody waits for the pump to run on.",
    references=(COMMON_PRACTICE.id,),
)


class ShutdownGiven(Given, frozen=True, kw_only=True):
    """A set-up to stop."""

    configuration: Annotated[Configuration, about("What is set up.")]
    reason: Annotated[Reason, about("Why it stops.")]
    lay_up: (
        Annotated[LayUp, about("How it stands afterwards: `drained` for off_hire, else `stays_filled`, when left out.")]
        | UnsetType
    ) = UNSET
    antifreeze: (
        Annotated[
            Literal["ethylene_glycol", "propylene_glycol"], about("What protects; needed for lay_up `antifreeze`.")
        ]
        | UnsetType
    ) = UNSET
    ambient_minimum: (
        Annotated[Temperature, about("Coldest air expected.", low=-60, high=60, unit="degC")] | UnsetType
    ) = UNSET
    freeze_margin: Annotated[
        TemperatureDifference,
        about(
            "How far below the coldest air the mixture must freeze.",
            low=0,
            high=30,
            unit="delta_degF",
            basis="common_practice",
            references=(COMMON_PRACTICE.id,),
        ),
    ] = TemperatureDifference(5.0, "delta_degF")
    hose_inside_diameter: (
        Annotated[Length, about("Bore of the hose that freezes first.", above=0, high=2, unit="m")] | UnsetType
    ) = UNSET
    water_temperature: (
        Annotated[Temperature, about("Water in the hose now.", low=0, high=95, unit="degC")] | UnsetType
    ) = UNSET
    outside_heat_transfer_coefficient: Annotated[
        float,
        about(
            "W/m2.K outside the hose: 10 in still air, 15 in light wind, 25 in wind.",
            low=1,
            high=200,
            basis="handbook",
            references=(STILL_WATER.id,),
        ),
    ] = 10.0
    residual_volume: (
        Annotated[Volume, about("Water that draining leaves behind.", low=0, high=1e3, unit="m3")] | UnsetType
    ) = UNSET
    generator_brought: Annotated[
        bool, about("Whether a set that came along goes back: stopping and loading it are steps of their own.")
    ] = False
    machines: MachinesInTurn = 1
    step_durations: OwnDurations = field(default_factory=dict)
    slug_mass_fraction: (
        Annotated[float, about("Strength of a premix by mass, where not pure glycol is poured in.", above=0, high=1)]
        | UnsetType
    ) = UNSET


class ShutdownResults(Results, frozen=True, kw_only=True):
    """The plan of the stop."""

    lay_up: Annotated[LayUp, about("How it stands afterwards.")]
    steps: Annotated[tuple[ProcedureStep, ...], about("Steps in the order of the table.")]
    critical_path: Annotated[tuple[str, ...], about("Steps whose delay delays the last one, by earliest start.")]
    total_time: Annotated[Duration, about("Time to the end of the last step, with hands enough.")]
    time_to_first_ice: (
        Annotated[Duration, about("Until still water in the hose begins to freeze; absent without frost.")] | UnsetType
    ) = UNSET
    required_mass_fraction: Annotated[float, about("Glycol by mass that the final mixture must hold.")] | UnsetType = (
        UNSET
    )
    antifreeze_mass: (
        Annotated[Mass, about("What is poured in: premix where its strength was given, else pure glycol.")] | UnsetType
    ) = UNSET
    recovered_volume: Annotated[Volume, about("Mixture to recover before the next hire, at 15 degC.")] | UnsetType = (
        UNSET
    )


def _example(reason: str, **more: Any) -> dict[str, Any]:
    configuration = {"supply_source": "site", "pump_mode": "own_pump", "fluid_kind": "water", "compressors": 2}
    return {"configuration": configuration, "reason": reason, **more}


@calculator(
    "readiness.shutdown",
    version="1.9.0",
    title="Ordered stop, isolation, drain or lay-up, and dispatch",
    references=(
        SCHEDULING, COMMON_PRACTICE, LOCKOUT, DEENERGISE, STILL_WATER, FLUID_DATA, GLYCOL_FREEZING, REFRIGERANT_LEAKS,
        ELECTRICAL_SAFETY, HIGH_POINT, INSULATION, MOTOR_SUPPLY, REFRIGERANT_WORK
    ),
    tables=(SHUTDOWN_STEPS,),
    hazards=("electrical", "pressure", "chemical", "environment", "lifting", "refrigerant"),
    load=Load.HEAVY,
    findings=(
        finding("people_first", "stop", "In an emergency people come before the machine."),
        finding("keep_power_on", "check", "A filled machine in winter lives from its heaters."),
        finding("first_ice", ("check", "note"), "When still water begins to freeze."),
        finding("residual_unprotected", "stop", "Water that stays behind after draining will freeze."),
        finding("frost_while_filled", "check", "Water stays in, frost is expected, and the pump stands still."),
        finding("antifreeze_not_needed", "note", "No frost is expected."),
        finding("strength_not_known", "check", "Without the coldest air there is no strength to aim at."),
        finding("input_not_used", "note", "A field that this stop does not use."),
    ),
    examples=(
        Example(
            "Off hire in frost, with a slug of antifreeze",
            "Invented: sent away in winter, 15 L of water stay in after draining.",
            _example(
                "off_hire",
                lay_up="antifreeze",
                antifreeze="propylene_glycol",
                ambient_minimum={"value": -20, "unit": "degC"},
                residual_volume={"value": 15, "unit": "L"},
                slug_mass_fraction=0.6,
            ),
        ),
        Example(
            "A cold night",
            "Invented: stays filled overnight, how long until the hose freezes if the power fails?",
            _example(
                "overnight",
                ambient_minimum={"value": -10, "unit": "degC"},
                hose_inside_diameter={"value": 100, "unit": "mm"},
                water_temperature={"value": 7, "unit": "degC"},
            ),
        ),
    ),
)  # fmt: skip
def shutdown(given: ShutdownGiven, notes: Notes) -> ShutdownResults:
    """Plan the stop of a machine and see what frost does to it.

    The steps form a graph without cycles: compressors before the pump, lines before the ground, zero pressure before
    any coupling. Still water in a hose cools as one lump, t = rho cp D / (4 h) ln((T0 - Ta) / (0 - Ta)), its wall not
    counted. The strength of a lay-up is the root of the glycol's freezing line at the coldest air less the margin.
    """
    lay_up = _lay_up(given)
    _refuse(given, lay_up)
    steps = _steps(given, lay_up)
    if errors := [*duration_errors(given.step_durations, steps)]:
        raise Refused(errors)
    steps = with_durations(for_machines(steps, given.machines), {i: span(d) for i, d in given.step_durations.items()})
    timing = timings(steps, steps[-1].id)
    _note(given, lay_up, notes)
    for s in steps:
        before = [f"{duration(timing[d].finish).value:g}" for d in s.depends_on]
        expression = f"{'max(' + ', '.join(before) + ')' if before else '0'} + {duration(s.duration).value:g}"
        notes.show(f"EF({s.id})", f"Earliest finish of {s.id}", expression, duration(timing[s.id].finish))
    ice = _first_ice(given, lay_up, notes)
    poured = _slug(given, lay_up, notes)
    return ShutdownResults(
        lay_up=lay_up,
        steps=tuple(described(s, timing[s.id]) for s in steps),
        critical_path=tuple(critical_path(timing)),
        total_time=duration(timing[steps[-1].id].finish),
        time_to_first_ice=ice,
        required_mass_fraction=UNSET if poured is None else poured.mass_fraction,
        antifreeze_mass=UNSET if poured is None or poured.mass is None else Mass.of(poured.mass, "kg"),
        recovered_volume=UNSET if poured is None or poured.volume is None else Volume.from_si(poured.volume, "L"),
    )


def _lay_up(given: ShutdownGiven) -> LayUp:
    if given.lay_up is not UNSET:
        return given.lay_up
    return "drained" if given.reason == "off_hire" else "stays_filled"


def _refuse(given: ShutdownGiven, lay_up: LayUp) -> None:
    errors = configuration_errors(given.configuration)
    if given.reason == "off_hire" and lay_up == "kept_running":
        allowed = Allowed(one_of=("drained", "antifreeze", "stays_filled"))
        text = "A machine that goes off hire cannot be kept running."
        errors.append(field_error("/lay_up", text, value=lay_up, allowed=allowed))
    if lay_up == "antifreeze" and given.antifreeze is UNSET:
        errors.append(field_error("/antifreeze", "Which glycol protects it?", code="missing"))
    if errors:
        raise Refused(errors)


def _steps(given: ShutdownGiven, lay_up: LayUp) -> tuple[Step, ...]:
    there = {None: True, "antifreeze": lay_up == "antifreeze", "set_brought": given.generator_brought}
    rows = [row for row in SHUTDOWN_STEPS.rows if there[row.get("only_with")]]
    if given.reason != "off_hire":
        left_out = {"disconnect_lines", "disconnect_ground", "coil_cables"}
        rows = [row for row in _down_to(_last_step(given.reason, lay_up), rows) if row["id"] not in left_out]
    ids = {row["id"] for row in rows}
    return tuple(_step(row, given.configuration, ids, antifreeze=lay_up == "antifreeze") for row in rows)


def _last_step(reason: Reason, lay_up: LayUp) -> str:
    if lay_up == "kept_running":
        return "stop_compressors"
    if lay_up == "stays_filled":
        return "prove_dead" if reason == "emergency" else "close_site_valves"
    return "read_slug" if lay_up == "antifreeze" else "blow_down"


def _down_to(last: str, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    return rows[: 1 + next(i for i, row in enumerate(rows) if row["id"] == last)]


def _step(row: dict[str, Any], c: Configuration, ids: set[str], *, antifreeze: bool) -> Step:
    words = words_of(practice_of(c))
    minutes = row["minutes"]
    depends_on = row["depends_on"]
    if antifreeze:
        depends_on = row.get("depends_on_with_antifreeze", depends_on)
    depends_on = [*depends_on, *row.get("also_with_set", ())]
    return Step(
        id=row["id"],
        title=filled(row["title"], words),
        role=row["role"],
        duration=(minutes[c.lifted_by] if isinstance(minutes, dict) else minutes) * MINUTE,
        depends_on=tuple(d for d in depends_on if d in ids),
        look_at=filled(row["look_at"], words),
        acceptance=filled(row["acceptance"], words),
        why=filled(row["why"], words),
        hazard=row["hazard"],
        evidence_kinds=tuple(row["evidence_kinds"]),
    )


def _note(given: ShutdownGiven, lay_up: LayUp, notes: Notes) -> None:
    if given.reason == "emergency":
        notes.caution(PEOPLE_FIRST)
        notes.stop(
            "people_first",
            "These steps serve the machine. If a person is in danger, or there is fire, smoke, shock or escaping "
            "refrigerant: open the source at once, leave, call for help. Nobody waits for the pump to run on.",
            resolve="Once everybody is safe, whoever is in charge of the site decides when the machine is touched.",
            field="/reason",
            references=(COMMON_PRACTICE.id,),
        )
    notes.caution(*cautions.SHUTDOWN)
    notes.assume("lumped_water", "Water in the hose cools as one lump; its wall is not counted.", basis="derived")
    notes.assume("residual_is_an_estimate", "What draining leaves behind is the caller's estimate.", basis="default")
    notes.assume("glycol_mixes", "Antifreeze mixes fully with the water that was left.", basis="derived")
    if given.reason == "winter_standby" and lay_up == "stays_filled":
        notes.check(
            "keep_power_on",
            "Filled in winter: supply and control switch stay on, for trace and oil heaters.",
            why="Any loss starts the clock of frost, and the time of oil heat anew.",
            resolve="Watch the supply, or drain.",
            field="/lay_up",
            references=(COMMON_PRACTICE.id,),
        )
    used = {"antifreeze": lay_up == "antifreeze", "slug_mass_fraction": lay_up == "antifreeze"}
    used["residual_volume"] = lay_up in ("antifreeze", "drained")
    for name, is_used in used.items():
        if getattr(given, name) is not UNSET and not is_used:
            belongs = "one that is drained, or with antifreeze" if name == "residual_volume" else "one with antifreeze"
            notes.note("input_not_used", f"`{name}` belongs to another lay-up: {belongs}.", field=f"/{name}")
    if given.configuration.fluid_kind == "water" and given.ambient_minimum is not UNSET:
        _note_frost(given, lay_up, given.ambient_minimum, notes)


def _note_frost(given: ShutdownGiven, lay_up: LayUp, coldest: Temperature, notes: Notes) -> None:
    if at_least(coldest.si, ZERO_CELSIUS):
        return
    residual = given.residual_volume
    if lay_up == "drained" and residual is not UNSET and residual.si > 0:
        notes.stop(
            "residual_unprotected",
            say(
                "{residual} of water stay behind, and air down to {coldest} is expected.",
                residual=residual,
                coldest=coldest,
            ),
            why="Ice bursts evaporator tubes, pump casings and coils.",
            resolve="Blow it out, or lay it up with antifreeze made for that cold: that lay-up says how much.",
            field="/residual_volume",
            references=(COMMON_PRACTICE.id,),
        )
    if lay_up == "stays_filled":
        notes.check(
            "frost_while_filled",
            say(
                "Plain water stays in, air down to {coldest} is expected, and the pump stands still after these steps.",
                coldest=coldest,
            ),
            why="Ice bursts the evaporator and the hose; trace heat covers only what it lies on, and only with power.",
            resolve="Drain it, lay it up with antifreeze, keep it running, or keep every part of the loop heated and watched.",
            field="/lay_up",
            references=(COMMON_PRACTICE.id,),
        )


def _first_ice(given: ShutdownGiven, lay_up: LayUp, notes: Notes) -> Duration | UnsetType:
    bore, start, air = given.hose_inside_diameter, given.water_temperature, given.ambient_minimum
    if given.configuration.fluid_kind != "water" or bore is UNSET or start is UNSET or air is UNSET:
        return UNSET
    t0, ta = start.si - ZERO_CELSIUS, air.si - ZERO_CELSIUS
    if at_least(air.si, ZERO_CELSIUS):
        return UNSET
    t0 = max(t0, 0.0)  # 0 degC comes back from kelvin with a last bit below it
    h = given.outside_heat_transfer_coefficient
    ice = Duration.of(time_to_first_ice(bore.si, t0, ta, h), "s")
    expression = f"4.2e6 x {bore.si:.4g} / (4 x {h:g}) ln(({t0:.4g} - ({ta:.4g})) / (0 - ({ta:.4g})))"
    notes.show("t_cool", "Time to first ice: rho cp D / (4 h) ln((T0 - Ta) / (0 - Ta))", expression, ice)
    stands_filled = lay_up == "stays_filled"
    write = notes.check if stands_filled else notes.note
    write(
        "first_ice",
        say(
            "Still water in a hose of {bore} begins to freeze after {time:.2g} at {air}.",
            bore=bore,
            time=ice.as_unit("h"),
            air=air,
        ),
        resolve="Drain before then, or keep it heated: the pump stands still after these steps."
        if stands_filled
        else "Keep it moving or heated, or drain before then.",
        references=(STILL_WATER.id,),
    )
    return ice


def _slug(given: ShutdownGiven, lay_up: LayUp, notes: Notes) -> Slug | None:
    if lay_up != "antifreeze" or given.antifreeze is UNSET:
        return None
    if given.ambient_minimum is UNSET:
        text = "The coldest air was not given: how strong the antifreeze must be is not known."
        notes.check("strength_not_known", text, resolve="Give the coldest air expected.", field="/ambient_minimum")
        return None
    fraction = required_mass_fraction(given.antifreeze, given.ambient_minimum, given.freeze_margin)
    if fraction == 0:
        text = f"{given.ambient_minimum} less {given.freeze_margin} is not below 0 degC."
        notes.note("antifreeze_not_needed", text, field="/ambient_minimum")
    target = given.ambient_minimum.si - given.freeze_margin.si - ZERO_CELSIUS
    notes.show(
        "w",
        "Mass fraction that freezes at the coldest air less the margin",
        f"T_freeze(w) = {target:.4g} degC",
        fraction,
    )
    residual = None if given.residual_volume is UNSET else given.residual_volume.si
    poured = slug(given.antifreeze, fraction, residual, given.slug_mass_fraction)
    if poured.mass is not None and residual is not None:
        left = f"998 x {residual:.4g} x {fraction:.4g}"
        premix = given.slug_mass_fraction
        below = f"(1 - {fraction:.4g})" if premix is UNSET else f"({premix:g} - {fraction:.4g})"
        notes.show(
            "m", "Mass to pour in: m_w w / (w_s - w), w_s = 1 for pure glycol", f"{left} / {below}", poured.mass, "kg"
        )
    return poured
