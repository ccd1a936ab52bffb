"""Does the started machine prove itself? From flow, temperatures and their trend."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Example,
    Load,
    Notes,
    Refused,
    Results,
    Said,
    about,
    calculator,
    field_error,
    finding,
    say,
    spoken,
)
from coldwright.contract.quantities import Duration, Power, Temperature, TemperatureDifference, TemperatureRate
from coldwright_basis.instants import instant, show, stamp, stamp_error
from coldwright_basis.liquids import check_fluid, freezing_temperature
from coldwright_readiness.cooling_proof.given import CoolingProofGiven
from coldwright_readiness.cooling_proof.measures import Measures
from coldwright_readiness.cooling_proof.troubles import TROUBLE_FINDINGS, find_troubles
from coldwright_readiness.shared import cautions
from coldwright_readiness.shared.pull_down import set_point_errors
from coldwright_readiness.shared.references import (
    COMMON_PRACTICE,
    DEENERGISE,
    FLUID_DATA,
    HEAT_BALANCE,
    LOCKOUT,
    REFRIGERANT_LEAKS,
    REFRIGERANT_WORK,
)

Verdict = Literal["too_soon", "proving", "proven", "slow", "trouble"]


class Trouble(Results, frozen=True, kw_only=True):
    """A first sign of trouble."""

    code: Annotated[str, about("Word that names it.")]
    severity: Annotated[Literal["stop", "check"], about("`stop`: stop the compressors.")]
    statement: Annotated[str, about("What was seen, and what to look at first.")]
    said: Said = UNSET


class CoolingProofResults(Results, frozen=True, kw_only=True):
    """What the gauges come to."""

    verdict: Annotated[Verdict, about("How far the proof is.")]
    troubles: Annotated[tuple[Trouble, ...], about("First signs of trouble, in the order of the table.")]
    measured_capacity: Annotated[Power, about("Cooling by flow and temperatures.", us="ton")]
    capacity_ratio: Annotated[float, about("Measured cooling over what the running compressors should give.")]
    expected_temperature_difference: Annotated[
        TemperatureDifference, about("Entering less leaving at full cooling and this flow.")
    ]
    expected_fall_rate: (
        Annotated[TemperatureRate, about("How fast the loop should get colder now; needs `loop_volume`.")] | UnsetType
    ) = UNSET
    measured_fall_rate: (
        Annotated[TemperatureRate, about("How fast the leaving temperature fell in the last 10 min.")] | UnsetType
    ) = UNSET
    time_to_set_point: Annotated[Duration, about("At full cooling; absent where it never gets there.")] | UnsetType = (
        UNSET
    )
    loop_turnover_time: Annotated[Duration, about("Time for the loop to go round once.")] | UnsetType = UNSET
    next_compressor_at: Annotated[str, stamp("Not before this should the next compressor start.")]
    next_compressor_advised: Annotated[bool, about("Whether to start the next compressor now.")]


@calculator(
    "readiness.cooling_proof",
    version="1.1.2",
    title="Proof of cooling: capacity, trend and first signs of trouble",
    references=(HEAT_BALANCE, FLUID_DATA, COMMON_PRACTICE, REFRIGERANT_WORK, DEENERGISE, LOCKOUT, REFRIGERANT_LEAKS),
    hazards=("rotating", "thermal", "refrigerant", "electrical"),
    load=Load.HEAVY,
    findings=(
        *TROUBLE_FINDINGS,
        finding("load_not_covered", "check", "The cooling never brings the loop to its set point."),
        finding("capacity_above_rating", "check", "More cooling was measured than the compressors should give."),
        finding("not_falling", "check", "No sign of cooling, and no clear trouble either."),
        finding("outside_fluid_data", "note", "A reading lies outside the data of the liquid."),
    ),
    examples=(
        Example(
            "Twelve minutes after the start",
            "Invented: one compressor on water, the loop getting colder.",
            {
                "fluid": {"kind": "water"},
                "flow": {"value": 9, "unit": "L/s"},
                "entering_temperature": {"value": 17.4, "unit": "degC"},
                "leaving_temperature": {"value": 13.1, "unit": "degC"},
                "set_point": {"value": 7, "unit": "degC"},
                "compressors": [
                    {"id": "1", "capacity": {"value": 175, "unit": "kW"}, "started_at": "2026-05-04T09:10:00Z"}
                ],
                "loop_volume": {"value": 3, "unit": "m3"},
                "load": {"value": 30, "unit": "kW"},
                "samples": [
                    {
                        "at": f"2026-05-04T09:{minute}:00Z",
                        "entering": {"value": 23 - 0.5 * (minute - 12), "unit": "degC"},
                        "leaving": {"value": 18.5 - 0.5 * (minute - 12), "unit": "degC"},
                    }
                    for minute in (12, 15, 18, 21)
                ],
                "evaluated_at": "2026-05-04T09:22:00Z",
            },
        ),
        Example(
            "Hoses the wrong way round",
            "Invented: the leaving temperature is above the entering one.",
            {
                "fluid": {"kind": "propylene_glycol", "mass_fraction": 0.3},
                "flow": {"value": 6, "unit": "L/s"},
                "entering_temperature": {"value": 9, "unit": "degC"},
                "leaving_temperature": {"value": 12, "unit": "degC"},
                "set_point": {"value": 2, "unit": "degC"},
                "compressors": [
                    {"id": "1", "capacity": {"value": 90, "unit": "kW"}, "started_at": "2026-05-04T09:10:00Z"}
                ],
                "evaluated_at": "2026-05-04T09:20:00Z",
            },
        ),
    ),
)
def cooling_proof(given: CoolingProofGiven, notes: Notes) -> CoolingProofResults:
    """Judge a machine that was started: is it cooling as it should, and what is the first sign of trouble?

    Cooling Q = rho cp V (T_in - T_out), rho at the entering temperature, cp at the mean. The loop as one well-mixed
    volume: C dT/dt = load - Q, so the time to the set point is C (T - T_set) / (Q - load), or with a load that depends
    on temperature (C / UA) ln((T - T_inf) / (T_set - T_inf)). The trend is the least-squares slope of the last 10 min.
    Thresholds are common practice.
    """
    _refuse(given)
    m = Measures(given, notes)
    notes.caution(*cautions.COOLING)
    _assume(notes)
    freezing = freezing_temperature(given.fluid)
    if freezing is not None:
        notes.show("T_f", "Freezing point of the liquid", "by kind and strength", Temperature.from_si(freezing, "degC"))
    troubles = find_troubles(given, m)
    for t in troubles:
        write = notes.stop if t.severity == "stop" else notes.check
        write(t.code, t.statement, resolve=t.resolve, references=(COMMON_PRACTICE.id,))
    stopped = any(t.severity == "stop" for t in troubles)
    if m.time_to_set_point is None and m.heat_capacity is not None:
        notes.check(
            "load_not_covered",
            say(
                "{power:.4g us=ton} of cooling against the load never reaches {set_point}.",
                power=Power.from_si(m.power, "kW"),
                set_point=given.set_point,
            ),
            resolve="Take load off, or start the next compressor.",
        )
    verdict = _verdict(given, m, stopped, notes)
    return CoolingProofResults(
        verdict=verdict,
        troubles=tuple(Trouble(code=t.code, severity=t.severity, **spoken(statement=t.statement)) for t in troubles),
        measured_capacity=Power.from_si(m.capacity, "kW"),
        capacity_ratio=m.ratio,
        expected_temperature_difference=TemperatureDifference.from_si(m.expected_difference, "delta_degC"),
        expected_fall_rate=_rate(m.expected_rate),
        measured_fall_rate=_rate(m.measured_rate),
        time_to_set_point=_seconds(m.time_to_set_point),
        loop_turnover_time=_seconds(m.turnover),
        next_compressor_at=show(m.next_start),
        next_compressor_advised=not stopped and _advised(given, m),
    )


def _rate(kelvin_per_second: float | None) -> TemperatureRate | UnsetType:
    return UNSET if kelvin_per_second is None else TemperatureRate.from_si(kelvin_per_second, "delta_degC/min")


def _seconds(seconds: float | None) -> Duration | UnsetType:
    return UNSET if seconds is None else Duration.of(seconds, "s")


def _refuse(given: CoolingProofGiven) -> None:
    check_fluid(given.fluid, "/fluid", temperature="derived", needs=("density", "specific_heat"))
    errors = set_point_errors(given.fluid, given.set_point, "/set_point")
    if given.load is not UNSET and given.load_model is not UNSET:
        errors.append(field_error("/load_model", "Give load or load_model, not both."))
    stamps = [("/evaluated_at", given.evaluated_at)]
    stamps += [(f"/compressors/{i}/started_at", c.started_at) for i, c in enumerate(given.compressors)]
    stamps += [(f"/samples/{i}/at", s.at) for i, s in enumerate(given.samples)]
    wrong = [error for pointer, text in stamps if (error := stamp_error(pointer, text))]
    if not wrong:
        now = instant(given.evaluated_at)
        for index, compressor in enumerate(given.compressors):
            if instant(compressor.started_at) > now:
                text = "It was not yet started at the time of the reading."
                errors.append(field_error(f"/compressors/{index}/started_at", text, value=compressor.started_at))
    low, high = given.evaporator_pressure_drop_minimum, given.evaporator_pressure_drop_maximum
    if low is not UNSET and high is not UNSET and low.si >= high.si:
        text = f"{low} is not below evaporator_pressure_drop_maximum, {high}."
        errors.append(field_error("/evaporator_pressure_drop_minimum", text, value=low))
    if errors or wrong:
        raise Refused([*errors, *wrong])


def _assume(notes: Notes) -> None:
    notes.assume("metered_at_entry", "The flow is metered at the entering density.", basis="derived")
    notes.assume("well_mixed", "The loop is one well-mixed volume.", basis="derived", references=(HEAT_BALANCE.id,))
    notes.assume("constant_capacity", "The compressors give their stated cooling all the way.", basis="derived")
    notes.assume(
        "plain_fluid", "Properties are those of the plain liquid, without inhibitors.", basis="derived",
        references=(FLUID_DATA.id,),
    )  # fmt: skip


def _advised(given: CoolingProofGiven, m: Measures) -> bool:
    far = given.leaving_temperature.si > given.set_point.si + TemperatureDifference(4.0, "delta_degF").si
    slow = m.measured_rate is not None and m.measured_rate < TemperatureRate(1.0, "delta_degF/min").si
    return far and slow and m.now >= m.next_start


def _verdict(given: CoolingProofGiven, m: Measures, stopped: bool, notes: Notes) -> Verdict:
    if stopped:
        return "trouble"
    if m.too_soon:
        return "too_soon"
    if m.held_cold or (given.unloading and m.difference > 0):
        return "proven"
    if m.falling and (0.5 <= m.ratio < 0.75 or (m.rate_ratio is not None and m.rate_ratio < 0.6)):
        return "slow"
    if m.falling and m.ratio >= 0.75:
        if m.ratio > 1.2:
            notes.check(
                "capacity_above_rating",
                f"The measured cooling is {m.ratio:.2f} of what the compressors should give.",
                resolve="Check the flow meter and the thermometers.",
            )
        return "proving"
    notes.check(
        "not_falling",
        say(
            "{capacity:.4g us=ton} is {ratio:.2f} of what the compressors should give, and the temperature {change}.",
            capacity=Power.from_si(m.capacity, "kW"),
            ratio=m.ratio,
            change="falls" if m.falling else "does not fall",
        ),
        resolve="Look at the load, the flow and the compressors.",
    )
    return "slow"
