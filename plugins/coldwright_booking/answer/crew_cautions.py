"""Cautions of the crew sheet, each at the step at which it hurts, and what to do if something goes wrong.

They shorten the cautions that the calculators give; the plan has those in full. Common practice, no source.
"""

from coldwright.contract.language import marked as _

PLACED = {
    "crane": _("Nobody under or beside the load. The crane's chart rules."),
    "fork_truck": _("Nobody under or beside the load. The truck's plate rules; forks low, seat belt on."),
    "stays_on_trailer": _("Nobody behind the vehicle. Brakes on, wheels chocked before it is unhitched."),
}
AT_STEP = {
    "lock_source": _(
        "A stop button or control switch isolates nothing. Own lock, own key. Generating set: automatic start off, battery "
        "switch open."
    ),
    "prove_dead": _("Try the tester on a live source, measure, try it again."),
    "lay_cables": _("A coil under load overheats: surplus in long loops, out of water."),
    "connect_ground": _("Lines first, and a fault makes the frame live."),
    "connect_lines": _("Never plug or pull a single-pole connector live."),
    "inspect_and_unlock": _("Nobody takes off another's lock."),
    "start_generator": _("Exhaust kills: away from doors and air intakes."),
    "check_phase_and_voltage": _("Rotation wrong: open, lock, prove dead, then swap two lines at the source."),
    "control_switch_on": _(
        "Before it: machine's own stop in, compressors and pump disabled, nobody at its couplings. Only the oil heaters may "
        "run; fans start without warning. Any break of the supply starts the oil heat anew."
    ),
    "connect_hoses": _(
        "A charged hose is a loaded spring: levers pinned, restraints on, nobody in line with a coupling."
    ),
    "fill_loop": _(
        "Gauge in sight, relief valve in place; never test with compressed air. Open nothing under pressure."
    ),
    "charge_antifreeze": _("Slippery; catch what spills, nothing into the ground or a drain."),
    "prove_flow": _("No flow, no start: an evaporator that freezes is lost."),
    "cold_water": _("Out must be colder than in: with the hoses swapped, flow switch and freeze guard see nothing."),
}
"""With that of the placing at most 15, so that each is read."""
OF_THE_MIX = _("With the mix from the tank only, never from the tap.")
"""At the fill of a loop with glycol: tap water thins it, and an evaporator that is thinned enough freezes."""
HOSE_BURSTS = _("Hose bursts")
CATCH = _("Catch the glycol.")
IF_THIS_HAPPENS = (
    (
        HOSE_BURSTS,
        _(
            "Get away from it. Stop compressors, then pump, at the machine. Shut supply and return. Let the pressure off and "
            "prove at an open vent that none is left. Keep off wet leads."
        ),
    ),
    (
        _("Flow lost"),
        _(
            "Stop the compressors first, at the machine and not at the leads; see that they have stopped. Then look for the cause: "
            "trip, valve, strainer, air. Look for ice before liquid is driven through. Prove the flow anew."
        ),
    ),
    (
        _("Trip"),
        _("Write down what tripped, when, and the last readings. Find the cause before any reset."),
    ),
    (
        _("Power lost, and back"),
        _(
            "The oil heat starts anew, in full. Read the phase sequence again, prove the flow, then open the start page: it "
            "must say READY."
        ),
    ),
)
