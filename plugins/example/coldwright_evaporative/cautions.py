"""Hazards of wetting the air of a condenser, and the usual care."""

from coldwright.contract import Caution

LEGIONELLA = Caution(
    code="legionella",
    hazard="environment",
    statement="Warm water that becomes droplets can spread Legionella to whoever breathes near: take part in the site's "
    "water safety plan before the water is turned on, treat or dump the water, clean and disinfect before each hire and "
    "after each standstill, and keep people, air intakes and open windows out of the air that leaves.",
    references=("evaporative_water_safety", "evaporative_legionella"),
)
WATER_NEAR_POWER = Caution(
    code="water_near_power",
    hazard="electrical",
    statement="Water is led to a live machine: keep spray, leaks and hoses off control boxes, connectors and cables, and "
    "isolate the machine before anybody works in front of the coil.",
    references=("evaporative_practice",),
)
TREATMENT_CHEMICALS = Caution(
    code="treatment_chemicals",
    hazard="chemical",
    statement="Biocides and descalers burn skin and eyes, and blowdown carries them: read their safety data sheets, wear "
    "what they ask for, and ask whoever owns the drain before anything is led to it.",
    references=("evaporative_practice",),
)
RULES_PREVAIL = Caution(
    code="rules_prevail",
    hazard="general",
    statement="An estimate for planning: local codes, the site's permits, the owner of the machine and licensed trades "
    "prevail. Data come from people and gauges and may be wrong.",
)
