"""Pressure surge on quick closing of a valve or trip of a pump."""

from math import pi
from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Fluid,
    Given,
    Load,
    Notes,
    Reference,
    Refused,
    Results,
    Text,
    about,
    calculator,
    field_error,
    finding,
    refuse,
    tidy,
)
from coldwright.contract.quantities import (
    Duration,
    GaugePressure,
    Length,
    Modulus,
    PressureDifference,
    Velocity,
    VolumeFlow,
)
from coldwright_basis import coolprop
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import STATE_PRESSURE, check_fluid, properties, vapor_pressure
from coldwright_hydronic.friction import GRAVITY
from coldwright_hydronic.references import (
    CAUTION_REFERENCES,
    FIRST_PRINCIPLES,
    PRACTICE,
    PROPERTY_REFERENCES,
)
from coldwright_hydronic.shared.second_opinion import SecondOpinion, second_opinion
from coldwright_hydronic.surge_findings import ATMOSPHERE, judge
from coldwright_hydronic.surge_law import Event, Wall, celerity, safe_closure_time

JOUKOWSKY = Reference(
    id="joukowsky_michaud",
    title="Water hammer: Joukowsky's rise, Michaud's linear closing, Korteweg's wave speed in an elastic wall",
    provenance="derived",
    remark="Closed forms, written out in the working.",
)
TM_5_813_9 = Reference(
    id="tm_5_813_9",
    title="TM 5-813-9, Water supply: pumping stations",
    clause="Figure 4-5",
    provenance="seen",
    remark="It takes g as 32 ft/s2.",
)
ISO_6801 = Reference(
    id="iso_6801",
    title="ISO 6801, Rubber or plastics hoses: determination of volumetric expansion",
    provenance="memory",
)
GLYCOL_BULK_MODULUS = Reference(
    id="glycol_bulk_modulus",
    title="Bulk modulus of glycol mixtures",
    provenance="memory",
    remark="3.0 GPa, on the safe side: a stiffer liquid surges higher.",
)
GLYCOL_MODULUS = 3.0e9
FASTEST = 20.0
"""m/s, in any segment: well past any loop, and slow against every wave."""


class SurgeSegmentGiven(Given, frozen=True, kw_only=True):
    """A length of one bore and wall. Give the wall by one of: thickness and modulus; expansion; wave speed."""

    name: Annotated[Text, about("Name.")]
    length: Annotated[Length, about("Length.", low=0.01, high=10_000, unit="m")]
    inner_diameter: (
        Annotated[
            Length,
            about(
                "Bore; needed with a wall thickness, with `flow`, and where there is more than one segment.",
                low=12,
                high=610,
                unit="mm",
            ),
        ]
        | UnsetType
    ) = UNSET
    wall_thickness: Annotated[Length, about("Wall.", low=0.1, high=100, unit="mm")] | UnsetType = UNSET
    elastic_modulus: (
        Annotated[Modulus, about("Young's modulus of the wall: steel about 200 GPa.", low=0.001, high=1000, unit="GPa")]
        | UnsetType
    ) = UNSET
    volumetric_expansion_fraction: (
        Annotated[float, about("Growth of the hose's volume in the expansion test.", above=0, high=2)] | UnsetType
    ) = UNSET
    volumetric_expansion_pressure: (
        Annotated[PressureDifference, about("Pressure of that test.", low=10, high=50_000, unit="kPa")] | UnsetType
    ) = UNSET
    wave_speed: (
        Annotated[Velocity, about("Wave speed, where it is known.", low=5, high=3000, unit="m/s")] | UnsetType
    ) = UNSET


