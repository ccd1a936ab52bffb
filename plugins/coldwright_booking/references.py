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
    edition="not named by the reproduction",
    clause="Table 103",
    provenance="seen_reproduced",
    remark="As printed in DGUV Vorschrift 70 DA, to 54 (1): 1, 3, 4 and 5 m. No plan is held to it.",
)
ISO_5149_3 = Reference(
    id="iso_5149_3",
    title="ISO 5149-3, Refrigerating systems and heat pumps: installation site",
    edition="2014",
    clause="4.2",
    provenance="seen_reproduced",
    remark="Read in the interstate standard GOST 33662.3-2017, which adopts it: in the open air leaked refrigerant must not "
    "flow into a building. It names no distance.",
)
PANEL_PROTECTION = Reference(
    id="panel_protection",
    title="National Electrical Code (NFPA 70); IEC 60364-4-43, Protection against overcurrent",
    edition="no edition seen",
    clause="NEC 408.36; IEC 433: the device before a panel is not above its rating",
    provenance="memory",
)
