"""What the plan rests on beside the calculators that it asks."""

from coldwright.contract import Reference

PRACTICE = Reference(
    id="booking_practice",
    title="Usual practice of hiring out temporary cooling; no published source",
    provenance="common_practice",
)
EN_12195_1 = Reference(
    id="en_12195_1",
    title="EN 12195-1, Load restraining on road vehicles: calculation of securing forces",
    edition="2010",
    provenance="seen_reproduced",
    remark="Its scope is read in a catalogue of standards: vehicles above 3,500 kg. Its coefficients were not seen.",
)
EN_1997_1 = Reference(
    id="en_1997_1",
    title="EN 1997-1, Geotechnical design",
    clause="6.4(5), Annex G",
    provenance="seen_reproduced",
    remark="Read as described by a public course: presumed bearing resistance for rock alone, and none for soil; values "
    "for soil are national.",
)
