"""What a person should know of a service."""

from collections.abc import Sequence
from typing import Final

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import Current
from coldwright_basis.compare import at_least
from coldwright_electrical.service.circuits import HIGH_FACTOR, Circuit, Duty
from coldwright_electrical.service.given import ServiceGiven
from coldwright_electrical.service.plates import judge_plate
from coldwright_electrical.service.reading import MOTOR_FULL_LOAD_CURRENT
from coldwright_electrical.service.safety_switches import GREATEST_FRAME, SAFETY_SWITCH_FRAMES
from coldwright_electrical.shared import cautions
from coldwright_electrical.shared import references as ref
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL, unusual_frequency

FINDINGS: Final = (
    finding("breaker_above_maximum", "stop", "The breaker offered is larger than the greatest device allowed."),
    finding("breaker_below_smallest", "stop", "The breaker offered is smaller than the circuit's ampacity asks for."),
    finding("supply_short", "stop", "The supply has less current to spare than the circuit's ampacity."),
    finding("nameplate_voltage_mismatch", "stop", "The machine is not made for this voltage."),
    finding("nameplate_frequency_mismatch", "stop", "The machine is not made for this frequency."),
    finding(
        "overcurrent_factor_unusable",
        "check",
        "At the chosen factor the greatest standard device is below the smallest that carries the load.",
    ),
    finding(
        "no_standard_device_between", "check", "No standard rating lies between the plate's ampacity and its device."
    ),
    finding("starting_factor_needs_reason", "check", "The factor 2.25 is meant for motors that do not start on 1.75."),
    finding("fuse_only_plate", "check", "The plate names fuses only and a breaker is offered."),
    finding("plate_differs_from_calculated", "check", "Plate and calculation differ by more than 10 %."),
    finding("breaker_near_running_current", "check", "Running current above 80 % of a breaker not rated for 100 %."),
    finding("breaker_loading_not_tested", "note", "The running current is not known, so the 80 % test is left out."),
    finding(
        "ground_fault_protection", "check", "Devices of 1000 A and more need ground-fault protection of equipment."
    ),
    finding("arc_energy_reduction", "check", "Devices of 1200 A and more need a means to reduce arc energy."),
    finding(
        "slash_rated_breaker", "check", "A supply other than solidly grounded wye and breakers with a slash rating."
    ),
    finding("maximum_device_unknown", "check", "The greatest overcurrent device is not known: ask the maker."),
    finding("above_standard_ratings", "check", "No standard rating is large enough."),
    finding(
        "feeder_device_by_conductors", "note", "The feeder's breaker follows conductors larger than the load asks."
    ),
    finding("bounds_from_plates", "note", "The group is bounded from data plates, not added up from motors."),
    finding("other_loads_in_plate", "note", "Other loads of a machine known by its plate are taken as in the plate."),
    finding("rated_current_not_used", "note", "The rated current of an IEC plate is not used under nec."),
    finding("own_branch_device", "note", "Each machine needs its own branch device and disconnect."),
    finding("disconnect_at_machine", "note", "What the disconnect must be, beside its current rating."),
    finding("heaters_stay_live", "note", "The circuit stays live when the compressors are off."),
    finding(FREQUENCY_UNUSUAL, "check", "50 Hz under nec or 60 Hz under iec."),
)


PLATE_TOLERANCE: Final = 0.10

GROUND_FAULT_FROM: Final = 1000.0

ARC_ENERGY_FROM: Final = 1200.0


def judge_service(
    given: ServiceGiven, duties: Sequence[Duty], circuits: Sequence[Circuit], feeder: Circuit, notes: Notes
) -> tuple[str, ...]:
    """Findings on machines and group, apart from the device and current that the site offers. Why its system is none for them."""
    notes.caution(*cautions.family(given.practice))
    if unusual := unusual_frequency(given.practice, given.frequency.value):
        notes.check(
            FREQUENCY_UNUSUAL,
            unusual,
            why="Ratings and rules of the practice are meant for its usual frequency.",
            resolve="Confirm practice and frequency with the site.",
            field="/frequency",
        )
    misfits: list[str] = []
    for index, (duty, circuit) in enumerate(zip(duties, circuits, strict=True)):
        misfits += judge_plate(given, index, notes)
        _judge_machine(given, index, duty, circuit, notes)
    units = sum([duty.quantity for duty in duties])
    if given.practice == "nec":
        _judge_nec_group(given, duties, feeder, units, notes)
    if units > 1:
        _judge_ratings(feeder, "The feeder", "/machines", notes)
        notes.note(
            "own_branch_device",
            f"{units} machines are on one feeder: each needs its own branch device and its own disconnect.",
            references=(ref.NEC_430_62.id, ref.NEC_440_12.id)
            if given.practice == "nec"
            else (ref.IEC_60364_4_43.id, ref.IEC_60204_1.id),
        )
    _state_disconnect(given, notes)
    notes.note(
        "heaters_stay_live",
        "Crankcase and freeze heaters must stay live while the compressors are off: do not switch the circuit off at "
        "night.",
        references=(ref.COMMON_PRACTICE.id,),
    )
    return tuple(misfits)


