"""What a person should know of a generating set."""

from typing import Final

from msgspec import UnsetType

from coldwright.contract import Notes, Reference, finding, say
from coldwright.contract.quantities import ApparentPower, Power, Volume
from coldwright_basis.compare import above, at_least, at_most
from coldwright_basis.motor_starting import STARTING_METHODS
from coldwright_electrical.generator.given import GeneratorGiven
from coldwright_electrical.generator.results import LightLoadRemedyResults
from coldwright_electrical.generator.sets import GREATEST_DIP, Judgement
from coldwright_electrical.generator.starting import Step, dip, kva_for_dip
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL
from coldwright_electrical.shared.references import COMMON_PRACTICE, NEC_SEPARATE_SOURCE, NOT_NAMED, UNDATED

NFPA_110 = Reference(
    id="nfpa_110_8_4_2",
    title="NFPA 110, Emergency and standby power systems",
    edition=NOT_NAMED,
    clause="8.4.2, exercise at not less than 30 % of the plate",
    provenance="seen_reproduced",
    remark="Light running leaves unburnt fuel in the exhaust: read as quoted.",
)

ISO_8528_1 = Reference(
    id="iso_8528_1",
    title="ISO 8528-1, Generating sets: ratings",
    edition="2018, as public pages explain it",
    clause="prime rating, average of at most 70 % over 24 h",
    provenance="seen_reproduced",
)

UFGS_16264A = Reference(
    id="ufgs_16264a",
    title="UFGS-16264A, Diesel-generator set, stationary, 15-2500 kW",
    edition=UNDATED,
    clause="note: about 30 % voltage and 5 % frequency deviation at a full-load step, back in 3 to 5 s",
    provenance="seen",
)

IEEE_519 = Reference(
    id="ieee_519",
    title="IEEE 519, Harmonic control",
    edition="2014, by a book that lists its changes",
    clause="Table 1: 8 % voltage distortion up to 1 kV",
    provenance="seen_reproduced",
)

NEC_445_13 = Reference(
    id="nec_445_13",
    title="National Electrical Code (NFPA 70)",
    edition="not named by the public threads that quote it",
    clause="445.13, conductors from the set's terminals at least 115 % of its current",
    provenance="seen_reproduced",
)

SPCC = Reference(
    id="cfr_40_112",
    title="40 CFR Part 112, Oil pollution prevention",
    edition=UNDATED,
    clause="112.1(d)(2)(ii): more than 1320 gal in all above ground, of containers of 55 gal or more",
    provenance="seen",
)

REFERENCES: Final = (NFPA_110, ISO_8528_1, UFGS_16264A, IEEE_519, NEC_445_13, SPCC)

GREATEST_DISTORTION: Final = 0.10

_SPILL_PLAN_LITRES: Final = 1320 * 3.785411784


FINDINGS: Final = (
    finding("over_active_power", "stop", "The running load is above the derated active power."),
    finding("over_apparent_power", "stop", "The running load is above the derated apparent power."),
    finding("dip", ("stop", "check"), "The voltage dip at a start is too deep."),
    finding("light_load", ("stop", "check"), "The set runs too lightly loaded."),
    finding("light_load_at_night", ("stop", "check"), "The set that starts the load is too big for it at night."),
    finding("no_transfer_equipment", "stop", "A utility is present, and no transfer equipment."),
    finding("no_candidate_holds", ("stop", "check"), "None of the sets offered carries and starts the load."),
    finding("load_above_maximum", "check", "The load is above the share planned for."),
    finding("load_near_minimum", "check", "The load is little above the least."),
    finding("distortion", "check", "Rectifier loads distort the set's voltage."),
    finding("reduced_starting_torque", "check", "The starting method leaves little torque."),
    finding("reactance_assumed", "check", "Reactances of the set were taken as usual ones."),
    finding("no_redundancy", "check", "One set alone feeds a cooling load that must not fail."),
    finding("tank_below_reserve", "check", "A full tank lasts no longer than the reserve."),
    finding("fuel_not_known", "check", "Neither fuel curve nor chart reaches this set and load."),
    finding(FREQUENCY_UNUSUAL, "check", "Frequency and practice do not usually go together."),
    finding("average_above_prime", "note", "The average load is above 70 % of the rating."),
    finding("distortion_above_ieee_519", "note", "The distortion is above 8 %."),
    finding("drive_taken_as_linear", "note", "A drive was not said to be nonlinear."),
    finding("spill_plan", "note", "The tank is large enough for a spill plan."),
    finding("no_set_given", "note", "No set was given: the size needed is worked out."),
    finding("heater_hour_restarts", "note", "A stop of the set restarts the oil heaters' hour."),
    finding("rotation_after_change", "note", "A change of set or cable asks for the rotation meter again."),
)


