"""What the gauges and clamps on a refrigerant circuit say."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Given, Notes, Results, about, calculator, tidy
from coldwright.contract.quantities import (
    AbsolutePressure,
    GaugePressure,
    Length,
    Temperature,
    TemperatureDifference,
)
from coldwright_refrigeration.cautions import AT_THE_MACHINE
from coldwright_refrigeration.circuit_causes import (
    BANDS_TABLE,
    CAUSES,
    CAUSES_TABLE,
    CauseName,
    Suspect,
    Word,
    deciding_measurement,
)
from coldwright_refrigeration.circuit_findings import CIRCUIT_FINDINGS, judge
from coldwright_refrigeration.circuit_readings import Readings, readings_of
from coldwright_refrigeration.references import ASHRAE_34, ASHRAE_ATMOSPHERE, COOLPROP, IEC_60335_2_40, PRACTICE, SAFETY
from coldwright_refrigeration.refrigerant_limits import LIMITS_TABLE, flammable_cautions
from coldwright_refrigeration.refrigerants import ABOUT_REFRIGERANT, REFRIGERANTS_TABLE, RefrigerantName
from coldwright_refrigeration.saturation import SATURATION_TABLE

_GAUGE = "as the gauge shows it, above the air pressure of the site"
_Band = tuple[TemperatureDifference, TemperatureDifference]


class ExpectedGiven(Given, frozen=True, kw_only=True):
    """Bands of this machine, `[low, high]`: below the first is low, above the second high. They beat the defaults."""

    superheat: (
        Annotated[_Band, about("Superheat at the compressor.", low=0, high=60, unit="delta_degC")] | UnsetType
    ) = UNSET
    subcooling: (
        Annotated[_Band, about("Subcooling at the condenser outlet.", low=0, high=60, unit="delta_degC")] | UnsetType
    ) = UNSET
    condensing_over_ambient: (
        Annotated[_Band, about("Condensing temperature above the air.", low=0, high=60, unit="delta_degC")] | UnsetType
    ) = UNSET
    evaporator_approach: (
        Annotated[_Band, about("Leaving liquid above the suction dew point.", low=0, high=60, unit="delta_degC")]
        | UnsetType
    ) = UNSET


class StandstillGiven(Given, frozen=True, kw_only=True):
    """Readings of the stopped circuit after its pressures have equalised, all of it at one temperature."""

    pressure: Annotated[GaugePressure, about(f"Pressure, {_GAUGE}.", low=-110, high=6000, unit="kPa")]
    temperature: Annotated[Temperature, about("Temperature of the whole circuit.", low=-50, high=90, unit="degC")]


class CircuitCheckGiven(Given, frozen=True, kw_only=True):
    """Readings of one running circuit, steady for ten minutes. Of a gauge pressure and its absolute twin give one."""

    refrigerant: Annotated[RefrigerantName, about(ABOUT_REFRIGERANT)]
    suction_pressure: (
        Annotated[GaugePressure, about(f"At the compressor inlet, {_GAUGE}.", low=-110, high=6000, unit="kPa")]
        | UnsetType
    ) = UNSET
    suction_pressure_absolute: (
        Annotated[AbsolutePressure, about("At the compressor inlet.", above=0, high=6100, unit="kPa")] | UnsetType
    ) = UNSET
    discharge_pressure: (
        Annotated[GaugePressure, about(f"At the compressor outlet, {_GAUGE}.", low=-110, high=6000, unit="kPa")]
        | UnsetType
    ) = UNSET
    discharge_pressure_absolute: (
        Annotated[AbsolutePressure, about("At the compressor outlet.", above=0, high=6100, unit="kPa")] | UnsetType
    ) = UNSET
    liquid_line_pressure: (
        Annotated[
            GaugePressure,
            about(
                f"At the condenser outlet, {_GAUGE}; the discharge pressure when nothing is given.",
                low=-110,
                high=6000,
                unit="kPa",
            ),
        ]
        | UnsetType
    ) = UNSET
    liquid_line_pressure_absolute: (
        Annotated[AbsolutePressure, about("At the condenser outlet.", above=0, high=6100, unit="kPa")] | UnsetType
    ) = UNSET
    suction_line_temperature: Annotated[
        Temperature, about("Clamp at the compressor inlet.", low=-50, high=150, unit="degC")
    ]
    liquid_line_temperature: Annotated[
        Temperature, about("Clamp at the condenser outlet.", low=-50, high=150, unit="degC")
    ]
    discharge_line_temperature: (
        Annotated[Temperature, about("Clamp at the compressor outlet.", low=-50, high=250, unit="degC")] | UnsetType
    ) = UNSET
    condenser_air_temperature: Annotated[
        Temperature, about("Air that enters the coil, measured at the coil.", low=-50, high=70, unit="degC")
    ]
    leaving_liquid_temperature: Annotated[
        Temperature, about("Liquid that leaves the evaporator.", low=-50, high=80, unit="degC")
    ]
    entering_liquid_temperature: (
        Annotated[Temperature, about("Liquid that enters the evaporator.", low=-50, high=80, unit="degC")] | UnsetType
    ) = UNSET
    design_liquid_temperature_difference: Annotated[
        TemperatureDifference,
        about(
            "Entering less leaving at full load.",
            low=1,
            high=40,
            unit="delta_degC",
            basis="common_practice",
            references=(PRACTICE.id,),
        ),
    ] = TemperatureDifference(10, "delta_degF")
    altitude: Annotated[Length, about("Height above sea level.", low=-100, high=4000, unit="m")] | UnsetType = UNSET
    barometric_pressure: (
        Annotated[AbsolutePressure, about("Air pressure at the site.", low=55, high=108, unit="kPa")] | UnsetType
    ) = UNSET
    liquid_freezing_temperature: Annotated[
        Temperature, about("Where the liquid freezes; 0 degC is plain water.", low=-60, high=20, unit="degC")
    ] = Temperature(0, "degC")
    compressors_running: Annotated[int, about("Compressors that run.", low=1, high=32)] | UnsetType = UNSET
    compressors_total: Annotated[int, about("Compressors of the circuit.", low=1, high=32)] | UnsetType = UNSET
    expected: Annotated[ExpectedGiven, about("What this machine reads when it is well.")] = ExpectedGiven()
    circuit_opened_recently: Annotated[bool, about("The circuit was opened for work not long ago.")] = False
    standstill: Annotated[StandstillGiven, about("Standstill test, where one was made.")] | UnsetType = UNSET


class CircuitPattern(Results, frozen=True, kw_only=True):
    """Where each quantity lies; empty at part load."""

    superheat: Annotated[Word, about("Superheat.")] | UnsetType = UNSET
    subcooling: Annotated[Word, about("Subcooling.")] | UnsetType = UNSET
    condensing_over_ambient: Annotated[Word, about("Condensing temperature above the air.")] | UnsetType = UNSET
    evaporator_approach: Annotated[Word, about("Leaving liquid above the suction dew point.")] | UnsetType = UNSET
    liquid_temperature_difference: (
        Annotated[Word, about("Entering less leaving, against design; needs the entering temperature.")] | UnsetType
    ) = UNSET


class LikelyCause(Results, frozen=True, kw_only=True):
    """A trouble that fits the readings."""

    cause: Annotated[CauseName, about("The trouble.")]
    score: Annotated[float, about("How well it fits: 1 is wholly, below 0.6 is not listed unless a test proves it.")]
    why: Annotated[str, about("What the trouble does, and how the readings fit.")]
    evidence_for: Annotated[tuple[str, ...], about("Readings that speak for it.", max_length=6)]
    evidence_against: Annotated[tuple[str, ...], about("Readings that speak against it.", max_length=6)]
    next_check: Annotated[str, about("What to look at next, with the circuit closed.")]


class CircuitCheckResults(Results, frozen=True, kw_only=True):
    """Saturation temperatures, differences, and what they point to."""

    suction_dew_temperature: Annotated[Temperature, about("Dew point at the suction pressure.")]
    suction_bubble_temperature: Annotated[Temperature, about("Bubble point at the suction pressure.")]
    condensing_bubble_temperature: Annotated[Temperature, about("Bubble point at the discharge pressure.")]
    condensing_dew_temperature: Annotated[Temperature, about("Dew point at the discharge pressure.")]
    condensing_temperature: Annotated[Temperature, about("Mean of both at the discharge pressure.")]
    superheat: Annotated[TemperatureDifference, about("Suction line above the dew point; as read, may be negative.")]
    subcooling: Annotated[TemperatureDifference, about("Bubble point above the liquid line.")]
    condensing_over_ambient: Annotated[TemperatureDifference, about("Condensing temperature above the air.")]
    evaporator_approach: Annotated[TemperatureDifference, about("Leaving liquid above the suction dew point.")]
    compression_ratio: Annotated[float, about("Discharge over suction pressure, both absolute.")]
    discharge_superheat: (
        Annotated[TemperatureDifference, about("Discharge line above the dew point at the discharge pressure.")]
        | UnsetType
    ) = UNSET
    liquid_temperature_difference_ratio: (
        Annotated[float, about("Entering less leaving, over its design value.")] | UnsetType
    ) = UNSET
    glide: Annotated[TemperatureDifference, about("Dew less bubble point at the suction pressure.")]
    pattern: Annotated[CircuitPattern, about("Where each quantity lies.")]
    likely_causes: Annotated[tuple[LikelyCause, ...], about("Troubles that fit, the likeliest first.", max_length=4)]
    deciding_measurement: (
        Annotated[str, about("What would tell the first cause from the second, with the circuit closed.")] | UnsetType
    ) = UNSET


@calculator(
    "refrigeration.circuit_check",
    version="1.0.0",
    title="Readings of a refrigerant circuit, and what they point to",
    references=(COOLPROP, PRACTICE, ASHRAE_ATMOSPHERE, ASHRAE_34, IEC_60335_2_40, *SAFETY),
    tables=(REFRIGERANTS_TABLE, SATURATION_TABLE, BANDS_TABLE, CAUSES_TABLE, LIMITS_TABLE),
    hazards=("refrigerant", "pressure", "rotating", "thermal", "electrical"),
    findings=CIRCUIT_FINDINGS,
    examples=(
        Example(
            "healthy circuit",
            "Invented readings of an R-410A circuit on a 95 degF day.",
            {
                "refrigerant": "R-410A",
                "suction_pressure": {"value": 112, "unit": "psi"},
                "discharge_pressure": {"value": 402, "unit": "psi"},
                "suction_line_temperature": {"value": 49, "unit": "degF"},
                "liquid_line_temperature": {"value": 105, "unit": "degF"},
                "discharge_line_temperature": {"value": 176, "unit": "degF"},
                "condenser_air_temperature": {"value": 95, "unit": "degF"},
                "leaving_liquid_temperature": {"value": 44, "unit": "degF"},
                "entering_liquid_temperature": {"value": 54, "unit": "degF"},
                "altitude": {"value": 900, "unit": "ft"},
            },
        ),
        Example(
            "high superheat and little subcooling",
            "Invented readings of an R-454B circuit that has lost refrigerant.",
            {
                "refrigerant": "R-454B",
                "suction_pressure": {"value": 6.4, "unit": "bar"},
                "discharge_pressure": {"value": 21.5, "unit": "bar"},
                "suction_line_temperature": {"value": 16, "unit": "degC"},
                "liquid_line_temperature": {"value": 36, "unit": "degC"},
                "condenser_air_temperature": {"value": 32, "unit": "degC"},
                "leaving_liquid_temperature": {"value": 9, "unit": "degC"},
                "entering_liquid_temperature": {"value": 13, "unit": "degC"},
                "altitude": {"value": 100, "unit": "m"},
            },
        ),
    ),
)
def circuit_check(given: CircuitCheckGiven, notes: Notes) -> CircuitCheckResults:
    """Superheat, subcooling, approaches and likely troubles from gauge and clamp readings.

    Absolute pressure is gauge pressure plus the air pressure of the site. Superheat counts from the dew point at the
    suction pressure, subcooling from the bubble point at the liquid line; the condensing temperature is the mean of
    bubble and dew point. Saturation is read from lines tabulated with CoolProp 8.0.0, within 0.001 K of its direct
    calls over the whole range of every refrigerant; outside that range the reading is refused.

    Bands, limits and the scores of the causes are common practice for air-cooled scroll and screw machines at full
    load, no source; `expected`, the machine's own data, beats them. At part load only the stops are judged, and with
    head-pressure control active the pattern says little. Each cause comes with what speaks for and against it, and with
    what to look at next while the circuit stays closed: only certified technicians open one.
    """
    readings = readings_of(given, notes)
    notes.caution(*AT_THE_MACHINE, *flammable_cautions(given.refrigerant))
    _show(readings, notes)
    judge(given, readings, notes)
    causes = readings.suspects
    return CircuitCheckResults(
        suction_dew_temperature=Temperature.from_si(readings.suction_dew, "degC"),
        suction_bubble_temperature=Temperature.from_si(readings.suction_bubble, "degC"),
        condensing_bubble_temperature=Temperature.from_si(readings.condensing_bubble, "degC"),
        condensing_dew_temperature=Temperature.from_si(readings.condensing_dew, "degC"),
        condensing_temperature=Temperature.from_si(readings.condensing, "degC"),
        superheat=TemperatureDifference.of(readings.superheat, "delta_degC"),
        subcooling=TemperatureDifference.of(readings.subcooling, "delta_degC"),
        condensing_over_ambient=TemperatureDifference.of(readings.condensing_over_ambient, "delta_degC"),
        evaporator_approach=TemperatureDifference.of(readings.approach, "delta_degC"),
        compression_ratio=tidy(readings.ratio),
        discharge_superheat=(
            UNSET
            if readings.discharge_superheat is None
            else TemperatureDifference.of(readings.discharge_superheat, "delta_degC")
        ),
        liquid_temperature_difference_ratio=UNSET if readings.liquid_ratio is None else tidy(readings.liquid_ratio),
        glide=TemperatureDifference.of(readings.suction_dew - readings.suction_bubble, "delta_degC"),
        pattern=CircuitPattern(**readings.pattern),
        likely_causes=tuple(_likely(s, readings) for s in causes),
        deciding_measurement=deciding_measurement(causes[0].cause, causes[1].cause) if len(causes) > 1 else UNSET,
    )


def _likely(suspect: Suspect, readings: Readings) -> LikelyCause:
    cause = CAUSES[suspect.cause]
    evidence = readings.evidence
    speaks_for = tuple(evidence[q] for q in suspect.speaks_for)
    speaks_against = tuple(evidence[q] for q in suspect.speaks_against)
    if suspect.cause == "non_condensables" and readings.air_found:
        speaks_for = (*speaks_for, "the standstill pressure is above that of the refrigerant")
    why = f"{cause.meaning} For it: {'; '.join(speaks_for) or 'nothing'}. Against it: {'; '.join(speaks_against) or 'nothing'}."
    return LikelyCause(
        cause=suspect.cause,
        score=tidy(suspect.score),
        why=why,
        evidence_for=speaks_for,
        evidence_against=speaks_against,
        next_check=cause.next_check,
    )


def _show(r: Readings, notes: Notes) -> None:
    show = notes.show
    suction, discharge, liquid = r.suction_pressure / 1000, r.discharge_pressure / 1000, r.liquid_pressure / 1000
    show("p_s", "suction pressure, absolute", f"gauge + {r.air_pressure / 1000:.2f} kPa", suction, "kPa")
    show("p_d", "discharge pressure, absolute", f"gauge + {r.air_pressure / 1000:.2f} kPa", discharge, "kPa")
    dew, bubble = r.suction_dew - 273.15, r.liquid_bubble - 273.15
    show("T_dew", "dew point at the suction pressure", f"saturation table at {suction:.2f} kPa", dew, "degC")
    show("T_bub", "bubble point at the liquid line", f"saturation table at {liquid:.2f} kPa", bubble, "degC")
    show("SH", "superheat", f"{r.suction_line - 273.15:.2f} - {dew:.2f}", r.superheat, "K")
    show("SC", "subcooling", f"{bubble:.2f} - {r.liquid_line - 273.15:.2f}", r.subcooling, "K")
    show(
        "CTOA",
        "condensing temperature above the air",
        f"({r.condensing_bubble - 273.15:.2f} + {r.condensing_dew - 273.15:.2f})/2 - {r.air - 273.15:.2f}",
        r.condensing_over_ambient,
        "K",
    )
    show("A", "leaving liquid above the dew point", f"{r.leaving - 273.15:.2f} - {dew:.2f}", r.approach, "K")
    show("r", "compression ratio", f"{discharge:.2f} / {suction:.2f}", r.ratio)
    if r.discharge_superheat is not None:
        show("DSH", "discharge superheat", "T_discharge - dew point at p_d", r.discharge_superheat, "K")
