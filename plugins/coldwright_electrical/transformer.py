"""A transformer between site and machine: size, devices, regulation, inrush, fault current and grounding."""

import math
from typing import Annotated, Final, Literal, NamedTuple

from msgspec import UNSET, UnsetType

from coldwright.contract import (
    Allowed,
    Example,
    FieldError,
    Given,
    Notes,
    Refused,
    Results,
    about,
    calculator,
    field_error,
    refuse,
    tidy,
)
from coldwright.contract.quantities import ApparentPower, Current, Frequency, Length, Temperature, Voltage
from coldwright_basis.ratings import IEC_RATED_CURRENTS, OVERCURRENT_RATINGS, rating_at_least, rating_at_most
from coldwright_electrical import transformer_findings as findings
from coldwright_electrical.cautions import FAMILY
from coldwright_electrical.practice import (
    FREQUENCY_UNUSUAL,
    VOLTAGE_PAIRS,
    PracticeField,
    SystemFrequency,
    frequency_error,
    unusual_frequency,
)
from coldwright_electrical.references import COMMON_PRACTICE, SAFE_WORK
from coldwright_electrical.transformer_data import (
    TRANSFORMER_DEVICE_LIMITS,
    TRANSFORMER_RATINGS,
    TRANSFORMER_USUAL_DATA,
    next_rating,
    usual_data,
)

ROOT3: Final = math.sqrt(3)
GREATEST_LOAD: Final = 3.0
"""Load over rating up to which the regulation is worked out; no transformer stands more than seconds of it."""
_LOW_VOLTAGE: Final = "the methods hold for low-voltage three-phase systems"


class TransformerGiven(Given, frozen=True, kw_only=True):
    """Voltages, load, and what is known of the transformer."""

    practice: PracticeField
    primary_voltage: Annotated[
        Voltage, about("Voltage between lines on the supply side.", low=180, high=690, unit="V", why=_LOW_VOLTAGE)
    ]
    secondary_voltage: Annotated[
        Voltage,
        about(
            "Voltage between lines on the machine side, without load.", low=180, high=690, unit="V", why=_LOW_VOLTAGE
        ),
    ]
    isolation: Annotated[bool, about("Whether equal voltages are meant: the transformer only separates.")] = False
    frequency: SystemFrequency
    rated_frequency: (
        Annotated[Frequency, about("Frequency on the transformer's plate.", low=16, high=400, unit="Hz")] | UnsetType
    ) = UNSET
    load_apparent_power: Annotated[
        ApparentPower, about("Apparent power of the running load.", above=0, high=5000, unit="kVA")
    ]
    power_factor: Annotated[float, about("Power factor of the load.", low=0.3, high=1, basis="common_practice")] = 0.85
    rated_apparent_power: (
        Annotated[
            ApparentPower, about("Rating of the transformer; chosen where left out.", low=3, high=5000, unit="kVA")
        ]
        | UnsetType
    ) = UNSET
    growth_fraction: Annotated[
        float, about("Room kept when the rating is chosen.", low=0, high=1, basis="common_practice")
    ] = 0.25
    impedance_fraction: (
        Annotated[
            float,
            about("Impedance per unit; 0.0575 from 500 kVA and 0.045 below where left out.", low=0.01, high=0.12),
        ]
        | UnsetType
    ) = UNSET
    x_over_r: (
        Annotated[float, about("X/R; 1.5 to 75 kVA, 3 to 300 kVA, 5 above where left out.", low=0.3, high=30)]
        | UnsetType
    ) = UNSET
    protection: Annotated[
        Literal["primary_only", "primary_and_secondary"], about("Where overcurrent devices stand.")
    ] = "primary_and_secondary"
    primary_device_rating: (
        Annotated[Current, about("Rating of the device that is meant on the primary.", above=0, high=6000, unit="A")]
        | UnsetType
    ) = UNSET
    magnetic_pickup_multiple: Annotated[
        float, about("Its instantaneous trip as a multiple of the rating.", low=1, high=20, basis="common_practice")
    ] = 10.0
    inrush_multiple: Annotated[
        float, about("First inrush as a multiple of rated primary current.", low=1, high=40, basis="common_practice")
    ] = 10.0
    starting_current: (
        Annotated[Current, about("Starting current of the machine, on the secondary.", above=0, high=20000, unit="A")]
        | UnsetType
    ) = UNSET
    starting_power_factor: Annotated[
        float, about("Power factor at start.", low=0.1, high=0.8, basis="common_practice")
    ] = 0.35
    fed_as_built: Annotated[bool, about("Whether it is fed on the side that its plate calls primary.")] = True
    maker_permits_reverse_feed: Annotated[
        bool, about("Whether the maker's instructions allow feeding it backwards.")
    ] = False
    primary_neutral_bonded: Annotated[
        bool, about("Whether a neutral point on the fed side is bonded or connected.")
    ] = False
    neutral_needed: Annotated[bool, about("Whether the load needs a neutral.")] = False
    secondary_grounding: (
        Annotated[Literal["bonded", "monitored", "ungrounded"], about("How the new system is grounded.")] | UnsetType
    ) = UNSET
    nonlinear_fraction: Annotated[float, about("Share of the load that draws through rectifiers.", low=0, high=1)] = 0.0
    k_rated: Annotated[bool, about("Whether the transformer is rated for rectifier loads (K-factor).")] = False
    measured_primary_voltage: (
        Annotated[Voltage, about("Primary voltage as read, for the tap.", low=150, high=800, unit="V")] | UnsetType
    ) = UNSET
    ambient_temperature: Annotated[
        Temperature, about("Hottest air at the transformer.", low=-40, high=60, unit="degC", basis="common_practice")
    ] = Temperature.of(40, "degC")
    altitude: Annotated[Length, about("Height of the site above sea level.", low=-400, high=5000, unit="m")] = (
        Length.of(0, "m")
    )