def _state_disconnect(given: ServiceGiven, notes: Notes) -> None:
    breaks = "for breaking the locked-rotor current of the largest motor with the rest running."
    if given.practice == "nec":
        text = f"The disconnect stands within sight of the machine, is readily reached, and is rated for its horsepower or {breaks}"
        sources = (ref.NEC_440_12.id,)
    else:
        text = (
            f"The machine's supply disconnecting device is readily reached, can be locked open, and is rated {breaks}"
        )
        sources = (ref.IEC_60204_1.id,)
    notes.note("disconnect_at_machine", text, references=sources)


def _judge_machine(given: ServiceGiven, index: int, duty: Duty, circuit: Circuit, notes: Notes) -> None:
    machine = given.machines[index]
    pointer = f"/machines/{index}"
    if machine.other_loads and not duty.known:
        notes.note(
            "other_loads_in_plate",
            f"The plate of {machine.machine_id!r} is taken to cover its {len(machine.other_loads)} other loads.",
            field=f"{pointer}/other_loads",
            references=(ref.NEC_440_4.id,),
        )
    if given.practice == "nec" and duty.plate_current is not None:
        notes.note(
            "rated_current_not_used",
            say(
                "The rated current of {machine_id}, {plate_current:g}, is not used under nec.",
                machine_id=repr(machine.machine_id),
                plate_current=Current.of(duty.plate_current, "A"),
            ),
            field=f"{pointer}/rated_current",
        )
    calculated = duty.calculated_ampacity() if given.practice == "nec" else duty.running
    if duty.known and circuit.source == "plate" and abs(calculated / circuit.ampacity - 1) > PLATE_TOLERANCE:
        notes.check(
            "plate_differs_from_calculated",
            say(
                "{machine_id}: the plate says {ampacity:.5g}, its motors come to {calculated:.5g}.",
                machine_id=repr(machine.machine_id),
                ampacity=Current.of(circuit.ampacity, "A"),
                calculated=Current.of(calculated, "A"),
            ),
            why="One of them was misread, or the plate covers other motors.",
            resolve="Read plate and motor list again; the plate prevails until then.",
            field=pointer,
            references=(ref.NEC_440_4.id,),
        )
    if duty.tabulated:
        notes.assume(
            "tabulated_current",
            f"{machine.machine_id!r}: where only the rated power of a motor is given, it draws the current of the table.",
            basis="standard",
            references=(MOTOR_FULL_LOAD_CURRENT.reference.id,),
        )
    if circuit.unworkable():
        _unworkable(given, circuit, machine.machine_id, duty.plate_device is not None, pointer, notes)
    if circuit.device_standard is None:
        nec = given.practice == "nec"
        notes.check(
            "maximum_device_unknown",
            f"The greatest device of {machine.machine_id!r} is not known.",
            why="It is set by the plate or worked out from the motors, within the standard ratings."
            if nec
            else "Under iec only the maker sets it.",
            resolve="Read the plate's largest fuse or breaker."
            if nec
            else "Ask the maker for the largest back-up fuse.",
            field=f"{pointer}/maximum_overcurrent_device",
            references=(ref.NEC_440_4.id if nec else ref.IEC_60364_4_43.id,),
        )
    _judge_ratings(circuit, machine.machine_id, pointer, notes)


