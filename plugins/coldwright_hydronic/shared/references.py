"""Sources of the hydronic family, each with how well it was seen. Calculators name them by `id`."""

from typing import Final

from coldwright.contract import Reference

NOT_SEEN: Final = "no edition seen"
NOT_NAMED: Final = "not named by the reproduction"
UNDATED: Final = "undated copy"

PRACTICE = Reference(
    id="hydronic_practice",
    title="Practice of the trade of temporary chilled-water loops",
    provenance="common_practice",
    remark="Common practice, no source. Data of the part in hand prevail.",
)

FIRST_PRINCIPLES = Reference(
    id="hydronic_first_principles",
    title="Balances of mass, energy and force, and affinity laws, written out in the working",
    provenance="derived",
)

WATER_PROPERTIES = Reference(
    id="water_properties",
    title="CoolProp, backend IF97: IAPWS Industrial Formulation 1997 for water",
    edition="CoolProp 8.0.0",
    provenance="library",
    remark="Within 0.002 % of the density and 0.06 % of the specific heat of IAPWS-95 between 0.5 and 95 degC.",
)

GLYCOL_PROPERTIES = Reference(
    id="glycol_properties",
    title="CoolProp, incompressible liquids MEG and MPG: coefficients of Melinder",
    edition="CoolProp 8.0.0",
    clause="mass fraction 0 to 0.60, freezing point to 100 degC",
    provenance="library",
    remark="Plain glycol and water. Inhibited fluids differ: density by +0.3 to +0.4 %, specific heat by about -0.6 %, "
    "viscosity by up to 10 %, freezing point by 0.5 to 1 K.",
)

INHIBITED_GLYCOL_PROPERTIES = Reference(
    id="inhibited_glycol_properties",
    title="CoolProp, incompressible liquids AEG and APG: fits of the ASHRAE tables of inhibited glycols",
    edition="CoolProp 8.0.0",
    clause="volume fraction 0.10 to 0.60, -35 to 100 degC",
    provenance="library",
)

CRC_DENSITIES = Reference(
    id="crc_handbook_densities",
    title="CRC Handbook of Chemistry and Physics: densities of water and the pure glycols at 20 degC",
    edition=NOT_SEEN,
    provenance="memory",
    remark="998.2, 1113.2 (ethylene) and 1036.1 kg/m3 (propylene). Contraction on mixing is neglected.",
)

FLUIDS = Reference(
    id="fluids_library",
    title="fluids, library of fluid dynamics: friction factor (64/Re, Colebrook) and valve coefficients",
    edition="1.3.1",
    provenance="library",
)

WHITE = Reference(
    id="white_fluid_mechanics",
    title="White, Fluid Mechanics",
    edition="4th",
    clause="remark after Example 6.6, quoting Moody (1944)",
    provenance="seen",
    remark="The Colebrook equation is good to 10 % at best, for clean pipe too.",
)

CRANE_ROUGHNESS = Reference(
    id="crane_tp410_7_14",
    title="Crane TP-410, Flow of Fluids [as worked in the documentation of the library fluids]",
    edition="2009",
    clause="Example 7.14",
    provenance="seen",
    remark="Roughness of commercial steel, 0.0018 in.",
)

CRANE_NPSH = Reference(
    id="crane_tp410_7_32",
    title="Crane TP-410, Flow of Fluids [as worked in the documentation of the library fluids]",
    edition="2009",
    clause="Example 7.32",
    provenance="seen",
    remark="Suction head of 1.3 times the need.",
)

CRANE_PUMPS = Reference(
    id="crane_tp410_7_33_7_34",
    title="Crane TP-410, Flow of Fluids [as worked in the documentation of the library fluids]",
    edition="2009",
    clause="Examples 7.33 and 7.34",
    provenance="seen",
    remark="Affinity laws; brake and motor power.",
)

MOODY_DRAWN_TUBE = Reference(
    id="moody_drawn_tubing",
    title="Moody, Friction factors for pipe flow: drawn tubing [as in the table of the library fluids]",
    edition="1944",
    provenance="seen",
)

VALVE_SIZING = Reference(
    id="iec_60534_2_1",
    title="IEC 60534-2-1, Industrial-process control valves: flow capacity",
    edition=NOT_SEEN,
    provenance="memory",
    remark="Form of the equation for turbulent liquid flow; Kv = 0.865 Cv as in the library fluids.",
)

HI_NPSH = Reference(
    id="hi_9_6_1",
    title="ANSI/HI 9.6.1, Rotodynamic pumps: guideline for NPSH margin",
    edition=NOT_SEEN,
    provenance="memory",
)

HI_REGION = Reference(
    id="hi_9_6_3",
    title="ANSI/HI 9.6.3, Rotodynamic pumps: guideline for operating regions",
    edition=NOT_SEEN,
    provenance="memory",
)

HI_VISCOSITY = Reference(
    id="hi_9_6_7",
    title="ANSI/HI 9.6.7, Rotodynamic pumps: effects of liquid viscosity on performance",
    edition=NOT_SEEN,
    provenance="memory",
)

VA_HVAC_MANUAL = Reference(
    id="va_hvac_manual",
    title="US Department of Veterans Affairs, HVAC Design Manual (for nursing homes; the same for hospitals), pipe sizing",
    edition="the copies seen bear no date",
    clause="1.3.15.3 (hospitals)",
    provenance="seen",
    remark="Closed systems 4 ft/100 ft, 4 ft/s in occupied areas, 8 ft/s in mains; open systems 10 ft/s.",
)

