"""The rules that supply readings are held against. Each writes its findings, and its actions in their order."""

from typing import TYPE_CHECKING, Final, Literal, NamedTuple

from msgspec import UnsetType

from coldwright.contract import Caution, Notes, Reference
from coldwright_electrical.references import COMMON_PRACTICE, IEC_60204_1, NEMA_MG_1, OSHA_1910_147
from coldwright_electrical.unbalance import (
    ANSI_C84_1,
    GREATEST_UNBALANCE,
    UNBALANCE_DERATING,
    Three,
    derating_factor,
    greatest_deviation,
)

if TYPE_CHECKING:
    from coldwright_electrical.supply_quality import LineCurrentsGiven, LineVoltagesGiven, SupplyQualityGiven

IEC_60038 = Reference(
    id="iec_60038", title="IEC 60038, IEC standard voltages", clause="supply within 10 % of nominal", provenance="seen"
)

ROTATING_PARTS: Final = Caution(
    code="rotating_parts",
    hazard="rotating",
    statement="Fans and pumps start without warning once the supply is live, and may turn backwards: keep guards on and "
    "hands away, and never start a compressor to see which way it turns.",
    references=(COMMON_PRACTICE.id,),
)

_SLACK: Final = 1e-9
_SAFE: Final = (
    "Start nothing.",
    "Open the device at the source of this supply.",
    "Lock it, tag it, and try to start.",
    "Prove dead at the place of work, between all lines and from each line to ground.",
)
_STOP_IT: Final = (
    "The machine runs on this supply: unload it, stop its compressors, then its pump, before anything else."
)
BURNS_OUT: Final = frozenset({"single_phasing", "lost_phase", "unbalance_above_five_percent"})
"""Stops under which motors that run must not go on running."""
_SWAP: Final = (
    "Change over any two line conductors at the source end, in every parallel set alike; never the neutral or the "
    "ground, never live, and never inside the machine to suit one site."
)
REVERSED_ACTIONS: Final = (
    *_SAFE,
    _SWAP,
    "Check every parallel set again, end to end.",
    "Close the supply again and read the rotation meter once more.",
    "Count the oil heaters' warm-up hour anew from there.",
)
ROLL_ACTION: Final = (
    "With the supply isolated and proved dead, move all three lines one place on at the machine, so that the sequence "
    "stays, and read again: if the high current stays with the supply's line, look at the supply; if it stays with the "
    "machine's terminal, look at the machine."
)


class Readings(NamedTuple):
    """The meter's figures as plain numbers."""

    line_voltages: "LineVoltagesGiven"
    line_currents: "LineCurrentsGiven | UnsetType"

    @property
    def voltages(self) -> Three:
        v = self.line_voltages
        return (v.ab.value, v.bc.value, v.ca.value)

    @property
    def mean_voltage(self) -> float:
        return sum(self.voltages) / 3

    @property
    def currents(self) -> Three | tuple[()]:
        i = self.line_currents
        return () if isinstance(i, UnsetType) else (i.a.to("A"), i.b.to("A"), i.c.to("A"))


def in_order(actions: list[str], *, running: bool) -> tuple[str, ...]:
    """Each action once: first what stops the machine and makes the supply safe, then what is looked for and mended."""
    once = dict.fromkeys(actions)
    safe = [action for action in _SAFE if action in once]
    rest = [action for action in once if action not in safe]
    return (*((_STOP_IT,) if running else ()), *safe, *rest)