class SurgeGiven(Given, frozen=True, kw_only=True):
    """The line in front of the valve, what flows, and how fast it is stopped."""

    fluid: Annotated[Fluid, about("Liquid, with its temperature.")]
    segments: Annotated[
        tuple[SurgeSegmentGiven, ...], about("Segments in series, from the one whose velocity is given.", min_length=1,
                                             max_length=100)
    ]  # fmt: skip
    velocity: (
        Annotated[Velocity, about("Velocity in the first segment.", above=0, high=FASTEST, unit="m/s")] | UnsetType
    ) = UNSET
    flow: Annotated[VolumeFlow, about("Flow, instead of the velocity.", above=0, high=6000, unit="L/s")] | UnsetType = (
        UNSET
    )
    velocity_change_fraction: Annotated[
        float, about("Part of the velocity that is stopped.", above=0, high=1, basis="derived")
    ] = 1.0
    closure_time: Annotated[
        Duration, about("Time to close; 0 is instant, or a pump trip against a check valve.", low=0, high=3600, unit="s",
                        basis="derived")
    ] = Duration(0.0, "s")  # fmt: skip
    static_pressure: (
        Annotated[GaugePressure, about("Pressure at the valve before the event.", low=-100, high=5000, unit="kPa")]
        | UnsetType
    ) = UNSET
    working_pressure: (
        Annotated[GaugePressure, about("Working pressure of the weakest part.", above=0, high=50_000, unit="kPa")]
        | UnsetType
    ) = UNSET
    surge_allowance_fraction: Annotated[
        float, about("What the parts may take above their working pressure.", low=0, high=1, basis="derived")
    ] = 0.0
    free_gas_fraction: Annotated[
        float,
        about(
            "Volume of gas spread in the liquid as bubbles.",
            low=0,
            high=0.05,
            why="with more gas the liquid no longer carries one wave",
        ),
    ] = 0.0
    restraint_factor: Annotated[
        float, about("Factor c1 for how the wall is held lengthwise.", low=0.5, high=2, basis="derived")
    ] = 1.0
    bulk_modulus: (
        Annotated[
            Modulus,
            about(
                "Bulk modulus of the liquid; from its speed of sound for water, 3.0 GPa for glycol unless given.",
                low=0.1,
                high=10,
                unit="GPa",
            ),
        ]
        | UnsetType
    ) = UNSET


class SurgeSegment(Results, frozen=True, kw_only=True):
    """One segment."""

    name: Annotated[str, about("Name.")]
    wave_speed: Annotated[Velocity, about("Wave speed in it.")]
    velocity: Annotated[Velocity, about("Velocity in it before the event.")] | UnsetType = UNSET
    joukowsky_rise: Annotated[
        PressureDifference, about("Rise if the flow in this segment is stopped at once, whatever the closing time.")
    ]


class SurgeResults(Results, frozen=True, kw_only=True):
    """The surge at the valve. Peak, trough and margin need the static pressure; the margin the working pressure too."""

    segments: Annotated[tuple[SurgeSegment, ...], about("One entry a segment, in the order given.")]
    equivalent_wave_speed: Annotated[Velocity, about("Length over travel time of the whole line.")]
    critical_time: Annotated[Duration, about("Time in which the wave runs to the far end and back.")]
    regime: Annotated[Literal["fast", "slow"], about("`fast`: closed before the wave is back, so the full rise comes.")]
    pressure_rise: Annotated[PressureDifference, about("Rise at the valve.")]
    pressure_rise_without_gas: (
        Annotated[PressureDifference, about("The same with no free gas: what the findings are held against.")]
        | UnsetType
    ) = UNSET
    head_rise: Annotated[Length, about("Rise as a head of the liquid.")]
    peak_pressure: Annotated[GaugePressure, about("Static pressure plus rise.")] | UnsetType = UNSET
    trough_pressure: (
        Annotated[GaugePressure, about("Static pressure less rise; not below the vapour pressure.")] | UnsetType
    ) = UNSET
    margin: Annotated[PressureDifference, about("Working pressure with its allowance, less the peak.")] | UnsetType = (
        UNSET
    )
    safe_closure_time: (
        Annotated[Duration, about("Closing time that keeps the peak within the allowance; 0 if instant closing does.")]
        | UnsetType
    ) = UNSET
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at its temperature.")] | UnsetType = UNSET


