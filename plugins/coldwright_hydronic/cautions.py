"""Hazards of hired chilled-water loops, and the usual care. Shared by the family."""

from coldwright.contract import Caution

HOSE_UNDER_PRESSURE = Caution(
    code="hose_under_pressure",
    hazard="pressure",
    statement="A charged hose holds energy: when it bursts or a coupling lets go, it and its end whip. Fit a whip "
    "check at every coupling and at the machine's and the building's connections, keep people out of line with "
    "couplings, and watch the first rise to working pressure from a distance.",
    references=("osha_1910_147_stored_energy", "hydronic_practice"),
)
NO_AIR_TEST = Caution(
    code="no_air_test",
    hazard="pressure",
    statement="Compressed air shut into a hose or a machine stores many times the energy of water at the same "
    "pressure. Test for leaks with water only, and let all air out before the pressure is raised.",
    references=("asme_b31_9", "hydronic_practice"),
)
NEVER_LOOSEN_UNDER_PRESSURE = Caution(
    code="never_loosen_under_pressure",
    hazard="pressure",
    statement="Never lift a lever or slacken a clamp or band under pressure. Stop the pump, shut both valves, "
    "relieve, and prove zero pressure by an open vent: a gauge can sit behind a shut valve.",
    references=("osha_1910_147_stored_energy", "hydronic_practice"),
)
GASKET_AND_LEVERS = Caution(
    code="gasket_and_levers",
    hazard="pressure",
    statement="Cam-and-groove couplings: see that the gasket is there, clean, of the right material and seated, "
    "that both levers are fully closed and pinned or tied, and that nothing pulls sideways on the coupling.",
    references=("cid_a_a_59326", "en_14420_7", "hydronic_practice"),
)
NO_STRAIN = Caution(
    code="no_strain",
    hazard="pressure",
    statement="A full bore of 101.6 mm (4 in) at 345 kPa (50 psi) pushes its end off with 2,797 N (629 lbf). "
    "Anchor, block or strap elbows and risers, keep to the least bend radius, leave slack because hose shortens and"
    " snakes, and never hang a vertical hose by its coupling.",
    references=("hydronic_first_principles", "hydronic_practice"),
)
FLOW_DIRECTION = Caution(
    code="flow_direction",
    hazard="general",
    statement="With supply and return crossed, the evaporator runs backwards and its flow switch and freeze "
    "thermostat are blind. Mark both hoses, and see that the temperature across the machine has the right sign "
    "before loading it.",
    references=("hydronic_practice",),
)
TRIP_AND_TRAFFIC = Caution(
    code="trip_and_traffic",
    hazard="general",
    statement="Put ramps where people or vehicles cross, never drive over charged lay-flat hose, and expect "
    "slippery ground where water, ice or glycol was spilt.",
    references=("hydronic_practice",),
)
ETHYLENE_TOXIC = Caution(
    code="ethylene_toxic",
    hazard="chemical",
    statement="Ethylene glycol tastes sweet and poisons: one published estimate of the deadly dose is 1,570 mg for "
    "each kg of body. Keep it from drinking water, children, animals and food plants. Propylene glycol is much less"
    " toxic; the inhibitors in it need not be.",
    references=("health_canada_ethylene_glycol", "atsdr_case_study_30"),
)
POTABLE_BACKFLOW = Caution(
    code="potable_backflow",
    hazard="chemical",
    statement="Fill only through the backflow protection that the local code asks for, and take the fill hose off "
    "when the loop is full.",
    references=("ipc_608_17_2", "irc_2018_p2902"),
)
DISCHARGE_PERMIT = Caution(
    code="discharge_permit",
    hazard="environment",
    statement="No glycol, treatment chemical or dirty water to a storm drain or the ground; to a sanitary sewer "
    "only with the consent of the treatment works. Local rules prevail.",
    references=("cfr_40_122", "cfr_40_403_5"),
)
EVAPORATOR_FREEZE = Caution(
    code="evaporator_freeze",
    hazard="general",
    statement="An evaporator that freezes lets water into the refrigerant and wrecks the machine. Never run without"
    " proven flow, never bypass its freeze protection, and never leave plain water in it below 0 degC.",
    references=("hydronic_practice",),
)
WATER_QUALITY = Caution(
    code="water_quality",
    hazard="chemical",
    statement="For a long stay: a strainer before the evaporator (about 20 mesh, or finer as its maker asks), site "
    "pipe flushed first, inhibitor and biocide, samples. Legionella grows fastest at about 25 to 45 degC, where a "
    "stagnant hose in the sun can be: make no spray or mist when draining it.",
    references=("who_legionella", "ashrae_188", "hydronic_practice"),
)
LOCAL_CODE = Caution(
    code="local_code",
    hazard="general",
    statement="Local plumbing, pressure, environmental and workplace codes, the permits of the site and licensed "
    "practice come before every figure here. The figures rest on what people and gauges gave, and that can be "
    "wrong.",
)
