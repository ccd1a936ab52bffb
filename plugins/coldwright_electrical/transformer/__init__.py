"""A transformer between site and machine: size, devices, regulation, inrush, fault current and grounding."""

from msgspec import UNSET, UnsetType

from coldwright.contract import Allowed, Notes, calculator, refuse, tidy
from coldwright.contract.quantities import ApparentPower, Current, Voltage
from coldwright_basis.ratings import IEC_RATED_CURRENTS, OVERCURRENT_RATINGS
from coldwright_basis.voltages import VOLTAGE_PAIRS
from coldwright_electrical.shared.cautions import family
from coldwright_electrical.shared.practice import FREQUENCY_UNUSUAL, unusual_frequency
from coldwright_electrical.shared.references import SAFE_WORK
from coldwright_electrical.shared.transformers import (
    TRANSFORMER_DEVICE_LIMITS,
    TRANSFORMER_RATINGS,
    TRANSFORMER_USUAL_DATA,
)
from coldwright_electrical.transformer import findings as findings
from coldwright_electrical.transformer.contradictions import refuse_contradictions
from coldwright_electrical.transformer.devices import devices_of, report_missing
from coldwright_electrical.transformer.examples import EXAMPLES
from coldwright_electrical.transformer.given import GREATEST_LOAD, TransformerGiven
from coldwright_electrical.transformer.rating import impedance_of, rating_of
from coldwright_electrical.transformer.regulation import ROOT3, regulation_of, starting_drop_of
from coldwright_electrical.transformer.results import TransformerResults


@calculator(
    "electrical.transformer",
    version="1.0.3",
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
    examples=EXAMPLES,
)
def transformer(given: TransformerGiven, notes: Notes) -> TransformerResults:
    """Choose or check a three-phase dry-type transformer where machine and site differ in voltage.

    Rating: load x (1 + growth), next one made. Devices: NEC Table 450.3(B), or the rated current in IEC practice.
    Regulation exact for a constant primary voltage, beside its short forms. Up to 690 V on both sides.
    """
    refuse_contradictions(given)
    notes.caution(*family(given.practice))
    if text := unusual_frequency(given.practice, given.frequency.value):
        notes.check(FREQUENCY_UNUSUAL, text, field="/frequency")
    kva = rating_of(given, notes)
    impedance = impedance_of(given, notes, kva)
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
    notes.show("I_1", "Rated primary current", f"S / (sqrt3 V) = {kva * 1000:g} / (sqrt3 x {v1:g})", primary, "A")
    notes.show("I_2", "Rated secondary current", f"S / (sqrt3 V) = {kva * 1000:g} / (sqrt3 x {v2:g})", secondary, "A")
    devices = devices_of(given, notes, primary, secondary)
    report_missing(notes, devices)
    share = load / kva
    regulation = regulation_of(notes, impedance * share, given.power_factor)
    at_load = v2 * (1 - regulation.exact)
    inrush = given.inrush_multiple * primary
    notes.show("I_0", "First inrush", f"{given.inrush_multiple:g} x {primary:.5g}", inrush, "A")
    fault = secondary / abs(impedance)
    notes.show("I_sc", "Secondary fault current", f"I_2 / z = {secondary:.5g} / {abs(impedance):.5g}", fault, "A")
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
        primary_device_maximum_calculated=_amperes(devices.primary),
        primary_device_maximum_standard=_amperes(devices.primary_standard),
        secondary_device_maximum_calculated=_amperes(devices.secondary),
        secondary_device_maximum_standard=_amperes(devices.secondary_standard),
        regulation_approximate_fraction=tidy(regulation.approximate),
        regulation_quadratic_fraction=tidy(regulation.quadratic),
        regulation_fraction=tidy(regulation.exact),
        secondary_voltage_at_load=Voltage.of(at_load, "V"),
        inrush_current=Current.of(inrush, "A"),
        secondary_fault_current=Current.of(fault, "A"),
        starting_drop_fraction=starting_drop_of(given, notes, impedance * v2 * v2 / (kva * 1000)),
    )


def _amperes(current: float | None) -> Current | UnsetType:
    return UNSET if current is None else Current.of(current, "A")
