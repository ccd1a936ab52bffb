"""What the plan rests on beside the calculators that it asks."""

from coldwright.contract import Reference

PRACTICE = Reference(
    id="booking_practice",
    title="Usual practice of hiring out temporary cooling; no published source",
    provenance="common_practice",
)
DIN_VDE_0105_100 = Reference(
    id="din_vde_0105_100",
    title="DIN VDE 0105-100, Operation of electrical installations: distances from overhead lines",
    clause="Table 103",
    provenance="seen_reproduced",
    remark="As printed in DGUV Vorschrift 70 DA, to 54 (1): 1, 3, 4 and 5 m. No plan is held to it.",
)
PANEL_PROTECTION = Reference(
    id="panel_protection",
    title="National Electrical Code (NFPA 70), 408.36; IEC 60364-4-43, 433",
    clause="the device before a panel is not above its rating",
    provenance="memory",
)