@calculator(
    "hydronic.surge",
    version="1.1.0",
    title="Pressure surge on quick valve closing or pump trip",
    references=(
        *PROPERTY_REFERENCES,
        JOUKOWSKY,
        TM_5_813_9,
        ISO_6801,
        GLYCOL_BULK_MODULUS,
        FIRST_PRINCIPLES,
        PRACTICE,
        *CAUTION_REFERENCES,
    ),
    hazards=("pressure", "general"),
    findings=(
        finding("peak_over_working", "stop", "The peak is above the working pressure with its allowance."),
        finding("local_peak_over_working", "stop", "The peak in one stiff segment is above it."),
        finding("peak_near_working", "check", "The peak is above 0.8 of the working pressure."),
        finding("column_separates", "stop", "The trough reaches the vapour pressure: the column parts and slams."),
        finding("trough_below_atmosphere", "check", "The trough is below atmosphere: lay-flat hose collapses."),
        finding("stiff_segment", "check", "A stiff segment on a soft line: its local rise is far higher."),
        finding("no_credit_for_gas", "check", "Free gas lowers the wave speed; no credit may be taken for it."),
        finding("valve_practice", "note", "How valves and pumps should be worked."),
    ),
    examples=(
        Example(
            "hose_and_fast_valve",
            "Invented: 60 m of hose in front of a valve that snaps shut.",
            {
                "fluid": {"kind": "water", "temperature": {"value": 10, "unit": "degC"}},
                "segments": [
                    {
                        "name": "supply hose",
                        "length": {"value": 60, "unit": "m"},
                        "inner_diameter": {"value": 101.6, "unit": "mm"},
                        "volumetric_expansion_fraction": 0.08,
                        "volumetric_expansion_pressure": {"value": 1000, "unit": "kPa"},
                    }
                ],
                "velocity": {"value": 2.5, "unit": "m/s"},
                "static_pressure": {"value": 300, "unit": "kPa"},
                "working_pressure": {"value": 1000, "unit": "kPa"},
            },
        ),
        Example(
            "steel_and_hose_slow",
            "Invented: steel riser behind hose, glycol, valve closed in 6 s.",
            {
                "fluid": {
                    "kind": "propylene_glycol",
                    "mass_fraction": 0.3,
                    "temperature": {"value": 40, "unit": "degF"},
                },
                "segments": [
                    {
                        "name": "hose",
                        "length": {"value": 300, "unit": "ft"},
                        "inner_diameter": {"value": 4, "unit": "in"},
                        "volumetric_expansion_fraction": 0.05,
                        "volumetric_expansion_pressure": {"value": 100, "unit": "psi"},
                    },
                    {
                        "name": "riser",
                        "length": {"value": 80, "unit": "ft"},
                        "inner_diameter": {"value": 102.26, "unit": "mm"},
                        "wall_thickness": {"value": 6.02, "unit": "mm"},
                        "elastic_modulus": {"value": 200, "unit": "GPa"},
                    },
                ],
                "flow": {"value": 250, "unit": "gpm"},
                "closure_time": {"value": 6, "unit": "s"},
                "static_pressure": {"value": 50, "unit": "psi"},
                "working_pressure": {"value": 150, "unit": "psi"},
            },
        ),
    ),
    load=Load.HEAVY,
)
def surge(given: SurgeGiven, notes: Notes) -> SurgeResults:
    """Rise, peak and trough of pressure at a valve that closes, or at a pump that trips, in a line of segments in series.

    Wave speed a = 1/sqrt(rho (1/K + chi + phi/K_g)), chi = c1 D/(E e) or expansion over pressure; the line by its travel
    time. Closed within 2 L/a: the full rise rho a dV of Joukowsky; slower: 2 rho sum(L V)/t of Michaud, never above it.
    Friction is left out. Gas spread as bubbles slows the wave, but pockets of air can raise the surge: the findings take
    no credit for gas. With unequal bores the rise is that of the greater of the first segment's velocity and the mean
    over the length.
    """
    check_fluid(given.fluid, needs=("density",))
    density = properties(given.fluid, needs=("density",)).density
    _refuse_segments(given)
    modulus = _bulk_modulus(given, density, notes)
    velocities = _velocities(given)
    gas = _gas_modulus(given)
    event = _event(given, density, modulus, gas, velocities)
    gas_free = _event(given, density, modulus, None, velocities) if gas is not None else event
    _refuse_too_fast(given, event, modulus, density)
    vapor = _vapor_pressure(given.fluid)
    _refuse_boiling(given, vapor)
    _show(given, notes, event, density, modulus)
    judge(given, notes, event, gas_free, vapor)
    return _results(given, event, gas_free, vapor)


