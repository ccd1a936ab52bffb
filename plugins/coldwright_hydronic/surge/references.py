"""Sources of surge alone."""

from coldwright.contract import Reference
from coldwright_hydronic.shared.references import NOT_SEEN

JOUKOWSKY = Reference(
    id="joukowsky_michaud",
    title="Water hammer: Joukowsky's rise, Michaud's linear closing, Korteweg's wave speed in an elastic wall",
    provenance="derived",
    remark="Closed forms, written out in the working.",
)

TM_5_813_9 = Reference(
    id="tm_5_813_9",
    title="TM 5-813-9, Water supply: pumping stations",
    edition="6 October 1992",
    clause="Figure 4-5",
    provenance="seen",
    remark="It takes g as 32 ft/s2.",
)

ISO_6801 = Reference(
    id="iso_6801",
    title="ISO 6801, Rubber or plastics hoses: determination of volumetric expansion",
    edition=NOT_SEEN,
    provenance="memory",
)

GLYCOL_BULK_MODULUS = Reference(
    id="glycol_bulk_modulus",
    title="Bulk modulus of glycol mixtures",
    provenance="memory",
    remark="3.0 GPa, on the safe side: a stiffer liquid surges higher.",
)
