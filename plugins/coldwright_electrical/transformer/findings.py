"""What a transformer's numbers and its way of feeding mean on site."""

from typing import Final

from msgspec import UnsetType

from coldwright.contract import Notes, Reference, finding, say
from coldwright.contract.quantities import ApparentPower, Current, Length, Temperature, Voltage
from coldwright_basis.compare import above, between
from coldwright_basis.trade_words import in_words_of
from coldwright_basis.voltages import motor_nameplate
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL
from coldwright_electrical.shared.references import COMMON_PRACTICE, NEC, NEC_240_4, NEC_EDITION, NEMA_MG_1, NOT_SEEN
from coldwright_electrical.shared.transformers import TRANSFORMER_DEVICE_LIMITS
from coldwright_electrical.transformer.given import TransformerGiven

NEC_450_11 = Reference(
    id="nec_450_11_b",
    title=NEC,
    edition="2014, in which it was new, by a training page",
    clause="450.11(B), reverse feed",
    provenance="seen_reproduced",
)

NEC_NEW_SYSTEM = Reference(
    id="nec_250_new_system",
    title=NEC,
    edition=NEC_EDITION,
    clause="250.20(B); 250.21(B); 250.30; 240.21(C)",
    provenance="memory",
)

IEEE_C57_12_01 = Reference(
    id="ieee_c57_12_01",
    title="IEEE C57.12.01, Dry-type distribution and power transformers",
    edition=NOT_SEEN,
    clause="usual service conditions, 40 degC and 1000 m",
    provenance="memory",
)

REGULATION_SHEET = Reference(
    id="transformer_regulation_sheet",
    title="Worked sheet of transformer regulation, exact and quadratic form",
    clause="R 51.192/12000, z 0.0794, power factor 0.8: 5.283649 % and 5.28382 %",
    provenance="seen",
)

REFERENCES: Final = (NEC_450_11, NEC_NEW_SYSTEM, IEEE_C57_12_01, REGULATION_SHEET, NEC_240_4, NEMA_MG_1)


_REVERSE_INRUSH: Final = 20

FINDINGS: Final = (
    finding("overloaded", "stop", "The load is above the rating."),
    finding("wrong_frequency", "stop", "The transformer is made for a higher frequency."),
    finding("voltage_at_load", "stop", "The secondary voltage at the load is outside the machine's range."),
    finding("reverse_fed_neutral_bonded", "stop", "The neutral on the fed side of a reverse-fed unit is bonded."),
    finding("primary_device_too_large", ("stop", "check"), "The primary device is above its limit."),
    finding("inrush_trips", "check", "The inrush is above the device's magnetic trip."),
    finding("nonlinear_without_k_rating", "check", "Rectifier loads without a transformer rated for them."),
    finding("ungrounded_secondary", "check", "The new system is left ungrounded and unmonitored."),
    finding("primary_only", "check", "The secondary conductors have no device of their own."),
    finding("reverse_feed", "check", "The unit is fed backwards without the maker's permission."),
    finding("neutral_not_there", "check", "The load needs a neutral that this secondary may not have."),
    finding("unusual_conditions", "check", "Heat or height is beyond the usual service conditions."),
    finding(
        "device_rule_not_covered",
        "check",
        "Small currents follow other multiples; very large ones have no standard device.",
    ),
    finding(FREQUENCY_UNUSUAL, "check", "Frequency and practice do not usually go together."),
    finding("tap", "note", "Another tap fits the primary voltage better."),
    finding("conductors_equal_device", "note", "Above 800 A conductors carry the device in full."),
    finding("taps_on_other_side", "note", "Fed backwards, the taps stand on the load side."),
)


