"""What the plan rests on beside the calculators that it asks."""

from coldwright.contract import Reference

PRACTICE = Reference(
    id="booking_practice",
    title="Usual practice of hiring out temporary cooling; no published source",
    provenance="common_practice",
)
