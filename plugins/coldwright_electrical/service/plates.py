"""Whether a machine is made for the system of the site: the voltage and the frequency of its plate."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Voltage
from coldwright_basis.compare import between
from coldwright_electrical.service.given import ServiceGiven
from coldwright_electrical.shared import references as ref


def judge_plate(given: ServiceGiven, index: int, notes: Notes) -> list[str]:
    """Whether a machine is made for the voltage and frequency of the site; a sentence for each that it is not made for."""
    misfits: list[str] = []
    machine = given.machines[index]
    frequency = machine.nameplate_frequency
    if frequency is not UNSET and frequency.value != given.frequency.value:
        other_frequency = say(
            "{machine_id} is made for {frequency}, the system has {given_frequency}.",
            machine_id=repr(machine.machine_id),
            frequency=frequency,
            given_frequency=given.frequency,
        )
        misfits.append(other_frequency.text())
        notes.stop(
            "nameplate_frequency_mismatch",
            other_frequency,
            why="Speed, current and cooling of motors change with the frequency.",
            resolve="Send a machine for this frequency.",
            field=f"/machines/{index}/nameplate_frequency",
            references=(ref.NEMA_MG_1.id,),
        )
    if machine.nameplate_voltage is UNSET:
        return misfits
    plate, system = machine.nameplate_voltage.to("V"), given.system_voltage.to("V")
    ratio = plate / system
    # MG 1 limits the voltage at the motor to 1.10 of its plate, so 1/1.10 binds before 0.9
    if between(1 / 1.1, ratio, 1.1):
        return misfits
    far = "" if 0.85 <= ratio <= 1.15 else " It needs a transformer: see `electrical.transformer`."
    other_voltage = say(
        "{machine_id} is made for {plate:g}, the system has {system:g}: {ratio:.3f} of it.{far}",
        machine_id=repr(machine.machine_id),
        plate=Voltage.of(plate, "V"),
        system=Voltage.of(system, "V"),
        ratio=ratio,
        far=far,
    )
    misfits.append(other_voltage.text())
    notes.stop(
        "nameplate_voltage_mismatch",
        other_voltage,
        why="Motors hold within 10 % of their plate.",
        resolve="Send a machine for this voltage, or a transformer.",
        field=f"/machines/{index}/nameplate_voltage",
        references=(ref.NEMA_MG_1.id,),
    )
    return misfits
