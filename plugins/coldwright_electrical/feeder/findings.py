"""What a person should know of a feeder."""

from typing import Final

from msgspec import UNSET

from coldwright.contract import Caution, Notes, finding, say
from coldwright.contract.people import count_of
from coldwright.contract.quantities import Current, Length, Voltage
from coldwright_basis.compare import above, below, whole_at_least
from coldwright_basis.trade_words import caution_in_words_of, in_words_of, word
from coldwright_basis.voltages import motor_nameplate
from coldwright_electrical.feeder.ampacity import AMPACITY_RUBBER_CABLE, rubber_ampacity
from coldwright_electrical.feeder.cable import MOST_SETS, REACTANCE_FACTOR, Terms
from coldwright_electrical.feeder.choice import (
    Choice,
    Demand,
    ampacity_ok,
    device_ok,
    parallel_ok,
    small_wire_ok,
    steps_up,
)
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.sums import Sums
from coldwright_electrical.shared import cautions
from coldwright_electrical.shared import references as ref
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL, unusual_frequency
from coldwright_electrical.shared.protection import EQUIPMENT_GROUND

FINDINGS: Final = (
    finding("ampacity_short", "stop", "The cable carries less than the least ampacity."),
    finding("device_not_protecting", "stop", "The overcurrent device does not protect the cable."),
    finding("small_wire_device", "stop", "14, 12 or 10 AWG behind a device above 15, 20 or 30 A."),
    finding("parallel_too_small", "stop", "Conductors below 1/0 AWG in parallel."),
    finding("phases_grouped", "stop", "Conductors of one phase laid together."),
    finding("voltage_too_low", "stop", "The machine is left with less than 0.9 of its nameplate voltage."),
    finding("running_drop_high", "check", "Running drop above the allowed fraction."),
    finding("starting_drop_high", "check", "Starting drop above the allowed fraction."),
    finding("connector_basis", "check", "The connectors' rating stands in for the terminations' limit."),
    finding("connector_basis_not_allowed", "check", "Asked for the connectors' rating where it cannot be used."),
    finding("ampacity_from_caller", "check", "The ampacity is the caller's own, site conditions included."),
    finding("touching_single_cores", "check", "Single cores that touch, near the limit of their table."),
    finding("spacing_assumed", "check", "The reactance of spaced conductors is a general one."),
    finding("long_run", "check", "A run above 300 m."),
    finding("device_below_load", "check", "The device is smaller than the load."),
    finding("ground_not_tabulated", "check", "The ground conductor is outside the table."),
    finding(FREQUENCY_UNUSUAL, "check", "50 Hz under nec or 60 Hz under iec."),
    finding("next_rating_up", "note", "The device is the next standard rating above the ampacity."),
    finding("motor_rule_not_applied", "note", "The rule for motor circuits is left to the electrician."),
    finding("source_drop_not_included", "note", "The drop inside the source is not known."),
    finding("ground_enlarged", "note", "The ground is enlarged with the lines."),
    finding("not_used_under_iec", "note", "Termination and connector limits are not part of the iec method."),
    finding("ramps_needed", "note", "Traffic crosses the cable."),
    finding("drop_is_advice", "note", "The 3 % of the code is advice."),
    finding("measured_run_prevails", "note", "The measured run beats the plan."),
)

EQUAL_SETS = Caution(
    code="equal_sets",
    hazard="electrical",
    statement="Parallel sets must be alike: same length, size, metal, cable and connectors, and A, B, C, neutral and "
    "{protective_conductor} of a set side by side. Otherwise one set carries more than its share and overheats.",
    references=(ref.NEC_310_10.id,),
)

STEEL_OPENINGS = Caution(
    code="steel_openings",
    hazard="thermal",
    statement="Lead all conductors of a set through one opening: single conductors through openings of their own heat "
    "the steel between them.",
    references=(ref.NEC_310_10.id,),
)

LONG_RUN: Final = 300.0


