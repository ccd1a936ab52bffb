"""Sources of air removal alone."""

from coldwright.contract import Reference
from coldwright_hydronic.shared.references import NOT_SEEN

CLEARING = Reference(
    id="sanks_clearing_velocity",
    title="Sanks, Pumping Station Design: velocity that clears air from a falling line, after Wisner and others, "
    "J. Hydraul. Div. ASCE 101(HY2)",
    edition="1975 (Wisner)",
    provenance="seen_reproduced",
    remark="Formula read as quoted, title of the paper seen. Tests on larger bores: count 10 % in.",
)

LEAST_VELOCITY = Reference(
    id="ashrae_air_velocity",
    title="ASHRAE Handbook, hydronic systems: velocity that carries air along",
    edition=NOT_SEEN,
    provenance="memory",
    remark="2 ft/s up to 2 in; in larger pipe about 0.75 ft per 100 ft of drop.",
)