def judge_power(given: GeneratorGiven, notes: Notes, judgement: Judgement, running: complex) -> None:
    """Load against what altitude and heat leave, and against the share planned for."""
    machine = judgement.machine
    if above(running.real, machine.derated_kw):
        least = Power.of(running.real / machine.derated_kw * machine.kw, "kW")
        sum_of = f"{running.real:.6g} / {machine.derated_kw:.6g} x {machine.kw:.6g}"
        notes.show("P_least", "Rating that carries the load here", sum_of, least)
        notes.stop(
            "over_active_power",
            say(
                "The load runs on {running:.4g}, {excess:.4g} above the derated {derated:.4g}.",
                running=Power.of(running.real, "kW"),
                excess=Power.of(running.real - machine.derated_kw, "kW"),
                derated=Power.of(machine.derated_kw, "kW"),
            ),
            why="The engine cannot hold its speed.",
            resolve=say("A set of at least {least:.4g}, or less load.", least=least),
            field="/generator/rated_active_power",
        )
    elif above(judgement.load_fraction, given.maximum_load_fraction):
        least = Power.of(judgement.load_fraction / given.maximum_load_fraction * machine.kw, "kW")
        sum_of = f"{judgement.load_fraction:.4f} / {given.maximum_load_fraction:g} x {machine.kw:g}"
        notes.show("P_least", "Rating at which the load is the share planned for", sum_of, least)
        notes.check(
            "load_above_maximum",
            f"The load is {judgement.load_fraction:.3f} of the derated power; {given.maximum_load_fraction:g} is "
            "planned for.",
            why="Little is left for a start, a hotter day or a worn engine.",
            resolve=say("A set of at least {least:.4g}.", least=least),
            field="/maximum_load_fraction",
            references=(COMMON_PRACTICE.id,),
        )
    if above(abs(running), machine.derated_kva):
        least_kva = ApparentPower.of(abs(running) / machine.derated_kva * machine.kva, "kVA")
        sum_of = f"{abs(running):.6g} / {machine.derated_kva:.6g} x {machine.kva:.6g}"
        notes.show("S_least", "Rating that carries the load here", sum_of, least_kva)
        notes.stop(
            "over_apparent_power",
            say(
                "The load runs on {running:.4g}, {excess:.4g} above the derated {derated:.4g}.",
                running=ApparentPower.of(abs(running), "kVA"),
                excess=ApparentPower.of(abs(running) - machine.derated_kva, "kVA"),
                derated=ApparentPower.of(machine.derated_kva, "kVA"),
            ),
            why="The alternator overheats.",
            resolve=say("A set of at least {least:.4g}, or less load.", least=least_kva),
            field="/generator/rated_apparent_power",
        )
    average = judgement.load_fraction * given.load_factor
    if above(average, 0.70):
        sum_of = f"{judgement.load_fraction:.5g} x {given.load_factor:g}"
        notes.show("P_av/P_d", "Load fraction on average", sum_of, average)
        notes.note(
            "average_above_prime",
            f"On average the set is loaded to {average:.3f}: prime ratings hold for 0.70 over a day.",
            references=(ISO_8528_1.id,),
        )