def judge(given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, sums: Sums, notes: Notes) -> bool:
    """Write the findings; returns whether the cable may be used."""
    *most, local_prevails = cautions.family(given.practice)
    notes.caution(*most)
    if choice.sets > 1:
        notes.caution(caution_in_words_of(given.practice, EQUAL_SETS))
    if given.construction == "single_conductor_portable":
        notes.caution(STEEL_OPENINGS)
    notes.caution(local_prevails)
    _judge_ampacity(demand, choice, sums, notes)
    _judge_laying(given, demand, choice, notes)
    _judge_voltage(demand, sums, notes)
    fine = notes.outcome != "unacceptable"
    _judge_drops(demand, sums, notes)
    _judge_basis(given, terms, demand, choice, notes)
    _judge_rest(given, demand, choice, sums, notes)
    _general_notes(given, demand, notes)
    return fine


def _judge_ampacity(demand: Demand, choice: Choice, sums: Sums, notes: Notes) -> None:
    cable, sets = choice.cable, choice.sets
    run, one = f"{sets} x {cable.size}", sums.deciding / sets
    if not ampacity_ok(cable, sets, demand):
        notes.stop(
            "ampacity_short",
            say(
                "{run} carries {deciding:.5g} of the {ampacity:.5g} needed.",
                run=run,
                deciding=Current.of(sums.deciding, "A"),
                ampacity=Current.of(demand.ampacity, "A"),
            ),
            why="The cable or its terminations would overheat.",
            resolve=_more_sets(choice, demand, one, demand.ampacity),
            field="/minimum_ampacity",
            references=(ref.NEC_110_14.id, ref.NEC_400_5.id) if demand.nec else (ref.IEC_60364_4_43.id,),
        )
    if not device_ok(cable, sets, demand):
        notes.stop(
            "device_not_protecting",
            say(
                "The {device:g} device does not protect {run}: conductors carry {sets:.5g}, with their "
                "terminations {deciding:.5g}.",
                device=Current.of(demand.device, "A"),
                run=run,
                sets=Current.of(sets * cable.carries, "A"),
                deciding=Current.of(sums.deciding, "A"),
            ),
            why="Under overload the cable overheats before the device opens.",
            resolve=_more_sets(choice, demand, min(one, cable.carries), demand.device) + " Or fit a smaller device.",
            field="/overcurrent_device",
            references=(ref.NEC_240_4.id,) if demand.nec else (ref.IEC_60364_4_43.id,),
        )
    elif steps_up(sums.deciding, demand):
        notes.note(
            "next_rating_up",
            f"The {demand.device:g} A device is the next standard rating above {sums.deciding:.5g} A"
            + (", which only the terminations set." if demand.portable else "."),
            field="/overcurrent_device",
            references=(ref.NEC_240_4.id,),
        )
    if not small_wire_ok(cable, demand):
        notes.stop(
            "small_wire_device",
            say(
                "{size} in raceway may not stand behind a device of {device:g}.",
                size=cable.size,
                device=Current.of(demand.device, "A"),
            ),
            resolve="Take 8 AWG or larger, or a device of 15, 20 or 30 A for 14, 12 or 10 AWG.",
            field="/overcurrent_device",
            references=(ref.NEC_240_4.id,),
        )
    if not parallel_ok(cable, sets, demand):
        notes.stop(
            "parallel_too_small",
            f"{run} in parallel: only 1/0 AWG and larger may be.",
            resolve="Take one larger cable, or sets of 1/0 AWG or larger.",
            field="/sets",
            references=(ref.NEC_310_10.id,),
        )
    if below(demand.device, demand.load.current):
        notes.check(
            "device_below_load",
            say(
                "The {device:g} device is below the running load of {current:.5g}.",
                device=Current.of(demand.device, "A"),
                current=Current.of(demand.load.current, "A"),
            ),
            why="It will trip.",
            resolve="Look at load and device again.",
            field="/overcurrent_device",
        )


def _more_sets(choice: Choice, demand: Demand, one: float, wanted: float) -> str:
    sets = whole_at_least(wanted / one)
    if sets > MOST_SETS or not parallel_ok(choice.cable, sets, demand):
        return "A larger size is needed."
    return f"{sets} sets of {choice.cable.size} would carry it, or a larger size."


