"""The figures of a feeder as results."""

from msgspec import UNSET, UnsetType

from coldwright.contract import tidy
from coldwright.contract.quantities import Current, Impedance, Length, Power, Voltage
from coldwright_electrical.feeder.ampacity import AMPACITY_IN_RACEWAY, AMPACITY_PORTABLE_CABLE, AMPACITY_RUBBER_CABLE
from coldwright_electrical.feeder.cable import Terms
from coldwright_electrical.feeder.choice import Choice, Demand
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.pick_list import pick_list
from coldwright_electrical.feeder.results import FeederResults
from coldwright_electrical.feeder.sums import Sums


def _ampacity_table(given: FeederGiven) -> str:
    if given.ampacity_source is not UNSET:
        return given.ampacity_source
    if given.practice == "iec":
        table = AMPACITY_RUBBER_CABLE
    else:
        table = AMPACITY_IN_RACEWAY if given.construction == "wire_in_raceway" else AMPACITY_PORTABLE_CABLE
    return f"{table.reference.title}, {table.reference.clause}"


def _amperes(value: float | None) -> Current | UnsetType:
    return UNSET if value is None else Current.of(value, "A")


def results_of(
    given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, sums: Sums, fine: bool
) -> FeederResults:
    """The results in the order of the schema."""
    cable, sets, voltage = choice.cable, choice.sets, demand.load.voltage
    start = sums.starting_fraction
    return FeederResults(
        conductor_size=cable.size,
        sets=sets,
        ampacity_table=_ampacity_table(given),
        temperature_factor=tidy(terms.temperature_factor),
        bundling_factor=terms.bundling_factor,
        ampacity_each=Current.of(cable.each, "A"),
        contact_limit_each=_amperes(cable.contact),
        termination_limit_each=_amperes(cable.termination),
        ampacity_total=Current.of(sums.total, "A"),
        ampacity_total_if_connector_basis=_amperes(cable.total_by_connector(sets)),
        ampacity_deciding=Current.of(sums.deciding, "A"),
        equipment_ground_size=UNSET if sums.ground is None else sums.ground,
        resistance=Impedance.of(sums.resistance, "ohm"),
        reactance=Impedance.of(sums.reactance, "ohm"),
        drop_running_approximate=Voltage.of(sums.approximate, "V"),
        drop_running=Voltage.of(sums.exact, "V"),
        drop_running_fraction=tidy(sums.exact / voltage),
        voltage_at_machine=Voltage.of(voltage - sums.exact, "V"),
        starting_drop_fraction=UNSET if start is None else tidy(start),
        starting_voltage=UNSET if start is None else Voltage.of(voltage * (1 - start), "V"),
        longest_run=Length.of(sums.longest, "m"),
        loss=Power.of(sums.loss / 1000, "kW"),
        pick_list=pick_list(given, sets),
        verdict="ok" if fine else "not_ok",
    )