def _judge_ratings(circuit: Circuit, who: str, pointer: str, notes: Notes) -> None:
    if circuit.smallest_workable is None:
        notes.check(
            "above_standard_ratings",
            say(
                "{who}: no standard rating reaches {ampacity:.5g}.", who=who, ampacity=Current.of(circuit.ampacity, "A")
            ),
            resolve="Split the load over several circuits.",
            field=pointer,
        )
    if circuit.disconnect is not None and circuit.disconnect_standard is None:
        notes.check(
            "above_standard_ratings",
            say(
                "{who} needs a disconnect of {disconnect:.5g}; frames end at {greatest_frame:g}.",
                who=who,
                disconnect=Current.of(circuit.disconnect, "A"),
                greatest_frame=Current.of(GREATEST_FRAME, "A"),
            ),
            resolve="Use a switch or breaker made for this current.",
            field=pointer,
            references=(SAFETY_SWITCH_FRAMES.reference.id,),
        )


def _unworkable(given: ServiceGiven, circuit: Circuit, who: str, plate: bool, pointer: str, notes: Notes) -> None:
    limits = (
        f"{who}: the greatest device is {circuit.device_standard:g} A, the smallest that carries "
        f"{circuit.ampacity:.5g} A is {circuit.smallest_workable:g} A"
    )
    if plate:
        notes.check(
            "no_standard_device_between",
            f"{limits}: no standard rating lies between.",
            resolve="Ask the maker which device to fit.",
            field=f"{pointer}/maximum_overcurrent_device",
            references=(ref.NEC_440_4.id,),
        )
        return
    high = circuit.device_high_standard
    way = f"2.25 would allow {high:g} A; else give each machine its own device." if high is not None else ""
    notes.check(
        "overcurrent_factor_unusable",
        f"{limits}: no device does both at the factor {given.overcurrent_factor:g}.",
        why="The limit is rounded down, and with several equal motors it falls below the ampacity.",
        resolve=f"{way or 'Give each machine its own device.'} Or larger conductors, which the device of a feeder may "
        "follow: `feeder_conductors` `by_device`.",
        field="/overcurrent_factor",
        references=(ref.NEC_440_22.id, ref.NEC_430_62_B.id),
    )


def _judge_nec_group(given: ServiceGiven, duties: Sequence[Duty], feeder: Circuit, units: int, notes: Notes) -> None:
    if given.overcurrent_factor == HIGH_FACTOR:
        notes.check(
            "starting_factor_needs_reason",
            "The greatest device is worked out with 2.25 times the largest compressor.",
            why="2.25 is for a motor that will not start on 1.75, or for repeating a plate.",
            resolve="Record the reason, or use 1.75.",
            field="/overcurrent_factor",
            references=(ref.NEC_440_22.id,),
        )
    if units > 1:
        if feeder.unworkable() and given.feeder_conductors == "by_load":
            _unworkable(given, feeder, "The feeder", False, "", notes)
        if not all(duty.known for duty in duties):
            notes.note(
                "bounds_from_plates",
                "Motors of some machines are not known. The ampacity takes their plate's as an upper bound, the greatest "
                "device counts their plate's ampacity divided by 1.25 as a lower one: both on the safe side.",
                field="/machines",
                references=(ref.NEC_440_4.id,),
            )
    grounding = given.supply_grounding
    if grounding is not UNSET and grounding != "solid_wye":
        notes.check(
            "slash_rated_breaker",
            f"The supply is {grounding.replace('_', ' ')}: a breaker marked with two voltages, such as 480Y/277, may not "
            "be used on it.",
            why="Each pole may have to break the full voltage between lines.",
            resolve="Look at the marking of breakers on the supply and in the machine.",
            field="/supply_grounding",
            references=(ref.NEC_240_85.id,),
        )
    elif given.system_voltage.to("V") > 260:
        offered = given.available
        device = feeder.smallest_workable
        if offered is not UNSET and offered.breaker_rating is not UNSET:
            device = offered.breaker_rating.to("A")
        _judge_large_device(device or feeder.ampacity, notes)


def _judge_large_device(device: float, notes: Notes) -> None:
    if at_least(device, GROUND_FAULT_FROM):
        notes.check(
            "ground_fault_protection",
            say(
                "A device of {device:.5g} on a solidly grounded wye above 150 V to ground needs "
                "ground-fault protection of equipment.",
                device=Current.of(device, "A"),
            ),
            resolve="Ask for a main with ground-fault protection, or split the load.",
            references=(ref.NEC_GROUND_FAULT.id,),
        )
    if at_least(device, ARC_ENERGY_FROM):
        notes.check(
            "arc_energy_reduction",
            say("A device of {device:.5g} needs a means to reduce arc energy.", device=Current.of(device, "A")),
            resolve="Ask which means the site's breaker has.",
            references=(ref.NEC_GROUND_FAULT.id,),
        )