def _judge_laying(given: FeederGiven, demand: Demand, choice: Choice, notes: Notes) -> None:
    if given.arrangement == "conductors_of_a_phase_grouped":
        notes.stop(
            "phases_grouped",
            in_words_of(
                given.practice,
                "Conductors are grouped by phase instead of A, B, C, neutral and {protective_conductor} of each set together.",
            ),
            why="Sets share the current unequally, steel nearby heats and the voltages become unequal.",
            resolve="Lay every set as a bundle of its own.",
            field="/arrangement",
            references=(ref.NEC_310_10.id,),
        )
    single = given.construction == "single_conductor_portable"
    if single and given.arrangement == "spaced" and given.reactance_per_length is UNSET:
        notes.check(
            "spacing_assumed",
            say(
                "The reactance is taken as {factor:g} times that of a bundle, for {spacing} between conductors.",
                factor=REACTANCE_FACTOR["spaced"],
                spacing=Length(300.0, "mm"),
            ),
            resolve="Give `reactance_per_length` for the real spacing, or lay the set as a bundle.",
            field="/arrangement",
            references=(ref.LINE_SPACING.id,),
        )
    if not demand.nec and single and given.arrangement != "spaced" and given.ampacity_each is UNSET:
        _judge_touching(demand, choice, notes)
    if above(demand.length, LONG_RUN):
        notes.check(
            "long_run",
            say("The run is {length:.4g}.", length=Length.of(demand.length, "m")),
            why=say(
                "Over {long} voltage drop, fault clearing and laying need a closer look.", long=Length(LONG_RUN, "m")
            ),
            resolve="Look for a nearer supply, or a transformer.",
            field="/length",
        )


def _judge_touching(demand: Demand, choice: Choice, notes: Notes) -> None:
    single, multi = (rubber_ampacity(choice.cable.size, multi_core=m) for m in (False, True))
    if single is None or multi is None:
        return
    touching = choice.sets * choice.cable.each * multi / single
    wanted = max(demand.ampacity, demand.device)
    if below(touching, wanted):
        sum_of = f"{choice.sets} x {choice.cable.each:.5g} x {multi:g} / {single:g}"
        notes.show(
            "I_t", "What the run would carry by the column of multi-core cable", sum_of, Current.of(touching, "A")
        )
        notes.check(
            "touching_single_cores",
            say(
                "By the column of multi-core cable the run would carry {touching:.5g}, less than {wanted:.5g}.",
                touching=Current.of(touching, "A"),
                wanted=Current.of(wanted, "A"),
            ),
            why="Whether the single-core column holds for cores that touch was not seen.",
            resolve="Take the next size, or confirm the laying condition of the table.",
            field="/arrangement",
            references=(AMPACITY_RUBBER_CABLE.reference.id,),
        )


def _judge_voltage(demand: Demand, sums: Sums, notes: Notes) -> None:
    left = demand.load.voltage - sums.exact
    if below(left, demand.least_voltage):
        plate = motor_nameplate(demand.load.voltage)
        notes.stop(
            "voltage_too_low",
            say(
                "{left:.4g} reach the machine, below 0.9 of its {plate:g} nameplate, {least_voltage:.4g}.",
                left=Voltage.of(left, "V"),
                plate=Voltage.of(plate, "V"),
                least_voltage=Voltage.of(demand.least_voltage, "V"),
            ),
            why="Motors draw more and overheat.",
            resolve="Shorten the run, take larger cable or more sets, or raise the tap of the transformer.",
            field="/length",
            references=(ref.NEMA_MG_1.id,),
        )


def _judge_drops(demand: Demand, sums: Sums, notes: Notes) -> None:
    fraction = sums.exact / demand.load.voltage
    if above(fraction, demand.allowed_running):
        notes.check(
            "running_drop_high",
            f"The running drop is {fraction:.4f} of the system voltage, allowed are {demand.allowed_running:g}.",
            resolve=say("At most {longest:.4g} of this cable, or larger cable.", longest=Length.of(sums.longest, "m")),
            field="/length",
            references=(ref.NEC_215_2.id if demand.nec else ref.IEC_60364_5_52_DROP.id,),
        )
    if sums.starting_fraction is not None and above(sums.starting_fraction, demand.allowed_starting):
        notes.check(
            "starting_drop_high",
            f"The starting drop is {sums.starting_fraction:.4f} of the system voltage, allowed are "
            f"{demand.allowed_starting:g}.",
            why="Contactors may drop out near 0.70 to 0.80 of their coil voltage.",
            resolve=say(
                "At most {longest:.4g} of this cable, larger cable, or a softer start.",
                longest=Length.of(sums.longest, "m"),
            ),
            field="/starting_current",
            references=(ref.COMMON_PRACTICE.id,),
        )


