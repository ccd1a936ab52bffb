"""Hazards of work on and beside a chiller, and the usual care. Shared by the family."""

from coldwright.contract import Caution

LOCAL_RULES = Caution(
    code="local_rules_prevail",
    hazard="general",
    statement="Local codes, the permits of the site, the machine's own data and licensed practice come before this "
    "answer. It rests on figures that people and gauges gave, and those can be wrong.",
)
REFRIGERANT_RELEASE = Caution(
    code="refrigerant_release",
    hazard="refrigerant",
    statement="Refrigerant that escapes drives out the air and freezes skin and eyes. Only a certified technician "
    "opens, gauges or charges the circuit; never vent it; keep the place ventilated; leave when the alarm sounds.",
    references=("cfr_40_82_f", "cfr_40_84_c", "eu_2024_573", "ashrae_15"),
)
RELIEF_DISCHARGE = Caution(
    code="relief_discharge",
    hazard="pressure",
    statement="A relief device can blow without warning. Let nobody stay at its outlet, nor any window or fresh-air inlet be near, "
    "and never cap it or shut a valve in front of it.",
    references=("ashrae_15", "asme_bpvc_viii"),
)
FANS_START = Caution(
    code="fans_start_unannounced",
    hazard="rotating",
    statement="Condenser fans start by themselves. Leave the guards on, and lock the supply out before reaching in.",
    references=("osha_1910_147_lockout", "osha_1910_212"),
)
HOT_AND_COLD_LINES = Caution(
    code="hot_and_cold_lines",
    hazard="thermal",
    statement="The discharge line often runs at 80 to 110 degC (176 to 230 degF) and the suction line can freeze skin. "
    "Use insulated probes and no bare hands.",
    references=("refrigeration_practice",),
)
FREEZE_UP = Caution(
    code="evaporator_freeze_up",
    hazard="pressure",
    statement="An evaporator that freezes bursts and lets water into the refrigerant circuit. Prove the flow before "
    "any compressor runs, and never bypass the freeze protection.",
    references=("refrigeration_practice",),
)
LIVE_PARTS = Caution(
    code="live_parts_and_restart",
    hazard="electrical",
    statement="Panels hold live parts, and a machine may start again when power returns. A licensed electrician opens, "
    "locks out, tags and proves dead before work.",
    references=("nfpa_70e_work_practice", "osha_1910_147_lockout"),
)
FLAMMABLE_REFRIGERANT = Caution(
    code="flammable_refrigerant",
    hazard="refrigerant",
    statement="The refrigerant burns (safety group A2L or higher). No flame, smoking or other source of ignition near "
    "it; tools and detector must be made for flammable refrigerants.",
    references=("ashrae_15", "ashrae_34", "iec_60335_2_40"),
)
WET_FLOOR = Caution(
    code="condensate_drips",
    hazard="electrical",
    statement="Water that settles on cold hose and vessels makes floors slippery and runs into connectors below. Route hose "
    "clear of cable and panels, and mark wet floors.",
    references=("refrigeration_practice",),
)
HOT_ROOM = Caution(
    code="hot_room",
    hazard="thermal",
    statement="A room in which machines give off their heat can become too hot to work in within minutes when its fans stop. "
    "Nobody works alone in it, and fans and machines are stopped together.",
    references=("refrigeration_practice",),
)
PLANNING = (LOCAL_RULES, FREEZE_UP)
"""For answers that plan a hire: nobody opens a machine on their strength."""
AT_THE_MACHINE = (
    LOCAL_RULES,
    REFRIGERANT_RELEASE,
    RELIEF_DISCHARGE,
    FANS_START,
    HOT_AND_COLD_LINES,
    FREEZE_UP,
    LIVE_PARTS,
)
"""For answers that someone acts on beside a running machine."""