def judge_people_and_plate(given: "SupplyQualityGiven", notes: Notes, actions: list[str], nameplate: float) -> None:
    """Who read the meter, and whether the machine belongs on this system."""
    if not given.measured_by_qualified_person:
        notes.stop(
            "not_qualified",
            "The readings were not taken by a person qualified for this voltage.",
            why="Reading a live supply can kill, and a reading nobody answers for proves nothing.",
            resolve="Have a qualified person read again.",
            field="/measured_by_qualified_person",
        )
        actions.append("Have a person qualified for this voltage take all readings again.")
    nominal = given.nominal_voltage.value
    ratio = nameplate / nominal
    if not 0.9 - _SLACK <= ratio <= 1.1 + _SLACK or 1 / ratio > 1.1 + _SLACK:
        far = not 0.85 - _SLACK <= ratio <= 1.15 + _SLACK
        notes.stop(
            "nameplate_mismatch",
            f"The plate says {nameplate:g} V and the system is {nominal:g} V: {ratio:.3f} of it."
            + (" The machine is not for this voltage; it needs a transformer." if far else ""),
            why="A motor is made for its plate voltage within 10 %.",
            resolve="Another machine, another supply, or a transformer: see electrical.transformer.",
            field="/nameplate_voltage",
            references=(NEMA_MG_1.id,),
        )
        actions.append("Find a machine made for this voltage, or a transformer between.")
    elif nameplate < nominal:
        notes.note(
            "nameplate_below_nominal",
            f"A plate of {nameplate:g} V on a {nominal:g} V system is normal: motors are marked below the system.",
        )
    if given.supply_state != "live":
        notes.note("supply_isolated", "The supply is isolated, locked and tagged: nothing can start until it is live.")


def judge_lost_phase(readings: Readings, notes: Notes, actions: list[str]) -> None:
    """A line voltage of 0, or below half the mean."""
    mean = readings.mean_voltage
    low = [
        f"{name} {v:g} V"
        for name, v in zip(("ab", "bc", "ca"), readings.voltages, strict=True)
        if v < 0.5 * mean or v <= 0
    ]
    if low:
        notes.stop(
            "lost_phase",
            f"Dead or nearly so: {', '.join(low)}; the mean is {mean:.4g} V.",
            why="A three-phase motor that starts on two lines stalls and burns out.",
            resolve="Find the open fuse, pole, connector or conductor.",
            field="/line_voltages",
            references=(COMMON_PRACTICE.id,),
        )
        actions += [*_SAFE, "Find the open fuse, pole, connector or conductor, and close it for good."]


def judge_rotation(
    given: "SupplyQualityGiven", notes: Notes, actions: list[str]
) -> Literal["correct", "reversed", "unknown", "conflict"]:
    """The rotation meter decides first, the phase monitor second."""
    if given.rotation == "reversed":
        notes.stop(
            "rotation_reversed",
            "The phase sequence at the machine is reversed.",
            why="Compressors that run backwards lose their oil or break at once; pumps and fans move too little.",
            resolve="Change over two lines at the source end, dead and locked, and read again.",
            field="/rotation",
            references=(COMMON_PRACTICE.id, OSHA_1910_147.id),
        )
        actions += REVERSED_ACTIONS
        return "reversed"
    if given.rotation == "not_checked":
        tripped = " Its phase monitor has tripped." if given.sequence_relay == "tripped" else ""
        notes.stop(
            "rotation_unknown",
            f"Nobody has read the phase sequence at the machine.{tripped}",
            why="A brief bump of a compressor is no test: one turn backwards can break it.",
            resolve="Read a rotation meter at the machine's incoming terminals.",
            field="/rotation",
            references=(COMMON_PRACTICE.id,),
        )
        actions.append("Read the phase sequence with a rotation meter at the machine's incoming terminals.")
        return "unknown"
    if given.sequence_relay == "tripped":
        notes.stop(
            "rotation_conflict",
            "The rotation meter reads correct, yet the machine's phase monitor has tripped.",
            why="The monitor also trips on a lost phase, low voltage or unbalance, and one of the two may be wrong.",
            resolve="Find why the monitor trips.",
            field="/sequence_relay",
            references=(COMMON_PRACTICE.id,),
        )
        actions.append(
            "Start nothing; look for a lost phase, low voltage or unbalance, then at the monitor's settings and wiring."
        )
        return "conflict"
    return "correct"