def judge_load(given: TransformerGiven, notes: Notes, kva: float, at_load: float) -> None:
    """Rating, voltage at the load, rectifiers."""
    load = given.load_apparent_power.to("kVA")
    if above(load, kva):
        least = ApparentPower.of(load * (1 + given.growth_fraction), "kVA")
        notes.show(
            "S_least", "Rating for the load and its growth", f"{load:.6g} x (1 + {given.growth_fraction:g})", least
        )
        notes.stop(
            "overloaded",
            say(
                "The load of {load:g} is {excess:.4g} above the rating of {rated:g}.",
                load=ApparentPower.of(load, "kVA"),
                excess=ApparentPower.of(load - kva, "kVA"),
                rated=ApparentPower.of(kva, "kVA"),
            ),
            why="Its windings overheat and age fast.",
            resolve=say("A rating of at least {least:.4g}, growth in.", least=least),
            field="/rated_apparent_power",
        )
    plate = motor_nameplate(given.secondary_voltage.value)
    if not between(0.9 * plate, at_load, 1.1 * plate):
        notes.show("V_least", "Least voltage of the machine", f"0.9 x {plate:g}", 0.9 * plate, "V")
        notes.show("V_most", "Greatest voltage of the machine", f"1.1 x {plate:g}", 1.1 * plate, "V")
        notes.stop(
            "voltage_at_load",
            say(
                "At the load the secondary is {at_load:.4g}; a machine of {plate:g} takes {least:.4g} to {most:.4g}.",
                at_load=Voltage.of(at_load, "V"),
                plate=Voltage.of(plate, "V"),
                least=Voltage.of(0.9 * plate, "V"),
                most=Voltage.of(1.1 * plate, "V"),
            ),
            resolve="A larger transformer, one of lower impedance, or another tap.",
            field="/secondary_voltage",
            references=(NEMA_MG_1.id,),
        )
    if above(given.nonlinear_fraction, 0.3) and not given.k_rated:
        notes.check(
            "nonlinear_without_k_rating",
            f"{given.nonlinear_fraction:.2f} of the load draws through rectifiers, and the transformer is not rated for it.",
            why="Harmonics heat windings and core more than the kVA suggest.",
            resolve="A unit with a K-factor, or a larger one after the maker's advice.",
            field="/nonlinear_fraction",
            references=(COMMON_PRACTICE.id,),
        )


def judge_feed(given: TransformerGiven, notes: Notes) -> None:
    """Frequency, reverse feed, and the grounding of the new system."""
    if not isinstance(given.rated_frequency, UnsetType) and above(given.rated_frequency.value, given.frequency.value):
        more = given.rated_frequency.value / given.frequency.value - 1
        notes.stop(
            "wrong_frequency",
            say(
                "A {rated_frequency} unit on {frequency}: volts per hertz are {more:.0%} up.",
                rated_frequency=given.rated_frequency,
                frequency=given.frequency,
                more=more,
            ),
            why="The core saturates, draws heavily and burns.",
            resolve="A unit made for this frequency, or voltage lowered in proportion.",
            field="/rated_frequency",
            references=(COMMON_PRACTICE.id,),
        )
    if not given.fed_as_built:
        if given.primary_neutral_bonded:
            notes.stop(
                "reverse_fed_neutral_bonded",
                "The unit is fed backwards, and the neutral on its fed side is bonded or connected.",
                why="Fault and unbalance currents then flow through the wye winding and can burn it.",
                resolve="Leave that neutral point open and insulated.",
                field="/primary_neutral_bonded",
                references=(NEC_450_11.id, NEC_NEW_SYSTEM.id),
            )
        if not given.maker_permits_reverse_feed:
            notes.check(
                "reverse_feed",
                f"The unit is fed backwards: the inrush may reach {_REVERSE_INRUSH} times the rated current and more.",
                why="The maker's instructions must permit it in words.",
                resolve="Ask the maker, and say so in maker_permits_reverse_feed.",
                field="/fed_as_built",
                references=(NEC_450_11.id,),
            )
        notes.note("taps_on_other_side", "Fed backwards, taps act the other way round: they stand on the load side.")
    grounding = given.secondary_grounding
    if grounding == "ungrounded":
        notes.check(
            "ungrounded_secondary",
            in_words_of(
                given.practice,
                "The secondary is a new system, and is left without bond and without {earth}-fault detection.",
            ),
            why=in_words_of(given.practice, "A first {earth_fault} goes unseen, and the second is a short circuit."),
            resolve=in_words_of(given.practice, "Bond it where the code asks, or fit {earth}-fault detection."),
            field="/secondary_grounding",
            references=(NEC_NEW_SYSTEM.id,),
        )
    if given.neutral_needed and (not given.fed_as_built or grounding in ("ungrounded", "monitored")):
        notes.check(
            "neutral_not_there",
            in_words_of(
                given.practice,
                "The load needs a neutral; this secondary has none that is {earthed}, and a delta has none at all.",
            ),
            resolve="A unit with a wye secondary, fed as built and bonded.",
            field="/neutral_needed",
            references=(NEC_NEW_SYSTEM.id,),
        )