def _judge_basis(given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, notes: Notes) -> None:
    if terms.connector_basis and choice.cable.connector is not None and choice.cable.termination is not None:
        notes.check(
            "connector_basis",
            say(
                "{connector:g} of the connectors stand in for the terminations' limit of {termination:g}.",
                connector=Current.of(choice.cable.connector, "A"),
                termination=Current.of(choice.cable.termination, "A"),
            ),
            why="Not every authority accepts it. It needs listed single-pole connectors at either end, marked with "
            "their current and temperature.",
            resolve="Show the listing to the authority, or use `table_310_16`.",
            field="/termination_basis",
            references=(ref.NEC_110_14.id,),
        )
    elif demand.nec and given.termination_basis == "connector_rating":
        notes.check(
            "connector_basis_not_allowed",
            "The connectors' rating is not used: it holds for single conductors with connectors at both ends.",
            resolve="Fit connectors at both ends, or use `table_310_16`.",
            field="/termination_basis",
            references=(ref.NEC_110_14.id,),
        )
    if not demand.nec and (
        given.termination_basis == "connector_rating"
        or given.termination_temperature is not UNSET
        or given.connector_rating is not UNSET
    ):
        notes.note(
            "not_used_under_iec",
            "Limits of terminations and connectors are not part of the iec method: what was given of them is not used.",
            field="/practice",
        )
    if given.ampacity_each is not UNSET:
        notes.check(
            "ampacity_from_caller",
            say(
                "{each:.5g} each by {ampacity_source}, taken as it is: ambient, bundling and contact are "
                "not applied to it.",
                each=Current.of(choice.cable.each, "A"),
                ampacity_source=repr(given.ampacity_source),
            ),
            resolve="Confirm that the figure holds as the cable lies on this site.",
            field="/ampacity_each",
        )


def _judge_rest(given: FeederGiven, demand: Demand, choice: Choice, sums: Sums, notes: Notes) -> None:
    if sums.ground is None:
        notes.check(
            "ground_not_tabulated",
            say(
                "The table of {conductor}s has no row for a device of {device:g} or lines of {size}.",
                conductor=word("protective_conductor", given.practice),
                device=Current.of(demand.device, "A"),
                size=choice.cable.size,
            ),
            resolve=in_words_of(given.practice, "Have the {protective_conductor} sized by an engineer."),
            field="/overcurrent_device",
            references=(EQUIPMENT_GROUND.reference.id,),
        )
    elif sums.ground != sums.ground_by_table:
        notes.note(
            "ground_enlarged",
            f"The lines were enlarged for voltage drop, so the {word('protective_conductor', given.practice)} grows from "
            f"{sums.ground_by_table} to {sums.ground}.",
            references=(ref.NEC_250_122.id,),
        )
    if unusual := unusual_frequency(given.practice, given.frequency.value):
        notes.check(
            FREQUENCY_UNUSUAL,
            unusual,
            resolve="Confirm practice and frequency with the site.",
            field="/frequency",
        )
    if given.source_resistance is UNSET and given.source_reactance is UNSET:
        notes.note(
            "source_drop_not_included",
            "The impedance of the source is not given, so the drop inside it is not included.",
            field="/source_reactance",
        )
    if given.crossings:
        notes.note(
            "ramps_needed",
            f"Traffic crosses the cable at {count_of(given.crossings, 'place')}: cable ramps are on the pick list.",
            field="/crossings",
            references=(ref.COMMON_PRACTICE.id,),
        )


def _general_notes(given: FeederGiven, demand: Demand, notes: Notes) -> None:
    if demand.nec:
        notes.note(
            "motor_rule_not_applied",
            "240.4(G) with Article 440 may allow a larger device before motor circuits; it is not applied here.",
            references=(ref.NEC_240_4.id,),
        )
        notes.note(
            "drop_is_advice",
            "3 % on a feeder and 5 % in all are advice of the code, not law; what the machine needs is 0.9 of its plate.",
            references=(ref.NEC_215_2.id,),
        )
    notes.note(
        "measured_run_prevails",
        say(
            "The run is taken as {length}, one way: work it out again if the run measured on site is longer.",
            length=given.length,
        ),
        field="/length",
    )
