"""Voltage and frequency: lost phases, limits of the machine, deviation."""

from msgspec import UnsetType

from coldwright.contract import Notes, Reference, say, tidy
from coldwright.contract.quantities import Voltage
from coldwright_basis.compare import above, below
from coldwright_electrical.shared.references import COMMON_PRACTICE, IEC_60204_1, NEMA_MG_1
from coldwright_electrical.supply_quality.actions import MAKE_SAFE
from coldwright_electrical.supply_quality.given import SupplyQualityGiven
from coldwright_electrical.supply_quality.readings import Readings

IEC_60038 = Reference(
    id="iec_60038",
    title="IEC 60038, IEC standard voltages",
    edition="2009, by a public copy",
    clause="supply within 10 % of nominal",
    provenance="seen_reproduced",
)


def limits_of(given: SupplyQualityGiven, nameplate: float) -> tuple[float, float]:
    """Least and greatest voltage [V]: as given, else 0.9 and 1.1 of the nameplate."""
    low, high = given.voltage_minimum, given.voltage_maximum
    return (
        tidy(0.9 * nameplate) if isinstance(low, UnsetType) else low.value,
        tidy(1.1 * nameplate) if isinstance(high, UnsetType) else high.value,
    )


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
            say("Dead or nearly so: {low}; the mean is {mean:.4g}.", low=", ".join(low), mean=Voltage.of(mean, "V")),
            why="A three-phase motor that starts on two lines stalls and burns out.",
            resolve="Find the open fuse, pole, connector or conductor.",
            field="/line_voltages",
            references=(COMMON_PRACTICE.id,),
        )
        actions += [*MAKE_SAFE, "Find the open fuse, pole, connector or conductor, and repair it."]


def judge_voltages(
    given: SupplyQualityGiven, readings: Readings, notes: Notes, actions: list[str], limits: tuple[float, float]
) -> None:
    """The worst lines against the limits, and the mean against the nominal voltage."""
    low, high = limits
    least, greatest = min(readings.voltages), max(readings.voltages)
    if below(least, low):
        notes.stop(
            "voltage_low",
            say(
                "The lowest line reads {least:g}, {shortfall:.4g} below the least allowed, {low:g}.",
                least=Voltage.of(least, "V"),
                shortfall=Voltage.of(low - least, "V"),
                low=Voltage.of(low, "V"),
            ),
            why="Low voltage makes motors draw more, stall at start and trip.",
            resolve="Shorter or larger cable, another tap, or less load on the source.",
            field="/line_voltages",
            references=(NEMA_MG_1.id, IEC_60204_1.id),
        )
        actions.append("Raise the voltage: larger or shorter cable, another transformer tap, less load on the source.")
    if above(greatest, high):
        notes.stop(
            "voltage_high",
            say(
                "The highest line reads {greatest:g}, {excess:.4g} above the greatest allowed, {high:g}.",
                greatest=Voltage.of(greatest, "V"),
                excess=Voltage.of(greatest - high, "V"),
                high=Voltage.of(high, "V"),
            ),
            why="High voltage saturates motors and ages insulation and electronics.",
            resolve="Another tap, or the generator's voltage set lower.",
            field="/line_voltages",
            references=(NEMA_MG_1.id, IEC_60204_1.id),
        )
        actions.append("Lower the voltage: another transformer tap, or the generator's regulator.")
    off = readings.mean_voltage / given.nominal_voltage.value - 1
    if given.practice == "iec" and above(abs(off), 0.10):
        notes.check(
            "outside_nominal_tolerance",
            f"The mean is {off:+.1%} off the nominal voltage; a supply keeps within 10 %.",
            resolve="Inform the utility or the operator of the source.",
            field="/line_voltages",
            references=(IEC_60038.id,),
        )


def judge_frequency(given: SupplyQualityGiven, notes: Notes, actions: list[str], deviation: float) -> None:
    """Frequency alone, and voltage and frequency together."""
    if isinstance(given.measured_frequency, UnsetType):
        return
    off = given.measured_frequency.value / given.frequency.value - 1
    limit = 0.05 if given.practice == "nec" else 0.01
    together = abs(deviation) + abs(off)
    notes.show(
        "df", "Deviation of the frequency", f"{given.measured_frequency.value:g} / {given.frequency.value:g} - 1", off
    )
    notes.show("|dV| + |df|", "Both deviations", f"{abs(deviation):.4g} + {abs(off):.4g}", together)
    if above(abs(off), limit):
        notes.stop(
            "frequency_out",
            say(
                "{measured_frequency} is {off:+.2%} off {frequency}; {limit:.0%} is allowed.",
                measured_frequency=given.measured_frequency,
                off=off,
                frequency=given.frequency,
                limit=limit,
            ),
            why="Motors change speed and flux with frequency.",
            resolve="Have the source's frequency put right.",
            field="/measured_frequency",
            references=(NEMA_MG_1.id,) if given.practice == "nec" else (IEC_60204_1.id,),
        )
        actions.append("Have the frequency of the source put right.")
    if above(together, 0.10):
        notes.stop(
            "voltage_and_frequency_out",
            f"Voltage is {deviation:+.2%} off the plate and frequency {off:+.2%}: together above 10 %.",
            why="Each alone may pass, and the flux still be too far off.",
            resolve="Bring voltage or frequency closer.",
            field="/measured_frequency",
            references=(NEMA_MG_1.id,),
        )
        actions.append("Bring voltage and frequency closer to the plate, so that both together are within 10 %.")
