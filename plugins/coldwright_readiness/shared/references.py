"""Sources that the readiness calculators cite."""

from coldwright.contract import Reference

COMMON_PRACTICE = Reference(
    id="readiness_common_practice",
    title="Common practice in hiring out and setting up liquid chillers",
    provenance="common_practice",
    remark="No source. Durations of work, the hour of oil heat, filling pressures and ages of readings stand on it.",
)
LOCKOUT = Reference(
    id="readiness_lockout",
    title="29 CFR 1910.147, The control of hazardous energy (lockout/tagout)",
    edition="undated copy",
    clause="(d): prepare, shut down, isolate, lock, relieve stored energy, verify",
    provenance="seen",
    remark="Read in a reprint.",
)
DEENERGISE = Reference(
    id="readiness_deenergise",
    title="29 CFR 1910.333, Selection and use of work practices",
    edition="not named by the reproduction",
    clause="(b)(2): de-energise, lock, verify; push buttons, selector switches and interlocks do not isolate",
    provenance="seen_reproduced",
    remark="Read as adopted in WAC 296-24-975; the federal text itself from memory.",
)
QUALIFIED = Reference(
    id="readiness_qualified",
    title="29 CFR 1910.332 and 1910.333, Training and work practices",
    edition="no edition seen",
    clause="work on or near exposed parts is for qualified persons",
    provenance="memory",
)
ELECTRICAL_SAFETY = Reference(
    id="readiness_electrical_safety",
    title="NFPA 70E, Standard for Electrical Safety in the Workplace",
    edition="no edition seen",
    clause="120.5: establishing an electrically safe work condition",
    provenance="memory",
)
MOTOR_SUPPLY = Reference(
    id="readiness_motor_supply",
    title="NEMA MG 1, Motors and Generators",
    edition="condensed",
    clause="12.44.1: volts within 10 %, hertz within 5 %; unbalance = greatest deviation from the mean / mean; "
    "derating above 1 %, no running above 5 %",
    provenance="seen",
)
MACHINE_CIRCUIT = Reference(
    id="readiness_machine_circuit",
    title="National Electrical Code (NFPA 70)",
    edition="no edition seen",
    clause="Article 440: minimum circuit ampacity and maximum overcurrent device of the data plate; Article 250: "
    "equipment grounding",
    provenance="memory",
)
TRANSFER = Reference(
    id="readiness_transfer",
    title="National Electrical Code (NFPA 70)",
    edition="no edition seen",
    clause="702.5: transfer equipment that keeps two sources apart",
    provenance="memory",
)
INSULATION = Reference(
    id="readiness_insulation",
    title="IEC 60364-6, Low-voltage electrical installations: Verification",
    edition="no edition seen",
    clause="Table 6.1: at least 1 megohm at 500 V d.c. up to 500 V, 1,000 V d.c. above",
    provenance="memory",
)
HIGH_POINT = Reference(
    id="readiness_high_point",
    title="Handbook practice for closed water loops",
    clause="about 4 psi above the atmosphere at the highest point, so that air does not come out or get in",
    provenance="memory",
)
HYDROSTATICS = Reference(
    id="readiness_hydrostatics",
    title="Hydrostatics: pressure falls by density x g x height",
    clause="density 998 kg/m3 for water, 1,060 kg/m3 for a glycol (safe side); g = 9.80665 m/s2",
    provenance="derived",
)
SCHEDULING = Reference(
    id="readiness_scheduling",
    title="Critical path method and list scheduling on an acyclic graph of activities",
    clause="forward pass, backward pass, longest path to the end as priority",
    provenance="derived",
)
HEAT_BALANCE = Reference(
    id="readiness_heat_balance",
    title="Heat balance of a well-mixed loop",
    clause="Q = rho cp V (T_in - T_out); C dT/dt = Q_load - Q_cooling",
    provenance="derived",
)
FLUID_DATA = Reference(
    id="readiness_fluid_data",
    title="CoolProp: IAPWS-IF97 water, incompressible MEG and MPG by mass fraction",
    edition="8.0.0",
    provenance="library",
)
GLYCOL_FREEZING = Reference(
    id="readiness_glycol_freezing",
    title="Lange's Handbook of Chemistry",
    edition="15th",
    clause="Table 5.13: freezing point of propylene glycol by volume",
    provenance="seen",
)
REFRIGERANT_LEAKS = Reference(
    id="readiness_refrigerant_leaks",
    title="40 CFR 82.157, Appliance maintenance and leak repair",
    edition="in force since 2020-04-10",
    clause="leak rates of 10, 20 and 30 % for 50 lb or more of ozone-depleting refrigerant",
    provenance="seen",
)
REFRIGERANT_WORK = Reference(
    id="readiness_refrigerant_work",
    title="40 CFR Part 82 Subpart F, Recycling and emissions reduction",
    edition="no edition seen",
    clause="certified technicians; no knowing release of refrigerant",
    provenance="memory",
)
STILL_WATER = Reference(
    id="readiness_still_water",
    title="Lumped cooling of still water in a hose",
    clause="t = rho cp D / (4 h) ln((T0 - Ta) / (0 - Ta)), rho cp = 4.2 MJ/m3.K",
    provenance="derived",
    remark="Outside coefficients of 10, 15 and 25 W/m2.K for still air, light wind and wind are from memory of handbooks.",
)
CANONICAL_RECORD = Reference(
    id="readiness_canonical_record",
    title="SHA-256 over JSON with sorted keys, no spaces, UTF-8, shortest form of numbers",
    provenance="derived",
)