class TransformerResults(Results, frozen=True, kw_only=True):
    """The transformer, its devices, and what it does to the voltage."""

    rated_apparent_power: Annotated[ApparentPower, about("Rating, as given or chosen.")]
    primary_current: Annotated[Current, about("Primary current at the rating.")]
    secondary_current: Annotated[Current, about("Secondary current at the rating.")]
    primary_load_current: Annotated[Current, about("Primary current at the load.")]
    secondary_load_current: Annotated[Current, about("Secondary current at the load.")]
    load_fraction: Annotated[float, about("Load over rating.")]
    primary_device_maximum_calculated: Annotated[Current, about("Limit of the primary device.")] | UnsetType = UNSET
    primary_device_maximum_standard: Annotated[Current, about("Standard rating for that limit.")] | UnsetType = UNSET
    secondary_device_maximum_calculated: Annotated[Current, about("Limit of the secondary device.")] | UnsetType = UNSET
    secondary_device_maximum_standard: Annotated[Current, about("Standard rating for that limit.")] | UnsetType = UNSET
    regulation_approximate_fraction: Annotated[float, about("R cos + X sin at the load.")]
    regulation_quadratic_fraction: Annotated[float, about("The same with (X cos - R sin)^2 / 2.")]
    regulation_fraction: Annotated[float, about("Exact loss of voltage at the load.")]
    secondary_voltage_at_load: Annotated[Voltage, about("Secondary voltage at the load.")]
    inrush_current: Annotated[Current, about("First inrush on the primary, about 0.1 s.")]
    secondary_fault_current: Annotated[Current, about("Secondary fault current with an infinite primary.")]
    starting_drop_fraction: (
        Annotated[float, about("Voltage lost in the transformer at the machine's start.")] | UnsetType
    ) = UNSET