def judge_voltages(
    given: "SupplyQualityGiven", readings: Readings, notes: Notes, actions: list[str], limits: tuple[float, float]
) -> None:
    """The worst lines against the limits, and the mean against the nominal voltage."""
    low, high = limits
    least, greatest = min(readings.voltages), max(readings.voltages)
    if least < low * (1 - _SLACK):
        notes.stop(
            "voltage_low",
            f"The lowest line reads {least:g} V, {low - least:.4g} V below the least allowed, {low:g} V.",
            why="Low voltage makes motors draw more, stall at start and trip.",
            resolve="Shorter or larger cable, another tap, or less load on the source.",
            field="/line_voltages",
            references=(NEMA_MG_1.id, IEC_60204_1.id),
        )
        actions.append("Raise the voltage: larger or shorter cable, another transformer tap, less load on the source.")
    if greatest > high * (1 + _SLACK):
        notes.stop(
            "voltage_high",
            f"The highest line reads {greatest:g} V, {greatest - high:.4g} V above the greatest allowed, {high:g} V.",
            why="High voltage saturates motors and ages insulation and electronics.",
            resolve="Another tap, or the generator's voltage set lower.",
            field="/line_voltages",
            references=(NEMA_MG_1.id, IEC_60204_1.id),
        )
        actions.append("Lower the voltage: another transformer tap, or the generator's regulator.")
    off = readings.mean_voltage / given.nominal_voltage.value - 1
    if given.practice == "iec" and abs(off) > 0.10 + _SLACK:
        notes.check(
            "outside_nominal_tolerance",
            f"The mean is {off:+.1%} off the nominal voltage; a supply keeps within 10 %.",
            resolve="Tell the utility or whoever runs the source.",
            field="/line_voltages",
            references=(IEC_60038.id,),
        )


def judge_frequency(given: "SupplyQualityGiven", notes: Notes, actions: list[str], deviation: float) -> None:
    """Frequency alone, and voltage and frequency together."""
    if isinstance(given.measured_frequency, UnsetType):
        return
    off = given.measured_frequency.value / given.frequency.value - 1
    limit = 0.05 if given.practice == "nec" else 0.01
    together = abs(deviation) + abs(off)
    notes.show(
        "df", "deviation of the frequency", f"{given.measured_frequency.value:g} / {given.frequency.value:g} - 1", off
    )
    notes.show("|dV| + |df|", "both deviations", f"{abs(deviation):.4g} + {abs(off):.4g}", together)
    if abs(off) > limit + _SLACK:
        notes.stop(
            "frequency_out",
            f"{given.measured_frequency} is {off:+.2%} off {given.frequency}; {limit:.0%} is allowed.",
            why="Motors change speed and flux with frequency.",
            resolve="Have the source's frequency put right.",
            field="/measured_frequency",
            references=(NEMA_MG_1.id,) if given.practice == "nec" else (IEC_60204_1.id,),
        )
        actions.append("Have the frequency of the source put right.")
    if together > 0.10 + _SLACK:
        notes.stop(
            "voltage_and_frequency_out",
            f"Voltage is {deviation:+.2%} off the plate and frequency {off:+.2%}: together above 10 %.",
            why="Each alone may pass, and the flux still be too far off.",
            resolve="Bring voltage or frequency closer.",
            field="/measured_frequency",
            references=(NEMA_MG_1.id,),
        )
        actions.append("Bring voltage and frequency closer to the plate, so that both together are within 10 %.")


def judge_unbalance(
    given: "SupplyQualityGiven", notes: Notes, actions: list[str], u: float, negative: float, *, closes: bool
) -> None:
    """Unbalance against 5 %, against the limit, and what it costs below that."""
    counted = u if given.practice == "nec" else negative
    limit = given.unbalance_limit_fraction
    even_out = "Find the uneven single-phase load, loose joint or open delta, and even out the three lines."
    if not closes:
        notes.check(
            "readings_do_not_close",
            "One voltage is above the other two together, which no moment allows: the negative sequence is set to its "
            "greatest, 1.",
            resolve="Read all three again within a minute.",
            field="/line_voltages",
        )
    if u > GREATEST_UNBALANCE + _SLACK:
        notes.stop(
            "unbalance_above_five_percent",
            f"The voltage unbalance is {u:.2%}: above 5 % no motor may run, and no derating factor exists.",
            why="Negative sequence currents heat the rotor many times as much.",
            resolve=even_out,
            field="/line_voltages",
            references=(UNBALANCE_DERATING.reference.id,),
        )
        actions.append(even_out)
    if counted > limit + _SLACK:
        notes.stop(
            "unbalance_above_limit",
            f"The unbalance that counts here is {counted:.2%}, {counted - limit:.2%} above the limit of {limit:.2%}.",
            why="A hermetic motor is cooled by its own refrigerant and has little to spare.",
            resolve=even_out,
            field="/line_voltages",
            references=(COMMON_PRACTICE.id, IEC_60204_1.id),
        )
        actions.append(even_out)
    elif u > 0.01 + _SLACK:
        notes.check(
            "unbalance_derates",
            f"The voltage unbalance is {u:.2%}: motors give {derating_factor(u) or 0.76:.3f} of their output "
            f"and warm up {2 * (u * 100) ** 2 / 100:.1%} more.",
            why="Currents grow uneven 6 to 10 times as much.",
            resolve="Even out the single-phase loads on the source; read again under load.",
            field="/line_voltages",
            references=(UNBALANCE_DERATING.reference.id,),
        )


