"""Findings that a plan can have of its own."""

from coldwright.contract import finding

FINDINGS = (
    finding("part_failed", "check", "A plugin that joins the plan did not answer, or refused what it was asked."),
    finding("no_machine_suits", "stop", "No type of the fleet can be used here."),
    finding("every_plan_stops", "note", "Other combinations were tried, and cannot be carried out either."),
    finding("first_choice_passed_over", "note", "The best combination cannot be carried out; this is the next one."),
    finding("plan_does_not_settle", "stop", "The rounds of the plan do not agree with each other."),
    finding("outside_a_method", "stop", "A calculator refuses what this plan asks it."),
    finding("antifreeze_needed", "stop", "Plain water, or too weak a mixture, is ordered where it would freeze."),
    finding("frost_not_known", "check", "Plain water outdoors, and how cold it gets is not given."),
    finding("evaporator_flow_high", "stop", "More flow than an evaporator takes."),
    finding("stock_short", "stop", "The stock has too few of something."),
    finding("not_all_priced", "note", "Something that the plan takes has no price, and is not in its total."),
    finding("least_cost_not_proved", "note", "Not every combination was worked out that could cost less."),
    finding("not_in_fleet", "check", "Something is needed that the fleet document does not name."),
    finding("thin_headroom", "check", "A limit is broken, or nearer than 5 %, 0.5 K or 0.5 dB."),
    finding("capacity_estimated", "check", "A capacity is estimated, not read from a table."),
    finding("open_questions_decide", "check", "An open question could turn the outcome."),
    finding("turndown_not_kept", "check", "No machine turns down to the least load."),
    finding("flow_rule_not_kept", "check", "The design flow does not suit the evaporators."),
    finding("mixed_machines", "check", "Machines of unlike types share the loop."),
    finding(
        "pump_head_short",
        "stop",
        "A pump aboard, of machines of unlike types, does not give the head that the loop needs.",
    ),
    finding(
        "pump_head_not_known",
        "check",
        "No pump is given of a machine that shares the loop with others of unlike types.",
    ),
    finding("head_throttled", "check", "Valves take away 0.4 or more of the head of a pump of unlike machines."),
    finding("buffer_added", "note", "Buffer vessels make up the volume that the machine's control needs."),
    finding(
        "relief_would_lift", ("check", "note"), "With the pump on the loop rises above the relief valves' setting."
    ),
    finding("site_pump_needed", "check", "The site's pump must move the liquid."),
    finding("set_below_plates", "stop", "No set carries what the machines run on by their plates."),
    finding("primary_supply_short", "stop", "The site cannot feed the transformer."),
    finding(
        "primary_device_needed", "check", "The transformer needs a smaller device before it than the site's breaker."
    ),
    finding(
        "residual_current_device_needed",
        "check",
        "A breaker alone does not clear an earth fault at its machine: a residual-current device comes along.",
    ),
    finding("panel_behind_larger_breaker", "check", "A panel hangs behind a breaker above its rating."),
    finding("set_breaker_to_be_set", "check", "The breaker of the set alone protects a cable, and must be set for it."),
    finding("panel_not_known", "check", "The fleet does not give what a distribution panel carries."),
    finding("glycol_goes_back", "note", "What becomes of the mixture at the end of the hire."),
    finding("stop_in_frost", "note", "How the loop stands stopped in frost."),
    finding("loop_above_entering", "check", "The standing loop is warmer than a machine takes."),
    finding("return_above_entering", "check", "In service the liquid comes back warmer than a machine takes."),
    finding("light_load", "check", "The generating set runs too lightly loaded without a load bank."),
    finding("refuelling_rota", "check", "The set must be refuelled while it runs, at night too."),
    finding("transformer_between", "check", "The machines need another voltage than the supply has."),
    finding("us_rules_taken", "note", "An order under IEC practice, with distances by rules of the US."),
    finding("refrigerant_not_compared", "check", "A charge indoors whose refrigerant has no limit in the table."),
    finding("fork_truck_not_known", "note", "What a fork truck must lift, where its plate is not given."),
    finding("access_not_used", "note", "Data of a crane or fork truck that does not lift here."),
    finding("no_fork_pockets", "check", "A fork truck is to lift a machine that has no fork pockets."),
    finding("rigging_not_given", "note", "What hangs between hook and machine is not counted."),
    finding("for_the_crane_company", "note", "What a crane must lift, where its chart is not given."),
    finding(
        "sound_not_told",
        "check",
        "Sound is limited, and the sound power of a machine or of the generating set is not given.",
    ),
)
