"""Sources of the site family that stand behind no table, each with how well it was seen. Named by `id`."""

from coldwright.contract import Reference

PRACTICE = Reference(
    id="site_practice",
    title="Practice of lifting, placing and moving hired machines",
    provenance="common_practice",
    remark="Common practice, no source. The maker's data and the competent person prevail.",
)
STATICS = Reference(
    id="site_statics",
    title="Equilibrium of forces and moments, written out in the working",
    provenance="derived",
)
# --- lifting -------------------------------------------------------------------------------------------------------
SLING_TWO_LEGS = Reference(
    id="two_leg_sling_off_centre",
    title="University course page on rigging: two-leg sling with the load off centre",
    clause="T1 = W D2 S1 / (H (D1 + D2))",
    provenance="seen",
    remark="The page's own example uses leg lengths that do not fit its height; only the equation is taken.",
)
NAVY_RIGGING = Reference(
    id="navy_steelworker_rigging",
    title="US Navy Steelworker manual, rigging chapter: four-leg bridle on a rigid load",
    provenance="seen",
    remark="Two of the four legs may carry nearly all of a rigid load.",
)
ASME_B30_9 = Reference(
    id="asme_b30_9",
    title="ASME B30.9, Slings",
    edition="no edition seen",
    clause="horizontal angle less than 30 deg",
    provenance="memory",
)
EN_13000 = Reference(
    id="en_13000_wind",
    title="EN 13000 and FEM 5.016: wind speed allowed for a load with a large face",
    edition="no edition seen",
    clause="v = v_chart sqrt(1.2 m / (cw A)), m in t, A in m2",
    provenance="memory",
)
OSHA_1926_1402 = Reference(
    id="osha_1926_1402", title="29 CFR 1926.1402, Ground conditions", edition="2024-04-18", provenance="seen"
)
OSHA_1926_1424 = Reference(
    id="osha_1926_1424",
    title="29 CFR 1926.1424, Work area control: swing radius",
    edition="undated copy",
    provenance="seen",
)
OSHA_1926_1417 = Reference(
    id="osha_1926_1417",
    title="29 CFR 1926.1417, Operation of cranes: storm warnings, wind, ice and snow (OSHA 3433, small entity guide)",
    edition="2005 numbering",
    provenance="seen_reproduced",
)
OSHA_1910_178_APP_A = Reference(
    id="osha_1910_178_app_a",
    title="29 CFR 1910.178 Appendix A, Stability of powered industrial trucks",
    edition="undated copy",
    clause="A-5, allowable load moment",
    provenance="seen",
)
OSHA_TRUCK_ETOOL = Reference(
    id="osha_truck_etool",
    title="OSHA eTool, Powered industrial trucks: load composition",
    edition="not named by the reproduction",
    clause="capacity times rated centre over actual centre",
    provenance="seen_reproduced",
)
# --- ground --------------------------------------------------------------------------------------------------------
DUERR = Reference(
    id="duerr_crane_mats",
    title="D. Duerr, Effective Bearing Length of Crane Mats",
    edition="2010",
    clause="equations 1 to 8",
    provenance="seen",
)
CICA = Reference(
    id="crane_council_outrigger_rule",
    title="Queensland mobile crane code of practice [as a trade magazine of the Australian crane council has it]",
    clause="outrigger force 0.65 (crane + load + rigging); pad side sqrt(force / pressure)",
    provenance="seen_reproduced",
)
EN_1997_1 = Reference(
    id="en_1997_1",
    title="EN 1997-1, Geotechnical design",
    edition="2004",
    clause="2.5, 6.4(5), Annex G",
    provenance="seen_reproduced",
    remark="Read as described by a public course: presumed bearing resistance, by prescriptive measures, for rock alone and "
    "none for soil; values for soil are national.",
)
NP_112 = Reference(
    id="np_112_2014",
    title="NP 112, Romanian code for the design of shallow foundations, used with EN 1997-1",
    edition="2014",
    clause="Annex D, Table D.1",
    provenance="seen_reproduced",
    remark="Rock 1,000 to 6,000 kPa, marl 350 to 1,100 kPa: read as a public program has it. The least is taken.",
)
# --- placement -----------------------------------------------------------------------------------------------------
NFPA_37 = Reference(
    id="nfpa_37",
    title="NFPA 37, Stationary combustion engines and gas turbines",
    edition="2010",
    clause="4.1.4",
    provenance="seen_reproduced",
    remark="5 ft from openings and combustible walls, with two exceptions.",
)
IFC = Reference(
    id="ifc_503_507",
    title="International Fire Code: fire lanes and hydrants",
    edition="no edition seen",
    clause="503, 507.5.5",
    provenance="memory",
)
ASHRAE_15 = Reference(
    id="ashrae_15_relief",
    title="ASHRAE 15, Safety standard for refrigeration systems: relief 20 ft from windows, intakes and exits, 15 ft up [as a "
    "city code for machinery rooms has it]",
    edition="not named by the city code",
    provenance="seen_reproduced",
    remark="Read in the city code, which names no edition; ASHRAE 15 itself from memory.",
)
# --- sound ---------------------------------------------------------------------------------------------------------
ISO_9613_2 = Reference(
    id="iso_9613_2",
    title="ISO 9613-2, Attenuation of sound during propagation outdoors",
    edition="1996",
    clause="equations 3 to 18, Table 3",
    provenance="memory",
    remark="Proved by the test cases of ISO/TR 17534-3.",
)
TR_17534_3 = Reference(
    id="iso_tr_17534_3",
    title="ISO/TR 17534-3, test cases for ISO 9613-2",
    edition="2015",
    clause="T01, T02, T08",
    provenance="seen_reproduced",
    remark="Values as quoted in public test suites.",
)
KURZE_ANDERSON = Reference(
    id="kurze_anderson",
    title="Kurze and Anderson's formula for the attenuation of a thin screen",
    clause="5 + 20 log10( sqrt(2 pi N) / tanh sqrt(2 pi N) ), at most 24 dB",
    provenance="memory",
)
ACOUSTICS = Reference(
    id="point_source_acoustics",
    title="Spreading of a point source and sums of levels, written out in the working",
    provenance="derived",
)
EPA_LDN = Reference(
    id="epa_550_9_74_004",
    title="EPA 550/9-74-004: day-night level, night from 22 to 07 with 10 dB",
    edition="1974, by its number",
    provenance="seen_reproduced",
)
OSHA_1910_95 = Reference(
    id="osha_1910_95_app_a",
    title="29 CFR 1910.95, Occupational noise exposure",
    edition="undated copy",
    clause="Appendix A, Tables G-16 and G-16a",
    provenance="seen",
    remark="That levels under 80 dBA do not enter the dose is from memory.",
)
NIOSH_98_126 = Reference(
    id="niosh_98_126",
    title="NIOSH 98-126, Criteria for occupational noise exposure",
    edition="1998, by its number",
    clause="85 dBA, exchange of 3 dB",
    provenance="seen_reproduced",
)
# --- transport -----------------------------------------------------------------------------------------------------
FMCSA_393 = Reference(
    id="fmcsa_393",
    title="49 CFR 393.106 and 393.110, Protection against shifting and falling cargo",
    edition="not named by the reproduction",
    provenance="seen_reproduced",
)
DIRECTIVE_2014_47 = Reference(
    id="directive_2014_47_eu",
    title="Directive 2014/47/EU, Annex III: principles of cargo securing",
    edition="consolidated 2022-09-27",
    clause="Annex III, I.1",
    provenance="seen_reproduced",
    remark="0.8 of the weight forward, 0.5 sideways and rearward, and no tilting: read in a search of Union law.",
)
# --- weather -------------------------------------------------------------------------------------------------------
NWS_HEAT_INDEX = Reference(
    id="nws_heat_index",
    title="National Weather Service: heat index equation (Rothfusz SR 90-23, with adjustments)",
    provenance="seen",
)
NWS_WIND_CHILL = Reference(id="nws_wind_chill", title="National Weather Service: wind chill", provenance="seen")
OSHA_LIGHTNING = Reference(
    id="osha_noaa_lightning",
    title="OSHA and NOAA fact sheet: lightning safety when working outdoors",
    edition="not named by the reproduction",
    clause="30 minutes after the last thunder",
    provenance="seen_reproduced",
)
ASCE_7 = Reference(
    id="asce_7_velocity_pressure",
    title="ASCE 7: velocity pressure, exposure C",
    edition="not named by the pages read",
    clause="q = 0.00256 Kz Kzt Kd V^2; Kz = 2.01 (z/900)^(2/9.5), z at least 15 ft",
    provenance="seen_reproduced",
    remark="The pages read name no edition.",
)