def judge_currents(
    given: "SupplyQualityGiven", readings: Readings, notes: Notes, actions: list[str], u: float
) -> float | None:
    """Single-phasing, unbalance, and whether supply or machine is to blame. The current unbalance, if there is one."""
    currents = readings.currents
    if not currents:
        if given.loaded:
            notes.note("no_load_currents", "The machine ran, and no line currents were given: they are not judged.")
        return None
    mean = sum(currents) / 3
    if mean <= 0:
        if given.loaded:
            notes.check(
                "loaded_without_current",
                "The machine is said to run, and all three line currents read 0.",
                resolve="Look at the meter, and read again.",
                field="/line_currents",
            )
        return None
    unbalance = greatest_deviation(currents)
    notes.show("u_I", "current unbalance", f"max |I - I_m| / I_m, I_m = {mean:.5g} A", unbalance)
    if min(currents) < 0.1 * mean:
        notes.stop(
            "single_phasing",
            f"A line carries {min(currents):.4g} A where the mean is {mean:.4g} A.",
            why="Running motors feed the lost line back, so that the voltages can look almost right.",
            resolve="Find the open fuse, pole, connector or conductor.",
            field="/line_currents",
            references=(COMMON_PRACTICE.id,),
        )
        actions += [*_SAFE, "Find the open fuse, pole, connector or conductor, and close it for good."]
    over = unbalance > given.current_unbalance_limit_fraction + _SLACK
    if over:
        notes.check(
            "current_unbalance",
            f"The current unbalance is {unbalance:.2%}, the limit {given.current_unbalance_limit_fraction:.0%}; this "
            f"voltage unbalance brings {6 * u:.2%} to {10 * u:.2%}.",
            resolve="Find out whether supply or machine is the cause.",
            field="/line_currents",
            references=(COMMON_PRACTICE.id,),
        )
    if unbalance > 10 * u + _SLACK:
        notes.finding(
            "check" if over else "note",
            "machine_suspected",
            f"The currents are {unbalance:.2%} uneven, more than ten times the voltages' {u:.2%}.",
            why="That much does not come from the supply: look at the machine.",
            resolve=ROLL_ACTION,
            field="/line_currents",
            references=(COMMON_PRACTICE.id,),
        )
        if over:
            actions.append(ROLL_ACTION)
    return unbalance


def judge_ground_and_load(given: "SupplyQualityGiven", notes: Notes, actions: list[str]) -> None:
    """Voltages to ground, and readings without load."""
    ground = given.line_to_ground_voltages
    if not isinstance(ground, UnsetType):
        values = (ground.a.value, ground.b.value, ground.c.value)
        mean = sum(values) / 3
        if mean <= 0 or (max(values) - min(values)) > 0.10 * mean + _SLACK:
            notes.check(
                "line_to_ground_uneven",
                f"To ground the lines read {', '.join(f'{v:g}' for v in values)} V.",
                why="A grounded leg, a high leg, a lost neutral or a ground fault shows like this.",
                resolve="Find out how the source is grounded before anything starts.",
                field="/line_to_ground_voltages",
                references=(COMMON_PRACTICE.id,),
            )
            actions.append("Find out how the source is grounded, and look for a ground fault or a lost neutral.")
    if not given.loaded:
        notes.check(
            "unloaded_readings",
            "The voltages were read without load.",
            why="Drop and unbalance show only under load; without load a service should keep within 3 % unbalance.",
            resolve="Read again with the machine loaded.",
            field="/loaded",
            references=(ANSI_C84_1.id,),
        )