VA_GLYCOL_TABLES = Reference(
    id="va_hvac_manual_glycol",
    title="US Department of Veterans Affairs, HVAC Design Manual, glycol corrections",
    edition=UNDATED,
    clause="Tables 2-4 and 2-5",
    provenance="seen",
)

MIL_HDBK_1003_8A = Reference(
    id="mil_hdbk_1003_8a",
    title="MIL-HDBK-1003/8A, Exterior distribution of steam, high temperature water, chilled water, natural gas, and "
    "compressed air",
    edition="15 August 1990, with change 2 of 30 December 1991",
    provenance="seen",
    remark="Least velocity 2 ft/s, set for hot-water mains.",
)

GAUGE_RANGES = Reference(
    id="en_837",
    title="EN 837, Pressure gauges: series of ranges, and reading a steady pressure below three quarters of the range",
    edition="1996 for the ranges 100, 250 and 600, by a public copy of part 1; no edition seen for the rest",
    provenance="memory",
)

ICAO_ATMOSPHERE = Reference(
    id="icao_standard_atmosphere",
    title="ICAO standard atmosphere: barometric formula of the lowest layer",
    edition=NOT_SEEN,
    provenance="memory",
    remark="p = 101.325 kPa (1 - 2.25577e-5 z)^5.25588, z in metres.",
)

OSHA_STORED_ENERGY = Reference(
    id="osha_1910_147_stored_energy",
    title="29 CFR 1910.147, Control of hazardous energy: stored or residual energy",
    edition=NOT_SEEN,
    provenance="memory",
)

ASME_B31_9 = Reference(
    id="asme_b31_9",
    title="ASME B31.9, Building services piping: leak testing",
    edition=NOT_SEEN,
    provenance="memory",
)

COUPLING_DIMENSIONS = Reference(
    id="cid_a_a_59326",
    title="Commercial Item Description A-A-59326, Coupling halves, quick-disconnect, cam-locking type",
    edition=UNDATED,
    provenance="seen",
    remark="Title and scope only.",
)

COUPLING_EN = Reference(
    id="en_14420_7",
    title="EN 14420-7, Hose fittings with clamp units: cam locking couplings",
    edition=NOT_SEEN,
    provenance="memory",
)

ETHYLENE_TOXICITY = Reference(
    id="health_canada_ethylene_glycol",
    title="Health Canada, assessment of ethylene glycol as a hazardous substance",
    provenance="seen",
    remark="Published estimate of the lethal human dose: 1570 mg/kg.",
)

PROPYLENE_TOXICITY = Reference(
    id="atsdr_case_study_30",
    title="ATSDR, Case studies in environmental medicine no. 30: ethylene and propylene glycol toxicity",
    edition="1993",
    provenance="seen",
)

NPDES = Reference(
    id="cfr_40_122",
    title="40 CFR 122, National Pollutant Discharge Elimination System",
    edition=NOT_SEEN,
    provenance="memory",
)

PRETREATMENT = Reference(
    id="cfr_40_403_5",
    title="40 CFR 403.5(b), National pretreatment standards: specific prohibitions",
    edition=NOT_NAMED,
    provenance="seen_reproduced",
    remark="Read as a state's code, 3745-3-04 of Ohio, and pages of the agency have it.",
)

BACKFLOW_IRC = Reference(
    id="irc_2018_p2902",
    title="International Residential Code",
    edition="2018",
    clause="P2902.3.3",
    provenance="seen",
    remark="A vented intermediate preventer is barred where hazardous chemicals are added downstream.",
)

BACKFLOW_IPC = Reference(
    id="ipc_608_17_2",
    title="International Plumbing Code [as quoted in a trade forum]",
    edition=NOT_NAMED,
    clause="608.17.2",
    provenance="seen_reproduced",
)

LEGIONELLA_WHO = Reference(
    id="who_legionella",
    title="World Health Organization, Legionella and the prevention of legionellosis [as quoted in a public forum]",
    edition=NOT_NAMED,
    provenance="seen_reproduced",
    remark="Growth is fastest at about 25 to 45 degC, little below 20 degC.",
)

LEGIONELLA_ASHRAE = Reference(
    id="ashrae_188",
    title="ANSI/ASHRAE Standard 188, Legionellosis: risk management for building water systems",
    edition=NOT_SEEN,
    provenance="memory",
)

PROPERTY_REFERENCES = (WATER_PROPERTIES, GLYCOL_PROPERTIES, INHIBITED_GLYCOL_PROPERTIES, CRC_DENSITIES)
"""What `coldwright_basis.liquids` rests on: for every calculator that takes a `fluid`."""

CAUTION_REFERENCES = (
    OSHA_STORED_ENERGY,
    ASME_B31_9,
    COUPLING_DIMENSIONS,
    COUPLING_EN,
    ETHYLENE_TOXICITY,
    PROPYLENE_TOXICITY,
    NPDES,
    PRETREATMENT,
    BACKFLOW_IRC,
    BACKFLOW_IPC,
    LEGIONELLA_WHO,
    LEGIONELLA_ASHRAE,
)
"""What the family's cautions point to."""