def _refuse_segments(given: SurgeGiven) -> None:
    errors: list[FieldError] = []
    for i, s in enumerate(given.segments):
        pairs = (
            ("wall_thickness", "elastic_modulus"),
            ("volumetric_expansion_fraction", "volumetric_expansion_pressure"),
            ("wave_speed",),
        )
        told = [p for p in pairs if any(getattr(s, n) is not UNSET for n in p)]
        if len(told) != 1:
            text = (
                "Give exactly one: wall_thickness with elastic_modulus, volumetric_expansion_fraction with its pressure, "
                "or wave_speed."
            )
            errors.append(field_error(f"/segments/{i}", text, code="refused" if told else "missing"))
            continue
        for name in told[0]:
            if getattr(s, name) is UNSET:
                text = f"{name} is needed beside {' and '.join(n for n in told[0] if n != name)}."
                errors.append(field_error(f"/segments/{i}/{name}", text, code="missing"))
        bore_needed = told[0] == pairs[0] or given.flow is not UNSET or len(given.segments) > 1
        if bore_needed and s.inner_diameter is UNSET:
            errors.append(field_error(f"/segments/{i}/inner_diameter", "The bore is needed here.", code="missing"))
    if (given.velocity is UNSET) == (given.flow is UNSET):
        text = "Give exactly one of velocity and flow."
        errors.append(field_error("/velocity", text, code="missing" if given.flow is UNSET else "refused"))
    if given.free_gas_fraction > 0 and given.static_pressure is UNSET:
        text = "Free gas needs the static pressure: its stiffness is its absolute pressure."
        errors.append(field_error("/static_pressure", text, code="missing"))
    if errors:
        raise Refused(errors)


def _bulk_modulus(given: SurgeGiven, density: float, notes: Notes) -> float | None:
    """Pa. None where none is known and no segment needs it."""
    own = given.fluid.bulk_modulus
    if given.bulk_modulus is not UNSET:
        if own is not UNSET and abs(own.si / given.bulk_modulus.si - 1) > 1e-9:
            text = f"The fluid says {own}, this field {given.bulk_modulus}: give one."
            raise refuse("/bulk_modulus", text, value=given.bulk_modulus)
        return given.bulk_modulus.si
    if own is not UNSET:
        return own.si
    if given.fluid.kind == "water" and given.fluid.temperature is not UNSET:
        state = coolprop.state("IF97", "Water")
        state.update(coolprop.core().PT_INPUTS, STATE_PRESSURE, given.fluid.temperature.si)
        modulus: float = density * state.speed_sound() ** 2
        notes.assume(
            "water_bulk_modulus",
            "The bulk modulus of water is its density times the square of its speed of sound.",
            value=Modulus.from_si(modulus, "GPa"),
            basis="derived",
            references=("water_properties",),
        )
        return modulus
    if given.fluid.kind != "custom":
        notes.assume(
            "glycol_bulk_modulus",
            "The bulk modulus of the glycol mixture is taken as 3.0 GPa, on the safe side.",
            value=Modulus.from_si(GLYCOL_MODULUS, "GPa"),
            basis="handbook",
            references=("glycol_bulk_modulus",),
        )
        return GLYCOL_MODULUS
    if all(s.wave_speed is not UNSET for s in given.segments):
        return None
    raise refuse("/fluid/bulk_modulus", "A custom fluid must bring its bulk modulus here.", code="missing")


def _velocities(given: SurgeGiven) -> tuple[float, ...]:
    """In each segment before the event, by continuity."""
    bores = [None if s.inner_diameter is UNSET else s.inner_diameter.si for s in given.segments]
    if given.velocity is not UNSET:
        first, d1 = given.velocity.si, bores[0]
        speeds = [first if d is None or d1 is None else first * (d1 / d) ** 2 for d in bores]
    else:
        assert given.flow is not UNSET  # noqa: S101 - one of the two, refused above
        speeds = [given.flow.si / (0.25 * pi * d * d) for d in bores if d is not None]
    for i, speed in enumerate(speeds):
        if speed > FASTEST:
            raise refuse(
                "/velocity" if given.flow is UNSET else "/flow",
                f"Segment {i + 1} would run at {speed:.1f} m/s.",
                value=given.velocity if given.flow is UNSET else given.flow,
                allowed=Allowed(maximum=FASTEST, unit="m/s"),
                why="the method holds for velocities far below the wave speed",
            )
    return tuple(speeds)