@calculator(
    "electrical.transformer",
    version="1.0.0",
    title="Transformer between site and machine",
    references=(*SAFE_WORK, *findings.REFERENCES),
    tables=(
        TRANSFORMER_RATINGS,
        TRANSFORMER_USUAL_DATA,
        TRANSFORMER_DEVICE_LIMITS,
        OVERCURRENT_RATINGS,
        IEC_RATED_CURRENTS,
        VOLTAGE_PAIRS,
    ),
    hazards=("electrical",),
    findings=findings.FINDINGS,
    examples=(
        Example(
            "stepping down to a 208 V machine",
            "An invented machine of 88 kVA on an invented 480 V building.",
            {
                "practice": "nec",
                "primary_voltage": {"value": 480, "unit": "V"},
                "secondary_voltage": {"value": 208, "unit": "V"},
                "frequency": {"value": 60, "unit": "Hz"},
                "load_apparent_power": {"value": 88, "unit": "kVA"},
                "starting_current": {"value": 640, "unit": "A"},
                "primary_device_rating": {"value": 200, "unit": "A"},
                "secondary_grounding": "bonded",
            },
        ),
        Example(
            "feeding a step-down unit backwards",
            "An invented step-up from 230 V to 400 V with a unit that was built to step down.",
            {
                "practice": "iec",
                "primary_voltage": {"value": 230, "unit": "V"},
                "secondary_voltage": {"value": 400, "unit": "V"},
                "frequency": {"value": 50, "unit": "Hz"},
                "load_apparent_power": {"value": 60, "unit": "kVA"},
                "rated_apparent_power": {"value": 100, "unit": "kVA"},
                "fed_as_built": False,
                "inrush_multiple": 18,
                "secondary_grounding": "monitored",
            },
        ),
    ),
)
def transformer(given: TransformerGiven, notes: Notes) -> TransformerResults:
    """Choose or check a three-phase dry-type transformer where machine and site differ in voltage.

    Rating: load x (1 + growth), next one made. Devices: NEC Table 450.3(B), or the rated current in IEC practice.
    Regulation exact for a constant primary voltage, beside its short forms. Up to 690 V on both sides.
    """
    _refuse_contradictions(given)
    notes.caution(*FAMILY)
    if text := unusual_frequency(given.practice, given.frequency.value):
        notes.check(FREQUENCY_UNUSUAL, text, field="/frequency")
    kva = _rating(given, notes)
    impedance = _impedance(given, notes, kva)
    load = given.load_apparent_power.to("kVA")
    if load > GREATEST_LOAD * kva:
        raise refuse(
            "/load_apparent_power",
            f"The load is {load / kva:.3g} times the rating, outside the method.",
            value=given.load_apparent_power,
            allowed=Allowed(maximum=tidy(GREATEST_LOAD * kva), unit="kVA"),
        )
    v1, v2 = given.primary_voltage.value, given.secondary_voltage.value
    primary, secondary = kva * 1000 / (ROOT3 * v1), kva * 1000 / (ROOT3 * v2)
    notes.show("I_1", "rated primary current", f"S / (sqrt3 V) = {kva * 1000:g} / (sqrt3 x {v1:g})", primary, "A")
    notes.show("I_2", "rated secondary current", f"S / (sqrt3 V) = {kva * 1000:g} / (sqrt3 x {v2:g})", secondary, "A")
    devices = _devices(given, notes, primary, secondary)
    _tell_missing(notes, devices)
    share = load / kva
    regulation = _regulation(notes, impedance * share, given.power_factor)
    at_load = v2 * (1 - regulation.exact)
    inrush = given.inrush_multiple * primary
    notes.show("I_0", "first inrush", f"{given.inrush_multiple:g} x {primary:.5g}", inrush, "A")
    fault = secondary / abs(impedance)
    notes.show("I_sc", "secondary fault current", f"I_2 / z = {secondary:.5g} / {abs(impedance):.5g}", fault, "A")
    findings.judge_load(given, notes, kva, at_load)
    findings.judge_feed(given, notes)
    findings.judge_device(given, notes, devices.primary_standard, inrush)
    findings.judge_site(given, notes)
    return TransformerResults(
        rated_apparent_power=ApparentPower.of(kva, "kVA"),
        primary_current=Current.of(primary, "A"),
        secondary_current=Current.of(secondary, "A"),
        primary_load_current=Current.of(primary * share, "A"),
        secondary_load_current=Current.of(secondary * share, "A"),
        load_fraction=tidy(share),
        primary_device_maximum_calculated=_amps(devices.primary),
        primary_device_maximum_standard=_amps(devices.primary_standard),
        secondary_device_maximum_calculated=_amps(devices.secondary),
        secondary_device_maximum_standard=_amps(devices.secondary_standard),
        regulation_approximate_fraction=tidy(regulation.approximate),
        regulation_quadratic_fraction=tidy(regulation.quadratic),
        regulation_fraction=tidy(regulation.exact),
        secondary_voltage_at_load=Voltage.of(at_load, "V"),
        inrush_current=Current.of(inrush, "A"),
        secondary_fault_current=Current.of(fault, "A"),
        starting_drop_fraction=_starting_drop(given, notes, impedance * v2 * v2 / (kva * 1000)),
    )


