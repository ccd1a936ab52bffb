"""Choosing the cable: fewest pieces, then lightest, that carry the load and keep the voltage."""

from collections.abc import Iterable, Iterator
from typing import Final, NamedTuple

from msgspec import UNSET

from coldwright_basis.compare import above, at_least, at_most, below
from coldwright_basis.ratings import rating_at_least
from coldwright_basis.voltages import motor_nameplate
from coldwright_electrical.feeder.cable import LEAST_PARALLEL_AREA, MOST_SETS, Cable, Terms, cable_given, cables_to_try
from coldwright_electrical.feeder.drop import Load, exact_drop, starting_drop_fraction
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.shared.sizes import cross_section

LEAST_SHARE_OF_NAMEPLATE: Final = 0.9

NEXT_RATING_UP_TO: Final = 800.0

SMALL_WIRE_DEVICE: Final = {"14 AWG": 15.0, "12 AWG": 20.0, "10 AWG": 30.0}


class Demand(NamedTuple):
    """What the cable must satisfy [A, V, m]."""

    nec: bool
    portable: bool
    raceway: bool
    ampacity: float
    device: float
    length: float
    load: Load
    start: Load | None
    allowed_running: float
    allowed_starting: float
    connector_basis: bool

    @property
    def least_voltage(self) -> float:
        """Nine tenths of the nameplate."""
        return LEAST_SHARE_OF_NAMEPLATE * motor_nameplate(self.load.voltage)


class Choice(NamedTuple):
    """A size in a number of sets, and the smallest that ampacity alone would have chosen."""

    cable: Cable
    sets: int
    by_ampacity: tuple[Cable, int] | None = None


def demand_of(given: FeederGiven, terms: Terms) -> Demand:
    """Gather what every candidate must satisfy."""
    voltage = given.system_voltage.si
    source = (
        0.0 if given.source_resistance is UNSET else given.source_resistance.si,
        0.0 if given.source_reactance is UNSET else given.source_reactance.si,
    )
    nec = given.practice == "nec"
    starting = given.starting_current
    running = given.allowed_drop_running_fraction
    return Demand(
        nec=nec,
        portable=given.construction != "wire_in_raceway",
        raceway=given.construction == "wire_in_raceway",
        ampacity=max(given.minimum_ampacity.si, given.load_current.si),
        device=given.overcurrent_device.si,
        length=given.length.si,
        load=Load(voltage, given.load_current.si, given.power_factor, *source),
        start=None if starting is UNSET else Load(voltage, starting.si, given.starting_power_factor, *source),
        allowed_running=(0.03 if nec else 0.05) if running is UNSET else running,
        allowed_starting=given.allowed_drop_starting_fraction,
        connector_basis=terms.connector_basis,
    )


def ampacity_ok(cable: Cable, sets: int, demand: Demand) -> bool:
    """The deciding total reaches the least ampacity."""
    return at_least(cable.deciding(sets, connector_basis=demand.connector_basis), demand.ampacity)


def device_ok(cable: Cable, sets: int, demand: Demand) -> bool:
    """The device protects the cable: 240.4(B), 240.5; IEC 60364-4-43 433.1."""
    total = cable.deciding(sets, connector_basis=demand.connector_basis)
    if demand.nec and demand.portable and below(sets * cable.carries, demand.device):
        return False
    return at_least(total, demand.device) or steps_up(total, demand)


def steps_up(total: float, demand: Demand) -> bool:
    """Whether the device is above the ampacity, but not above the next standard rating."""
    if not demand.nec or above(demand.device, NEXT_RATING_UP_TO) or at_least(total, demand.device):
        return False
    following = rating_at_least("nec", total)
    return following is not None and at_most(demand.device, following)


def small_wire_ok(cable: Cable, demand: Demand) -> bool:
    """240.4(D): 14, 12 and 10 AWG in raceway."""
    return not demand.raceway or at_most(demand.device, SMALL_WIRE_DEVICE.get(cable.size, demand.device))


def parallel_ok(cable: Cable, sets: int, demand: Demand) -> bool:
    """310.10(G): 1/0 AWG and larger."""
    return sets == 1 or not demand.nec or at_least(cable.area, LEAST_PARALLEL_AREA)


def _carries(cable: Cable, sets: int, demand: Demand) -> bool:
    return ampacity_ok(cable, sets, demand) and device_ok(cable, sets, demand) and small_wire_ok(cable, demand)


def _keeps_voltage(cable: Cable, sets: int, demand: Demand) -> tuple[bool, bool]:
    """Whether the machine keeps 0.9 of its nameplate, and whether the allowed drops hold as well."""
    resistance, reactance = (z * demand.length / sets for z in (cable.resistance, cable.reactance))
    drop = exact_drop(resistance, reactance, demand.load)
    if drop is None or below(demand.load.voltage - drop, demand.least_voltage):
        return False, False
    if above(drop, demand.allowed_running * demand.load.voltage):
        return True, False
    if demand.start is None:
        return True, True
    return True, at_most(starting_drop_fraction(resistance, reactance, demand.start), demand.allowed_starting)


def choose(given: FeederGiven, terms: Terms, demand: Demand) -> Choice:
    """The cable given, or the first that meets all; failing that, voltage is let go before ampacity."""
    if given.conductor_size is UNSET:
        cables = list(cables_to_try(given, terms))
    else:
        cables = [cable_given(given, terms, given.conductor_size)]
        if given.sets is not UNSET:
            return Choice(cables[0], given.sets)
    numbers = range(1, MOST_SETS + 1) if given.sets is UNSET else (given.sets,)
    enough = keeping = None
    for cable, sets in _candidates(cables, numbers, demand):
        if not _carries(cable, sets, demand):
            continue
        enough = enough or (cable, sets)
        bearable, good = _keeps_voltage(cable, sets, demand)
        if good:
            return _chosen(given, cable, sets, enough)
        if bearable:
            keeping = keeping or (cable, sets)
    if best := keeping or enough:
        return _chosen(given, *best, enough or best)
    return Choice(*_most(cables, numbers, demand))


def _candidates(cables: list[Cable], numbers: Iterable[int], demand: Demand) -> Iterator[tuple[Cable, int]]:
    """Fewest pieces first, then lightest."""
    for sets in numbers:
        for cable in cables:
            if parallel_ok(cable, sets, demand):
                yield cable, sets


def _chosen(given: FeederGiven, cable: Cable, sets: int, enough: tuple[Cable, int]) -> Choice:
    return Choice(cable, sets, enough if given.conductor_size is UNSET else None)


def _most(cables: list[Cable], numbers: Iterable[int], demand: Demand) -> tuple[Cable, int]:
    """Nothing carries the load: the candidate that comes nearest, to be reported as short."""
    candidates = list(_candidates(cables, numbers, demand)) or [(cables[-1], min(numbers))]
    return max(candidates, key=lambda c: c[0].deciding(c[1], connector_basis=demand.connector_basis))


def enlargement(choice: Choice) -> float:
    """How many times more copper than ampacity alone asks for; 1 where drop changed nothing."""
    if choice.by_ampacity is None:
        return 1.0
    cable, sets = choice.by_ampacity
    return choice.sets * cross_section(choice.cable.size) / (sets * cross_section(cable.size))