def _gas_modulus(given: SurgeGiven) -> float | None:
    """Stiffness of the free gas, isothermal: its absolute pressure, Pa."""
    if given.free_gas_fraction <= 0 or given.static_pressure is UNSET:
        return None
    return given.static_pressure.si + ATMOSPHERE


def _event(
    given: SurgeGiven, density: float, modulus: float | None, gas: float | None, velocities: tuple[float, ...]
) -> Event:
    speeds = []
    for s in given.segments:
        if s.wave_speed is not UNSET or modulus is None:
            assert s.wave_speed is not UNSET  # noqa: S101 - no modulus only where every wave speed is given
            speeds.append(s.wave_speed.si)
        else:
            gas_term = given.free_gas_fraction / gas if gas is not None else 0.0
            speeds.append(celerity(density, modulus, _wall(s, given.restraint_factor), gas_term))
    return Event(
        density=density,
        lengths=tuple(s.length.si for s in given.segments),
        wave_speeds=tuple(speeds),
        velocities=velocities,
        stopped=given.velocity_change_fraction,
        closure_time=given.closure_time.si,
    )


def _wall(segment: SurgeSegmentGiven, restraint: float) -> Wall:
    if (
        segment.wall_thickness is not UNSET
        and segment.elastic_modulus is not UNSET
        and segment.inner_diameter is not UNSET
    ):
        return Wall.elastic(segment.inner_diameter.si, segment.wall_thickness.si, segment.elastic_modulus.si, restraint)
    assert segment.volumetric_expansion_fraction is not UNSET  # noqa: S101 - the pairs are complete, refused above
    assert segment.volumetric_expansion_pressure is not UNSET  # noqa: S101
    return Wall.tested(segment.volumetric_expansion_fraction, segment.volumetric_expansion_pressure.si)


def _refuse_too_fast(given: SurgeGiven, event: Event, modulus: float | None, density: float) -> None:
    """No wall can make the wave faster than sound in the open liquid, and the flow stays far slower than the wave."""
    errors: list[FieldError] = []
    sound = (modulus / density) ** 0.5 if modulus is not None else None
    for i, (s, a, v) in enumerate(zip(given.segments, event.wave_speeds, event.velocities, strict=True)):
        if s.wave_speed is not UNSET and sound is not None and a > sound * (1 + 1e-9):
            errors.append(
                field_error(
                    f"/segments/{i}/wave_speed",
                    f"{s.wave_speed} is faster than sound in the liquid itself.",
                    value=s.wave_speed,
                    allowed=Allowed(maximum=tidy(sound), unit="m/s"),
                    why="a wall can only slow the wave",
                )
            )
        if v > 0.5 * a:
            errors.append(
                field_error(
                    f"/segments/{i}",
                    f"The liquid runs at {v:.2f} m/s, the wave at {a:.2f} m/s.",
                    why="the method holds for velocities far below the wave speed: not above half of it",
                )
            )
    if errors:
        raise Refused(errors)


def _vapor_pressure(fluid: Fluid) -> float:
    """Pa absolute; full vacuum for a custom fluid that does not tell it."""
    known = vapor_pressure(fluid, ZERO_CELSIUS if fluid.temperature is UNSET else fluid.temperature.si)
    return 0.0 if known is None else known


def _refuse_boiling(given: SurgeGiven, vapor: float) -> None:
    if given.static_pressure is UNSET:
        return
    absolute = given.static_pressure.si + ATMOSPHERE
    if absolute <= vapor:
        raise refuse(
            "/static_pressure",
            f"The liquid boils at {vapor / 1e3:.2f} kPa absolute; this pressure is {absolute / 1e3:.2f} kPa absolute.",
            value=given.static_pressure,
            allowed=Allowed(above=round((vapor - ATMOSPHERE) / 1e3, 3), unit="kPa"),
            why="there is no full column of liquid before the event",
        )


