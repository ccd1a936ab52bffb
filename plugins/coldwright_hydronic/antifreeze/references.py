"""Sources of antifreeze alone."""

from coldwright.contract import Reference

BURST_TABLES = Reference(
    id="glycol_burst_tables",
    title="Published burst-protection tables of glycol mixtures",
    provenance="memory",
    remark="Recalled, such as 22 % ethylene and 24 % propylene by volume at 0 degF. They sit at an ice fraction of "
    "0.25 to 0.35 on the freezing line; the rule here takes 0.25.",
)