class Devices(NamedTuple):
    """Limits and standard ratings, A; None where the rule has none."""

    primary: float | None = None
    primary_standard: float | None = None
    secondary: float | None = None
    secondary_standard: float | None = None


class Regulation(NamedTuple):
    """Loss of voltage as a fraction, in three forms."""

    approximate: float
    quadratic: float
    exact: float


def _refuse_contradictions(given: TransformerGiven) -> None:
    errors: list[FieldError] = []
    if error := frequency_error(given.frequency):
        errors.append(error)
    if given.primary_voltage.value == given.secondary_voltage.value and not given.isolation:
        errors.append(
            field_error(
                "/secondary_voltage",
                f"Both sides are {given.primary_voltage}: no transformer is needed.",
                value=given.secondary_voltage,
                why="If the transformer is only to separate the two, say so in `isolation`.",
            )
        )
    if errors:
        raise Refused(errors)


def _rating(given: TransformerGiven, notes: Notes) -> float:
    if not isinstance(given.rated_apparent_power, UnsetType):
        return given.rated_apparent_power.to("kVA")
    wanted = given.load_apparent_power.to("kVA") * (1 + given.growth_fraction)
    rating = next_rating(given.practice, wanted)
    if rating is None:
        largest = float(TRANSFORMER_RATINGS.rows[given.practice][-1])
        raise refuse(
            "/load_apparent_power",
            f"With growth the load asks for {wanted:g} kVA; the largest rating here is {largest:g} kVA.",
            value=given.load_apparent_power,
            allowed=Allowed(maximum=tidy(largest / (1 + given.growth_fraction)), unit="kVA"),
            why="Give rated_apparent_power for a larger transformer, or split the load.",
        )
    notes.show(
        "S",
        "rating, next one made",
        f"{given.load_apparent_power} x (1 + {given.growth_fraction:g}) = {wanted:.5g} kVA",
        rating,
        "kVA",
    )
    return rating


def _impedance(given: TransformerGiven, notes: Notes, kva: float) -> complex:
    """R + jX per unit."""
    usual = usual_data(kva)
    z, ratio = given.impedance_fraction, given.x_over_r
    if isinstance(z, UnsetType):
        z = usual.impedance
        notes.assume(
            "impedance_fraction",
            f"The impedance is {z:g} per unit, usual for {kva:g} kVA.",
            value=z,
            basis="common_practice",
            references=(COMMON_PRACTICE.id,),
        )
    if isinstance(ratio, UnsetType):
        ratio = usual.x_over_r
        notes.assume(
            "x_over_r",
            f"X/R is {ratio:g}, usual for {kva:g} kVA.",
            value=ratio,
            basis="common_practice",
            references=(COMMON_PRACTICE.id,),
        )
    r = z / math.sqrt(1 + ratio * ratio)
    notes.show("R", "resistance per unit", f"z / sqrt(1 + a^2), z = {z:g}, a = {ratio:g}", r)
    notes.show("X", "reactance per unit", "a R", r * ratio)
    return complex(r, r * ratio)


