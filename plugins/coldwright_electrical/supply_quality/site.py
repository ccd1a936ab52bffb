"""Who read the meter, whether machine and system match, grounding and load."""

from typing import Final

from msgspec import UnsetType

from coldwright.contract import Caution, Notes, say
from coldwright.contract.quantities import Voltage
from coldwright_basis.compare import above, between
from coldwright_basis.trade_words import in_words_of, word
from coldwright_electrical.shared.references import COMMON_PRACTICE, NEMA_MG_1
from coldwright_electrical.supply_quality.given import SupplyQualityGiven
from coldwright_electrical.supply_quality.symmetry import ANSI_C84_1

ROTATING_PARTS: Final = Caution(
    code="rotating_parts",
    hazard="rotating",
    statement="Fans and pumps start without warning once the supply is live, and may turn backwards: keep guards on and "
    "hands away, and never start a compressor to see which way it turns.",
    references=(COMMON_PRACTICE.id,),
)


def judge_people_and_plate(given: SupplyQualityGiven, notes: Notes, actions: list[str], nameplate: float) -> None:
    """Who read the meter, and whether the machine belongs on this system."""
    if not given.measured_by_qualified_person:
        notes.stop(
            "not_qualified",
            "The readings were not taken by a person qualified for this voltage.",
            why="Reading a live supply can kill, and only a qualified reading counts as proof.",
            resolve="Have a qualified person read again.",
            field="/measured_by_qualified_person",
        )
        actions.append("Have a person qualified for this voltage take all readings again.")
    nominal = given.nominal_voltage.value
    ratio = nameplate / nominal
    if not between(0.9, ratio, 1.1) or above(1 / ratio, 1.1):
        far = not between(0.85, ratio, 1.15)
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
            say(
                "A plate of {nameplate:g} on a {nominal:g} system is normal: motors are marked below the system.",
                nameplate=Voltage.of(nameplate, "V"),
                nominal=Voltage.of(nominal, "V"),
            ),
        )
    if given.supply_state != "live":
        notes.note("supply_isolated", "The supply is isolated, locked and tagged: nothing can start until it is live.")


def judge_ground_and_load(given: SupplyQualityGiven, notes: Notes, actions: list[str]) -> None:
    """Voltages to ground, and readings without load."""
    ground = given.line_to_ground_voltages
    if not isinstance(ground, UnsetType):
        values = (ground.a.value, ground.b.value, ground.c.value)
        mean = sum(values) / 3
        if mean <= 0 or above(max(values) - min(values), 0.10 * mean):
            notes.check(
                "line_to_ground_uneven",
                say(
                    "To {earth} the lines read {voltages}.",
                    earth=word("earth", given.practice),
                    voltages=[Voltage.of(v, "V") for v in values],
                ),
                why=in_words_of(
                    given.practice, "One {earthed} leg, a high leg, a lost neutral or {earth_fault}s show like this."
                ),
                resolve=in_words_of(given.practice, "Find out how the source is {earthed} before anything starts."),
                field="/line_to_ground_voltages",
                references=(COMMON_PRACTICE.id,),
            )
            actions.append("Find out how the source is {earthed}, and look for {earth_fault}s or a lost neutral.")
    if not given.loaded:
        notes.check(
            "unloaded_readings",
            "The voltages were read without load.",
            why="Drop and unbalance show only under load; without load a service should keep within 3 % unbalance.",
            resolve="Read again with the machine loaded.",
            field="/loaded",
            references=(ANSI_C84_1.id,),
        )
