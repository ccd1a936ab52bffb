"""Cautions of the crew sheet, each at the step at which it hurts, and what to do if something goes wrong.

They shorten the cautions that the calculators give; the plan has those in full. Common practice, no source.
"""

PLACED = {
    "crane": "Nobody under or beside the load. The crane's chart rules.",
    "fork_truck": "Nobody under or beside the load. The truck's plate rules; forks low, seat belt on.",
    "stays_on_trailer": "Nobody behind the vehicle. Brakes on, wheels chocked before it is unhitched.",
}
AT_STEP = {
    "lock_source": "A stop button or control switch isolates nothing. Own lock, own key.",
    "prove_dead": "Try the tester on a live source, measure, try it again.",
    "lay_cables": "A coil under load overheats: surplus in long loops, out of water.",
    "connect_ground": "Lines first, and a fault makes the frame live.",
    "connect_lines": "Never plug or pull a single-pole connector live.",
    "inspect_and_unlock": "Nobody takes off another's lock.",
    "start_generator": "Exhaust kills: away from doors and air intakes.",
    "check_phase_and_voltage": "Rotation wrong: open, lock, prove dead, then swap two lines at the source.",
    "control_switch_on": "Fans start without warning. Any break of the supply starts the oil heat anew.",
    "connect_hoses": "A charged hose is a loaded spring: levers pinned, restraints on, nobody in line with a coupling.",
    "fill_loop": "Gauge in sight, relief valve in place; never test with compressed air. Open nothing under pressure.",
    "charge_antifreeze": "Slippery; catch what spills, nothing into the ground or a drain.",
    "prove_flow": "No flow, no start: an evaporator that freezes is lost.",
    "cold_water": "Out must be colder than in: with the hoses swapped, flow switch and freeze guard see nothing.",
}
"""With that of the placing at most 15, so that each is read."""
HOSE_BURSTS = "Hose bursts"
CATCH = " Catch the glycol."
IF_THIS_HAPPENS = (
    (
        HOSE_BURSTS,
        (
            "Get away from it. Stop compressors, then pump, at the machine. Shut supply and return. Let the pressure off and "
            "prove at an open vent that none is left. Keep off wet leads."
        ),
    ),
    (
        "Flow lost",
        (
            "Stop the compressors first, at the machine and not at the leads; see them stand. Then look for the cause: trip, "
            "valve, strainer, air. Look for ice before liquid is driven through. Prove the flow anew."
        ),
    ),
    ("Trip", "Write down what tripped, when, and the last readings. Find the cause before any reset."),
    (
        "Power lost, and back",
        "The oil heat starts anew, in full. Read the phase sequence again, prove the flow, then ask again whether it may start.",
    ),
)