def _devices(given: TransformerGiven, notes: Notes, primary: float, secondary: float) -> Devices:
    if given.practice == "iec":
        alone = given.protection == "primary_only"
        return Devices(
            primary,
            rating_at_least("iec", primary),
            None if alone else secondary,
            None if alone else rating_at_least("iec", secondary),
        )
    rows = TRANSFORMER_DEVICE_LIMITS.rows
    least = float(rows["least_rated_current"])
    if min(primary, secondary) < least:
        notes.check(
            "device_rule_not_covered",
            f"A rated current of {min(primary, secondary):.3g} A is below {least:g} A, where other multiples hold.",
            resolve="Read NEC Table 450.3(B) for small currents.",
            field="/rated_apparent_power",
            references=(TRANSFORMER_DEVICE_LIMITS.reference.id,),
        )
        return Devices()
    factors = rows[given.protection]
    limit = float(factors["primary"]) * primary
    notes.show("I_p", "limit of the primary device", f"{factors['primary']:g} x {primary:.5g}", limit, "A")
    if given.protection == "primary_only":
        return Devices(limit, rating_at_least("nec", limit))
    second = float(factors["secondary"]) * secondary
    notes.show("I_q", "limit of the secondary device", f"{factors['secondary']:g} x {secondary:.5g}", second, "A")
    return Devices(limit, rating_at_most("nec", limit), second, rating_at_least("nec", second))


def _tell_missing(notes: Notes, devices: Devices) -> None:
    for side, limit, standard in (
        ("primary", devices.primary, devices.primary_standard),
        ("secondary", devices.secondary, devices.secondary_standard),
    ):
        if limit is not None and standard is None:
            notes.check(
                "device_rule_not_covered",
                f"No standard rating reaches the {limit:.5g} A of the {side} side.",
                resolve="Two transformers, or an engineered device.",
                field="/rated_apparent_power",
            )


def _regulation(notes: Notes, z: complex, power_factor: float) -> Regulation:
    """R and X of `z` are scaled to the load already."""
    sin = math.sqrt(max(0.0, 1 - power_factor * power_factor))
    along = z.real * power_factor + z.imag * sin
    across = z.imag * power_factor - z.real * sin
    exact = 1 + along - math.sqrt(along * along + 1 - abs(z) ** 2)
    text = f"R = {z.real:.5g}, X = {z.imag:.5g} at the load, cos = {power_factor:g}"
    notes.show("A", "regulation, short form", f"R cos + X sin, {text}", along)
    notes.show("reg", "regulation", "1 + A - sqrt(A^2 + 1 - X^2 - R^2)", exact)
    return Regulation(along, along + across * across / 2, exact)


def _starting_drop(given: TransformerGiven, notes: Notes, z: complex) -> float | UnsetType:
    """The machine as a constant impedance behind the transformer's, ohm on the secondary."""
    if isinstance(given.starting_current, UnsetType):
        return UNSET
    current, cos = given.starting_current.to("A"), given.starting_power_factor
    motor = given.secondary_voltage.value / (ROOT3 * current) * complex(cos, math.sqrt(1 - cos * cos))
    drop = 1 - abs(motor) / abs(motor + z)
    notes.show(
        "d",
        "voltage lost at the start",
        f"1 - |Z_m| / |Z_m + Z_t|, |Z_m| = {abs(motor):.5g} ohm, |Z_t| = {abs(z):.5g} ohm",
        drop,
    )
    return tidy(drop)


def _amps(current: float | None) -> Current | UnsetType:
    return UNSET if current is None else Current.of(current, "A")