def judge_device(given: TransformerGiven, notes: Notes, standard: float | None, inrush: float) -> None:
    """The primary device against its limit and the inrush, and the secondary's conductors."""
    if given.practice == "nec" and given.protection == "primary_only":
        notes.check(
            "primary_only",
            "The primary device alone does not protect the conductors of a delta-wye secondary.",
            resolve="A secondary device, within the length that 240.21(C) allows.",
            field="/protection",
            references=(NEC_240_4.id, NEC_NEW_SYSTEM.id),
        )
    if given.practice == "nec" and standard is not None and standard > 800:
        notes.note(
            "conductors_equal_device",
            say(
                "With a device of {standard:g} the conductors carry at least that: no step up above 800 A.",
                standard=Current.of(standard, "A"),
            ),
            references=(NEC_240_4.id,),
        )
    if isinstance(given.primary_device_rating, UnsetType):
        return
    rating = given.primary_device_rating.to("A")
    if standard is not None and above(rating, standard):
        notes.finding(
            "stop" if given.practice == "nec" else "check",
            "primary_device_too_large",
            say(
                "The primary device of {rating:g} is above {standard:g}.",
                rating=Current.of(rating, "A"),
                standard=Current.of(standard, "A"),
            ),
            why="An overload or a fault inside then lasts too long.",
            resolve=say("A device of at most {standard:g}.", standard=Current.of(standard, "A")),
            field="/primary_device_rating",
            references=(TRANSFORMER_DEVICE_LIMITS.reference.id,) if given.practice == "nec" else (COMMON_PRACTICE.id,),
        )
    multiple = given.magnetic_pickup_multiple
    pickup = rating * multiple
    notes.show("I_trip", "Magnetic trip of the primary device", f"{multiple:g} x {rating:.5g}", pickup, "A")
    if above(inrush, pickup):
        notes.check(
            "inrush_trips",
            say(
                "The inrush of {inrush:.4g} is {excess:.4g} above the device's magnetic trip at {pickup:.4g}.",
                inrush=Current.of(inrush, "A"),
                excess=Current.of(inrush - pickup, "A"),
                pickup=Current.of(pickup, "A"),
            ),
            why="The device may open each time the transformer is switched on.",
            resolve=f"A magnetic trip of at least {inrush / rating:.3g} times the rating, or a slow fuse; on a generating set "
            "connect first and raise the voltage then.",
            field="/magnetic_pickup_multiple",
            references=(COMMON_PRACTICE.id,),
        )


def judge_site(given: TransformerGiven, notes: Notes) -> None:
    """Heat, height, and the tap."""
    heat, height = given.ambient_temperature.to("degC"), given.altitude.to("m")
    hot = above(heat, 40)
    if hot or above(height, 1000):
        notes.check(
            "unusual_conditions",
            say(
                "{heat:.3g} and {height:g}: dry-type units are rated for at most {hottest} and {highest}.",
                hottest=Temperature(40.0, "degC"),
                highest=Length(1000.0, "m"),
                heat=Temperature.of(heat, "degC"),
                height=Length.of(height, "m"),
            ),
            resolve="Ask the maker what is left of the rating.",
            field="/ambient_temperature" if hot else "/altitude",
            references=(IEEE_C57_12_01.id,),
        )
    if isinstance(given.measured_primary_voltage, UnsetType):
        return
    off = given.measured_primary_voltage.value / given.primary_voltage.value - 1
    steps = round(off / 0.025)
    if steps and given.fed_as_built:
        notes.note(
            "tap",
            f"The primary reads {off:+.1%} off: the tap {abs(steps) * 2.5:g} % {'above' if steps > 0 else 'below'} nominal "
            "brings the secondary back. Change taps only with the unit dead.",
            field="/measured_primary_voltage",
            references=(COMMON_PRACTICE.id,),
        )