def _show(given: SurgeGiven, notes: Notes, event: Event, density: float, modulus: float | None) -> None:
    stiffness = "K not needed" if modulus is None else f"K = {modulus / 1e9:.4g} GPa"
    for s, a in zip(given.segments, event.wave_speeds, strict=True):
        how = "as given"
        if s.wave_speed is UNSET:
            chi = _wall(s, given.restraint_factor).compliance
            how = (
                f"1/sqrt(rho (1/K + chi + phi/K_g)), rho = {density:.2f} kg/m3, {stiffness}, chi = {chi:.4g} 1/Pa, "
                f"phi = {given.free_gas_fraction:g}"
            )
        notes.show("a", f"wave speed in {s.name}", how, Velocity.from_si(a, "m/s"))
    notes.show(
        "a_eq",
        "wave speed of the line",
        f"sum L / sum(L/a) = {sum(event.lengths):.4g} m / {event.travel_time:.4g} s",
        Velocity.from_si(event.wave_speed, "m/s"),
    )
    notes.show("T", "critical time", "2 sum(L/a)", Duration.from_si(event.critical_time, "s"))
    if event.fast:
        equation = (
            f"rho a_eq dV = {density:.2f} x {event.wave_speed:.2f} x {event.velocity_change:.4g}, since "
            f"t_c = {given.closure_time} <= T"
        )
    else:
        equation = (
            f"2 rho sum(L V)/t_c = 2 x {density:.2f} x {event.momentum / density:.5g} / {given.closure_time.si:.4g}, "
            f"since t_c > T; not above rho a_eq dV = {event.joukowsky / 1e3:.5g} kPa"
        )
    notes.show("dp", "pressure rise", equation, PressureDifference.from_si(event.rise, "kPa"))
    notes.assume(
        "frictionless_column",
        "Friction in the line is left out; in lines far longer than a hired loop it adds to the peak slowly after the rise.",
        basis="derived",
        references=("joukowsky_michaud",),
    )


def _results(given: SurgeGiven, event: Event, gas_free: Event, vapor: float) -> SurgeResults:
    peak: GaugePressure | UnsetType = UNSET
    trough: GaugePressure | UnsetType = UNSET
    margin: PressureDifference | UnsetType = UNSET
    safe: Duration | UnsetType = UNSET
    if given.static_pressure is not UNSET:
        static = given.static_pressure.si
        peak = GaugePressure.from_si(static + event.rise, "kPa")
        trough = GaugePressure.from_si(event.trough(static, vapor, ATMOSPHERE), "kPa")
        if given.working_pressure is not UNSET:
            limit = given.working_pressure.si * (1 + given.surge_allowance_fraction)
            margin = PressureDifference.from_si(limit - static - event.rise, "kPa")
            time = safe_closure_time((event, gas_free), limit - static)
            safe = UNSET if time is None else Duration.from_si(time, "s")
    rises = event.local_rises
    return SurgeResults(
        second_opinion=second_opinion(given.fluid),
        segments=tuple(
            SurgeSegment(
                name=s.name,
                wave_speed=Velocity.from_si(a, "m/s"),
                velocity=Velocity.from_si(v, "m/s"),
                joukowsky_rise=PressureDifference.from_si(rise, "kPa"),
            )
            for s, a, v, rise in zip(given.segments, event.wave_speeds, event.velocities, rises, strict=True)
        ),
        equivalent_wave_speed=Velocity.from_si(event.wave_speed, "m/s"),
        critical_time=Duration.from_si(event.critical_time, "s"),
        regime="fast" if event.fast else "slow",
        pressure_rise=PressureDifference.from_si(event.rise, "kPa"),
        pressure_rise_without_gas=(UNSET if event is gas_free else PressureDifference.from_si(gas_free.rise, "kPa")),
        head_rise=Length.from_si(event.rise / (event.density * GRAVITY), "m"),
        peak_pressure=peak,
        trough_pressure=trough,
        margin=margin,
        safe_closure_time=safe,
    )
