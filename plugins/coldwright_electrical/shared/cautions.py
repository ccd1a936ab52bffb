"""Cautions that every electrical answer carries."""

from functools import cache
from typing import Final

from coldwright.contract import Caution
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import caution_in_words_of
from coldwright_electrical.shared.references import (
    COMMON_PRACTICE,
    EN_50110_1,
    IEC_60364_4_41_RCD,
    IEC_61482_2,
    NEC_590,
    NEC_CONNECTORS,
    NEC_SEPARATE_SOURCE,
    NFPA_70E,
    OSHA_1910_147,
    OSHA_1910_333,
    OSHA_1926_404,
    OSHA_FUEL_AND_EXHAUST,
)

QUALIFIED_ONLY = Caution(
    code="qualified_only",
    hazard="electrical",
    statement="Only people trained and authorised for work at this voltage may connect, test or disconnect.",
    references=(OSHA_1910_333.id, EN_50110_1.id),
)

LOCK_AND_TAG = Caution(
    code="lock_and_tag",
    hazard="electrical",
    statement="Open and lock every source that can feed the work: utility, generator, starting batteries. Hang a tag, "
    "let stored energy go, then try to start before anyone touches a conductor.",
    references=(OSHA_1910_147.id, OSHA_1910_333.id, EN_50110_1.id),
)

PROVE_DEAD = Caution(
    code="prove_dead",
    hazard="electrical",
    statement="Measure between all lines and from each line to {earth} with an instrument rated for the circuit, and "
    "try that instrument on a live source before and after. A stop button, control switch or interlock isolates "
    "nothing.",
    references=(OSHA_1910_333.id, NFPA_70E.id),
)

PPE_ASSESSMENT = Caution(
    code="ppe_assessment",
    hazard="electrical",
    statement="Have shock and arc flash assessed for this very point of the system: that, not the voltage alone, sets "
    "distances and clothing. As a first boundary keep others 1.07 m (42 in) away from exposed fixed parts at 151 to "
    "750 V.",
    references=(NFPA_70E.id, IEC_61482_2.id),
)

GROUND_FIRST = Caution(
    code="ground_first",
    hazard="electrical",
    statement="With everything dead, connect the {protective_conductor} first, then the neutral, then the lines; "
    "disconnect in the opposite order, {protective_conductor} last.",
    references=(NEC_CONNECTORS.id,),
)

NO_MAKE_BREAK_LIVE = Caution(
    code="no_make_break_live",
    hazard="electrical",
    statement="Never join or part single-pole connectors that are live or carry load: they are not switches.",
    references=(NEC_CONNECTORS.id, COMMON_PRACTICE.id),
)

CABLE_ROUTE = Caution(
    code="cable_route",
    hazard="electrical",
    statement="Cover cables where people or vehicles cross, keep them out of doorways, away from sharp pressure and "
    "standing water, and relieve connectors of pull. Lay surplus out in long loops: a coil or drum under load "
    "overheats.",
    references=(NEC_590.id, OSHA_1926_404.id, COMMON_PRACTICE.id),
)

PERSONNEL_PROTECTION: Final[dict[Practice, Caution]] = {
    "nec": Caution(
        code="personnel_protection",
        hazard="electrical",
        statement="Outlets of up to 30 A, 120 V for hand tools on site need a ground-fault circuit interrupter.",
        references=(OSHA_1926_404.id, NEC_590.id),
    ),
    "iec": Caution(
        code="personnel_protection",
        hazard="electrical",
        statement="Outlets up to 32 A for hand tools on site need a residual-current device of at most 30 mA.",
        references=(IEC_60364_4_41_RCD.id,),
    ),
}

GENERATOR_BONDING = Caution(
    code="generator_bonding",
    hazard="electrical",
    statement="If a generator feeds the load: where the transfer switch also switches the neutral, bond the neutral "
    "and the {earth_electrode} at the set; where the neutral runs through, make no bond at the set. Never feed back "
    "into a building without transfer equipment. Other rules hold for portable and vehicle-mounted sets.",
    references=(NEC_SEPARATE_SOURCE.id,),
)

EXHAUST_AND_FUEL = Caution(
    code="exhaust_and_fuel",
    hazard="environment",
    statement="Engine exhaust holds carbon monoxide, which kills without warning: lead it away from doors, air "
    "intakes, pits and closed yards. Stop the set and let it cool before filling the tank; keep the tank in a bund "
    "and an extinguisher at hand.",
    references=(OSHA_FUEL_AND_EXHAUST.id, COMMON_PRACTICE.id),
)

WET_WEATHER = Caution(
    code="wet_weather",
    hazard="electrical",
    statement="Do not join connectors in rain or spray without cover over them; look at the contacts and dry them "
    "first.",
    references=(COMMON_PRACTICE.id,),
)

LOCAL_PREVAILS = Caution(
    code="local_prevails",
    hazard="general",
    statement="A planning aid, not a permit: the adopted edition of the code with its local amendments, the utility, "
    "the authority on site and the licensed electrician prevail. Data come from people and gauges and may be wrong.",
)


@cache
def family(practice: Practice) -> tuple[Caution, ...]:
    """Carried by every calculator of the family, in the words of the practice: `notes.caution(*family(practice))`."""
    cautions = (
        QUALIFIED_ONLY,
        LOCK_AND_TAG,
        PROVE_DEAD,
        PPE_ASSESSMENT,
        GROUND_FIRST,
        NO_MAKE_BREAK_LIVE,
        CABLE_ROUTE,
        PERSONNEL_PROTECTION[practice],
        GENERATOR_BONDING,
        WET_WEATHER,
        LOCAL_PREVAILS,
    )
    return tuple(caution_in_words_of(practice, caution) for caution in cautions)


@cache
def with_generator(practice: Practice) -> tuple[Caution, ...]:
    """The same with exhaust and fuel, where an engine is part of the question."""
    *most, local_prevails = family(practice)
    return (*most, EXHAUST_AND_FUEL, local_prevails)
