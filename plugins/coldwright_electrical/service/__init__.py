"""What circuit the machines need, and whether the breaker and supply offered will do."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, calculator
from coldwright.contract.quantities import ApparentPower, Power
from coldwright_basis.ratings import IEC_RATED_CURRENTS, OVERCURRENT_RATINGS
from coldwright_electrical.service.answer import circuit_results, machine_results, optional_current
from coldwright_electrical.service.circuits import iec_machine, nec_machine
from coldwright_electrical.service.examples import EXAMPLES
from coldwright_electrical.service.findings import FINDINGS, judge_service
from coldwright_electrical.service.fit import Offer, judge_fit, offer_of
from coldwright_electrical.service.given import ServiceGiven
from coldwright_electrical.service.group import feeder_circuit
from coldwright_electrical.service.reading import MOTOR_FULL_LOAD_CURRENT, read
from coldwright_electrical.service.results import FitResults, ServiceResults
from coldwright_electrical.service.safety_switches import SAFETY_SWITCH_FRAMES
from coldwright_electrical.service.working import show_working
from coldwright_electrical.shared import references as ref

_ROOT_3: Final = 3**0.5


@calculator(
    "electrical.service",
    version="1.3.1",
    title="Circuit that the machines need, and whether the supply offered will do",
    references=(
        ref.NEC_440_6,
        ref.NEC_440_33,
        ref.NEC_430_24,
        ref.NEC_440_22,
        ref.NEC_430_62,
        ref.NEC_430_62_B,
        ref.NEC_440_12,
        ref.NEC_440_4,
        ref.NEC_GROUND_FAULT,
        ref.NEC_240_85,
        ref.UL_489,
        ref.NEMA_MG_1,
        ref.IEC_60364_4_43,
        ref.IEC_60204_1,
        *ref.SAFE_WORK,
    ),
    tables=(OVERCURRENT_RATINGS, SAFETY_SWITCH_FRAMES, IEC_RATED_CURRENTS, MOTOR_FULL_LOAD_CURRENT),
    hazards=("electrical",),
    findings=FINDINGS,
    examples=EXAMPLES,
)
def service(given: ServiceGiven, notes: Notes) -> ServiceResults:
    """The circuit for each machine and for the feeder of all, and whether breaker and supply offered fit it.

    nec: ampacity = sum of motors + 25 % of the largest + 125 % of continuous and 100 % of other loads (NEC 440.33,
    430.24); greatest device = 1.75 or 2.25 times the largest compressor + the rest (440.22), rounded down to a standard
    rating; disconnect 115 % of the sum (440.12). A data plate prevails. iec: design current = sum of rated currents, the
    device the next rated current above it (IEC 60364-4-43), the greatest only from the plate. Holds for three-phase
    low-voltage machines with hermetic compressors. Largest loads that may not run together are found from interlocks.
    """
    duties, apart = read(given)
    if given.practice == "nec":
        circuits = [nec_machine(duty, given.overcurrent_factor) for duty in duties]
    else:
        circuits = [iec_machine(duty) for duty in duties]
    feeder = feeder_circuit(given.practice, duties, circuits, apart, given.overcurrent_factor)
    misfits = judge_service(given, duties, circuits, feeder, notes)
    offered = given.available
    fit = judge_fit(given, feeder, Offer() if offered is UNSET else offer_of(offered), misfits, notes)
    show_working(given, duties, circuits, feeder, notes)
    machines = [machine_results(machine, circuit) for machine, circuit in zip(given.machines, circuits, strict=True)]
    spare = optional_current(fit.spare)
    fit_results = FitResults(verdict=fit.verdict, reasons=fit.reasons, spare_supply=spare)
    group = circuit_results(feeder)
    if feeder.running is None:
        return ServiceResults(machines=tuple(machines), feeder=group, fit=fit_results)
    apparent = _ROOT_3 * given.system_voltage.to("V") * feeder.running / 1000
    return ServiceResults(
        machines=tuple(machines),
        feeder=group,
        apparent_power=ApparentPower.of(apparent, "kVA"),
        active_power=Power.of(apparent * given.power_factor, "kW"),
        fit=fit_results,
    )
