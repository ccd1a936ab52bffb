"""Sources of filling alone."""

from coldwright.contract import Reference
from coldwright_hydronic.shared.references import NOT_NAMED

BUFFER_STUDY = Reference(
    id="cervera_vazquez_2016",
    title="Cervera-Vazquez and others, Sci. Technol. Built Environ. 22(3): sizing of the water volume for chillers",
    edition="2016",
    clause="abstract",
    provenance="seen",
    remark="The least time on governs.",
)

ASHRAE_EXPANSION = Reference(
    id="ashrae_expansion_vessel",
    title="ASHRAE Handbook, HVAC Systems and Equipment: sizing of expansion vessels",
    edition=NOT_NAMED,
    provenance="seen_reproduced",
    remark="Symbols and form read in a public reprint, the coefficients of steel and copper too; the equation itself as "
    "remembered.",
)