def judge_dip(given: GeneratorGiven, notes: Notes, judgement: Judgement, steps: list[Step]) -> None:
    """The worst transient dip against the caller's limit and against 30 %."""
    worst = max(range(len(steps)), key=lambda i: judgement.dips[i][1])
    value, step, machine = judgement.dips[worst][1], steps[worst], judgement.machine
    if at_most(value, min(given.dip_limit_fraction, GREATEST_DIP)):
        return
    x = machine.reactances.transient
    limit = min(given.dip_limit_fraction, GREATEST_DIP)
    alone = dip(x, step.greatest_unit, machine.kva)
    notes.show("d_unit", f"Dip of the greatest unit of step {step.order} alone", "1 - 1/|1 + X s (sin + j cos)|", alone)
    if at_most(alone, limit):
        ways = f"Start its units one at a time, 30 s or more apart: the greatest then dips {alone:.3f}."
    else:
        ways = f"Even its greatest unit alone dips {alone:.3f}: gentler starting gear."
    suited = ApparentPower.of(kva_for_dip(x, step.power, limit), "kVA")
    notes.show(
        "S_min", f"Rating at which step {step.order} dips by {limit:g}", "|1 + X s (sin + j cos)| = 1/(1 - d)", suited
    )
    notes.finding(
        "stop" if above(value, GREATEST_DIP) else "check",
        "dip",
        say(
            "Step {order} ({load_ids}) dips the voltage by {dip:.3f}, {excess:.3f} above {limit:g}.",
            order=step.order,
            load_ids=", ".join(step.load_ids),
            dip=value,
            excess=value - limit,
            limit=limit,
        ),
        why="Contactors drop out and running machines trip while the voltage is down.",
        resolve=say(
            "{ways} Or a set of at least {kva_for_dip:.4g}.",
            ways=ways,
            kva_for_dip=suited,
        ),
        field="/dip_limit_fraction",
        references=(COMMON_PRACTICE.id, UFGS_16264A.id),
    )


def judge_light_load(
    given: GeneratorGiven, notes: Notes, judgement: Judgement, remedies: tuple[LightLoadRemedyResults, ...]
) -> None:
    """A diesel engine must not run for hours below its least load: by day, or at night when the machines unload."""
    least, low, full = given.minimum_load_fraction, judgement.reduced_load_fraction, judgement.load_fraction
    if at_least(low, least):
        if low < least + 0.10:
            notes.check(
                "load_near_minimum",
                f"The low load is {low:.3f} of the derated power, little above the least of {least:g}.",
                why="Machines that unload take it below.",
                resolve="Have a load bank within reach.",
                field="/load_factor",
                references=(NFPA_110.id,),
            )
        return
    hours = None if isinstance(given.run_duration, UnsetType) else given.run_duration.to("h")
    at_night = at_least(full, least)
    text = (
        f"The set that starts and carries the load is too big for it at night: {low:.3f} of its derated power"
        if at_night
        else f"The load is {full:.3f} of the derated power" + (f", at night {low:.3f}" if given.lowest_load < 1 else "")
    )
    notes.finding(
        "stop" if hours is None or hours > 4 else "check",
        "light_load_at_night" if at_night else "light_load",
        f"{text}, least {least:g}, " + ("without end." if hours is None else f"for {hours:g} h."),
        why="A diesel engine that runs so for more than 4 h leaves unburnt fuel in its exhaust.",
        resolve=" ".join(r.statement for r in remedies if r.works) + " A load bank counts as an entry of `loads`.",
        field="/load_factor" if at_night else "/generator/rated_active_power",
        references=(NFPA_110.id, COMMON_PRACTICE.id),
    )


