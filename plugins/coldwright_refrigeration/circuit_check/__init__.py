"""What the gauges and clamps on a refrigerant circuit say."""

from msgspec import UNSET

from coldwright.contract import Notes, calculator, tidy
from coldwright.contract.quantities import Temperature, TemperatureDifference
from coldwright_refrigeration.circuit_check.answer import likely_causes, show
from coldwright_refrigeration.circuit_check.causes import BANDS_TABLE, CAUSES_TABLE, deciding_measurement
from coldwright_refrigeration.circuit_check.examples import EXAMPLES
from coldwright_refrigeration.circuit_check.findings import CIRCUIT_FINDINGS, judge
from coldwright_refrigeration.circuit_check.given import CircuitCheckGiven
from coldwright_refrigeration.circuit_check.readings import readings_of
from coldwright_refrigeration.circuit_check.results import CircuitCheckResults, CircuitPattern
from coldwright_refrigeration.shared.cautions import AT_THE_MACHINE
from coldwright_refrigeration.shared.references import (
    ASHRAE_34,
    ASHRAE_ATMOSPHERE,
    COOLPROP,
    IEC_60335_2_40,
    PRACTICE,
    SAFETY,
)
from coldwright_refrigeration.shared.refrigerant_limits import LIMITS_TABLE, flammable_cautions
from coldwright_refrigeration.shared.refrigerants import REFRIGERANTS_TABLE
from coldwright_refrigeration.shared.saturation import SATURATION_TABLE


@calculator(
    "refrigeration.circuit_check",
    version="1.0.3",
    title="Readings of a refrigerant circuit, and what they point to",
    references=(COOLPROP, PRACTICE, ASHRAE_ATMOSPHERE, ASHRAE_34, IEC_60335_2_40, *SAFETY),
    tables=(REFRIGERANTS_TABLE, SATURATION_TABLE, BANDS_TABLE, CAUSES_TABLE, LIMITS_TABLE),
    hazards=("refrigerant", "pressure", "rotating", "thermal", "electrical"),
    findings=CIRCUIT_FINDINGS,
    examples=EXAMPLES,
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
    show(given, readings, notes)
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
        likely_causes=tuple(likely_causes(s, readings) for s in causes),
        deciding_measurement=deciding_measurement(causes[0].cause, causes[1].cause) if len(causes) > 1 else UNSET,
    )
