"""Hazards of temporary chilled-water loops, and the usual care."""

from coldwright.contract import Caution

HOSE_UNDER_PRESSURE = Caution(
    code="hose_under_pressure",
    hazard="pressure",
    statement="Treat a charged hose as a loaded spring: if it bursts or slips off its fitting, the loose "
    "end whips. Tie every joint with a hose restraint, also where hose meets machine and building, "
    "keep everyone out of line with a fitting, and watch from well back while the pressure rises "
    "for the first time.",
    references=("osha_1910_147_stored_energy", "hydronic_practice"),
)

NO_AIR_TEST = Caution(
    code="no_air_test",
    hazard="pressure",
    statement="Look for leaks with water, never with compressed air: air shut into a hose or a machine "
    "holds far more energy than water does at the same gauge reading. Bleed all air out before "
    "the pressure is raised.",
    references=("asme_b31_9", "hydronic_practice"),
)

NEVER_LOOSEN_UNDER_PRESSURE = Caution(
    code="never_loosen_under_pressure",
    hazard="pressure",
    statement="Open no lever, clamp or band while there is pressure behind it. Stop the pump, close both valves, "
    "let the pressure off, and prove at an open vent that none is left: a gauge can read zero only because a closed "
    "valve cuts it off.",
    references=("osha_1910_147_stored_energy", "hydronic_practice"),
)

GASKET_AND_LEVERS = Caution(
    code="gasket_and_levers",
    hazard="pressure",
    statement="On each cam-and-groove coupling check the gasket (present, clean, seated, of a material for "
    "this liquid), close both levers all the way and pin or tie them, and see that nothing drags "
    "the coupling to one side.",
    references=("cid_a_a_59326", "en_14420_7", "hydronic_practice"),
)

NO_STRAIN = Caution(
    code="no_strain",
    hazard="pressure",
    statement="Pressure pushes a hose off its end: 2,797 N (629 lbf) on a 101.6 mm (4 in) bore at 345 kPa "
    "(50 psi). Hold bends and risers with anchors, blocks or straps, bend no tighter than the "
    "hose allows, leave slack for its shortening and snaking, and carry a rising hose by slings, "
    "not by its coupling.",
    references=("hydronic_first_principles", "hydronic_practice"),
)

FLOW_DIRECTION = Caution(
    code="flow_direction",
    hazard="general",
    statement="Mix up supply and return, and water runs through the evaporator the wrong way: neither flow "
    "switch nor freeze thermostat then sees what it should. Label both hoses, and before any load"
    " make sure that the water comes out colder than it went in.",
    references=("hydronic_practice",),
)

TRIP_AND_TRAFFIC = Caution(
    code="trip_and_traffic",
    hazard="general",
    statement="Lay ramps where people walk or vehicles cross, keep wheels off charged lay-flat hose, and "
    "count on slippery ground wherever water, ice or glycol was spilt.",
    references=("hydronic_practice",),
)

ETHYLENE_TOXIC = Caution(
    code="ethylene_toxic",
    hazard="chemical",
    statement="Ethylene glycol tastes sweet and poisons; one published estimate puts the deadly dose at "
    "1,570 mg for each kg of body weight. Store and drain it where no child, animal, drinking "
    "water or food can come to it. Propylene glycol does far less harm, but the inhibitors mixed "
    "into it may not.",
    references=("health_canada_ethylene_glycol", "atsdr_case_study_30"),
)

POTABLE_BACKFLOW = Caution(
    code="potable_backflow",
    hazard="chemical",
    statement="Connect to drinking water only behind the backflow protection that the local code demands, "
    "and uncouple the fill hose as soon as the loop is full.",
    references=("ipc_608_17_2", "irc_2018_p2902"),
)

DISCHARGE_PERMIT = Caution(
    code="discharge_permit",
    hazard="environment",
    statement="Let neither glycol nor treatment chemicals nor dirty water run to the ground or a storm "
    "drain, nor to a sanitary sewer unless its operator has agreed. Local rules decide.",
    references=("cfr_40_122", "cfr_40_403_5"),
)

EVAPORATOR_FREEZE = Caution(
    code="evaporator_freeze",
    hazard="general",
    statement="A frozen evaporator splits, water enters the refrigerant circuit and the machine is lost. "
    "Start it only with flow that is proven, leave its freeze protection in action, and have no "
    "plain water in it when it may get colder than 0 degC (32 degF).",
    references=("hydronic_practice",),
)

WATER_QUALITY = Caution(
    code="water_quality",
    hazard="chemical",
    statement="Where the machine stays long: flush site pipe first, fit a strainer ahead of the evaporator "
    "(about 20 mesh or whatever finer one its maker wants), treat the water against rust and "
    "growth, and take samples. Legionella thrives near 25 to 45 degC (77 to 113 degF), which stagnant "
    "water in a sun-warmed hose reaches: drain without spray or mist.",
    references=("who_legionella", "ashrae_188", "hydronic_practice"),
)

LOCAL_CODE = Caution(
    code="local_code",
    hazard="general",
    statement="Codes for plumbing, pressure, environment and work at the place, the permits of the site and"
    " licensed practice come before every figure here. The figures rest on what people and gauges"
    " gave, and that can be wrong.",
)