def judge_loads(given: GeneratorGiven, notes: Notes) -> None:
    """Starting torque, and drives that were not said to be rectifiers."""
    for method in ("part_winding", "star_delta"):
        weak = [(n, x) for n, x in enumerate(given.loads) if x.starting_method == method and not x.starts_unloaded]
        if weak:
            torque = float(STARTING_METHODS.rows[method]["torque"])
            many = len(weak) > 1
            notes.check(
                "reduced_starting_torque",
                f"{', '.join(x.load_id for _, x in weak)} {'start' if many else 'starts'} on about {torque:.2f} of "
                f"{'their' if many else 'its'} torque.",
                why="A compressor that starts against pressure may stall, and then draws all of its locked-rotor current.",
                resolve=f"Ask the maker whether {'they start' if many else 'it starts'} unloaded, and say so in "
                "starts_unloaded.",
                field=f"/loads/{weak[0][0]}/starting_method",
                references=(STARTING_METHODS.reference.id,),
            )
    for index, load in enumerate(given.loads):
        if load.starting_method == "variable_frequency" and not load.nonlinear:
            notes.note(
                "drive_taken_as_linear",
                f"{load.load_id} starts by a drive and was not said to be nonlinear: its harmonics are not counted.",
                field=f"/loads/{index}/nonlinear",
            )


def judge_distortion(notes: Notes, distortion: float) -> None:
    """Voltage distortion by rectifiers."""
    if above(distortion, GREATEST_DISTORTION):
        notes.check(
            "distortion",
            f"Rectifier loads distort the voltage by {distortion:.3f}, {distortion - GREATEST_DISTORTION:.3f} above "
            f"{GREATEST_DISTORTION:g}.",
            why="Regulators hunt, motors and chargers heat up.",
            resolve="Reactors or low-harmonic drives, or a set of lower reactance or larger rating.",
            field="/loads",
            references=(COMMON_PRACTICE.id,),
        )
    elif above(distortion, 0.08):
        notes.note(
            "distortion_above_ieee_519",
            f"The distortion of {distortion:.3f} passes on a set and is above the 0.08 asked at a utility.",
            references=(IEEE_519.id,),
        )


def judge_arrangement(given: GeneratorGiven, notes: Notes) -> None:
    """Transfer equipment, redundancy, tank, and what is always true of sets."""
    if given.utility_present and not given.transfer_equipment:
        notes.stop(
            "no_transfer_equipment",
            "A utility supply feeds the same load, and nothing keeps set and utility apart.",
            why="A set that feeds back kills people who work on a line they have proved dead.",
            resolve="Transfer equipment that can never join the two.",
            field="/transfer_equipment",
            references=(NEC_SEPARATE_SOURCE.id,),
        )
    if given.critical:
        notes.check(
            "no_redundancy",
            "One set alone feeds a cooling load that must not fail.",
            why="Sets stop for fuel, filters and oil, and at times of themselves.",
            resolve="A second set, or a utility behind transfer equipment.",
            field="/critical",
            references=(COMMON_PRACTICE.id,),
        )
    if (
        given.practice == "nec"
        and not isinstance(given.tank_volume, UnsetType)
        and above(given.tank_volume.to("L"), _SPILL_PLAN_LITRES)
    ):
        notes.note(
            "spill_plan",
            say(
                "{tank_volume} of fuel: above {limit} in all on a site a spill plan is asked for.",
                tank_volume=given.tank_volume,
                limit=Volume(1320.0, "gal").as_unit("L"),
            ),
            field="/tank_volume",
            references=(SPCC.id,),
        )
    notes.note(
        "heater_hour_restarts",
        "Any stop of the set takes the oil heaters off: the warm-up hour starts anew.",
        references=(COMMON_PRACTICE.id,),
    )
    notes.note(
        "rotation_after_change",
        "After any change of set or cable the phase sequence is read again before a start.",
        references=(COMMON_PRACTICE.id,),
    )
