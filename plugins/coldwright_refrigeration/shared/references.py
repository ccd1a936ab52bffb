"""Sources of the refrigeration family, each with how well it was seen. Calculators name them by `id`."""

from coldwright.contract import Reference

PRACTICE = Reference(
    id="refrigeration_practice",
    title="Practice of the chiller hire and service trade",
    provenance="common_practice",
    remark="Common practice, no source. A figure from the machine's own data prevails.",
)
FIRST_PRINCIPLES = Reference(
    id="refrigeration_first_principles",
    title="Heat and mass balances written out in the working",
    provenance="derived",
)
# --- libraries ---------------------------------------------------------------------------------------------------
COOLPROP = Reference(
    id="coolprop",
    title="CoolProp, thermophysical properties of fluids, refrigerants and humid air",
    edition="8.0.0",
    provenance="library",
)
PSYCHROLIB = Reference(
    id="psychrolib",
    title="PsychroLib, psychrometric functions after ASHRAE Handbook - Fundamentals, chapter 1",
    edition="2.5.0",
    provenance="library",
)
FLUIDS = Reference(
    id="fluids",
    title="fluids, ATMOSPHERE_1976: viscosity and conductivity of air after the U.S. Standard Atmosphere 1976",
    edition="1.3",
    provenance="library",
)
HIGHS = Reference(
    id="highs",
    title="HiGHS, linear programs by the dual simplex method",
    edition="1.16",
    provenance="library",
)
# --- ratings -----------------------------------------------------------------------------------------------------
AHRI_550_590_2015 = Reference(
    id="ahri_550_590_2015",
    title="AHRI Standard 550/590 (I-P), Performance rating of water-chilling packages",
    edition="2015",
    clause="Table 1",
    provenance="seen",
    remark="Leaving 44 degF, entering 54 degF, air 95 degF dry bulb; 2.4 gpm/ton follows from the 10 degF difference.",
)
AHRI_550_590_2011 = Reference(
    id="ahri_550_590_2011",
    title="AHRI Standard 550/590 (I-P), Performance rating of water-chilling packages",
    edition="2011 with Addendum 3",
    clause="Table 10",
    provenance="seen",
    remark="Tolerance 0.105 - 0.07 L + 0.15 / (full-load difference in degF x L).",
)
AHRI_550_590_2023 = Reference(
    id="ahri_550_590_2023",
    title="AHRI Standard 550/590 (I-P), Performance rating of water-chilling packages",
    edition="2023",
    clause="5.2",
    provenance="seen_reproduced",
    remark="Part-load weights 0.01, 0.42, 0.45, 0.12, read in a public source that quotes the clause.",
)
AHRI_PART_LOAD = Reference(
    id="ahri_550_590_part_load",
    title="AHRI Standard 550/590, part-load rating between and below capacity steps",
    edition="no edition seen",
    clause="degradation factor CD = 1.13 - 0.13 LF",
    provenance="memory",
    remark="From memory: confirm against the edition in force.",
)
EN_14511 = Reference(
    id="en_14511_2",
    title="EN 14511-2, Air conditioners, liquid chilling packages and heat pumps: test conditions",
    edition="no edition seen",
    provenance="memory",
    remark="From memory: water 12/7 degC, air 35 degC dry bulb, clean surfaces.",
)
AHRI_FOULING = Reference(
    id="ahri_evaporator_fouling",
    title="AHRI Standard 550/590, evaporator fouling allowance 0.0001 h.ft2.degF/Btu",
    edition="no edition seen",
    provenance="memory",
    remark="From memory: confirm against the edition in force.",
)
NEMA_MG1 = Reference(
    id="nema_mg1_voltage",
    title="NEMA MG 1, Motors and generators: operation within 10 % of rated voltage",
    edition="no edition seen",
    provenance="memory",
    remark="From memory: confirm against the edition in force.",
)
# --- handbooks and papers ----------------------------------------------------------------------------------------
ASHRAE_PSYCHROMETRICS = Reference(
    id="ashrae_fundamentals_ch1",
    title="ASHRAE Handbook - Fundamentals, chapter 1, Psychrometrics",
    edition="2017",
    clause="Example 1; moist air cooling and dehumidification",
    provenance="seen_reproduced",
    remark="Example 1 as restated in the tests of PsychroLib, the cooling-coil example as restated on a public page.",
)
ASHRAE_ATMOSPHERE = Reference(
    id="ashrae_standard_atmosphere",
    title="ASHRAE Handbook - Fundamentals, chapter 1, standard atmosphere p = 101325 (1 - 2.25577e-5 z)^5.2559 Pa",
    edition="2017, as the library PsychroLib names it",
    provenance="library",
    remark="As PsychroLib GetStandardAtmPressure: 83.43 kPa at 1609.344 m.",
)
KERN = Reference(
    id="kern_batch_cooling",
    title="Kern, Process Heat Transfer: cooling of an agitated batch with an isothermal or a flowing coolant",
    provenance="seen_reproduced",
    remark="Equations read in a public worksheet that restates Kern's cases and names no edition; the book is of 1950.",
)
CHURCHILL_BERNSTEIN = Reference(
    id="churchill_bernstein_1977",
    title="Churchill and Bernstein, A correlating equation for forced convection to a circular cylinder in crossflow",
    edition="J. Heat Transfer 99 (1977) 300-306",
    provenance="seen_reproduced",
    remark="Read as coded in an open-source library of heat transfer; confirm against the paper.",
)
GUM = Reference(
    id="jcgm_100_2008",
    title="JCGM 100:2008, Guide to the expression of uncertainty in measurement",
    edition="2008",
    clause="5.1 (uncorrelated), 5.2 (correlated), 6.2 (expanded)",
    provenance="seen",
    remark="Clause 5.1 was read on the publisher's pages; the equations of 5.2 and 6.2 are from memory.",
)
CERVERA_VAZQUEZ = Reference(
    id="cervera_vazquez_2016_run_time",
    title="Cervera-Vazquez et al., Sizing of the buffer tank in chilled water distribution air-conditioning systems",
    edition="Science and Technology for the Built Environment 22(3), 2016",
    provenance="seen",
    remark="Minimum on-time of the compressor as the governing criterion.",
)
TIASA_INSULATION = Reference(
    id="tiasa_insulation_2001",
    title="Thermal Insulation Association of Southern Africa, Thermal Insulation Handbook",
    edition="April 2001",
    clause="4.5, 5.2.3, 5.2.7",
    provenance="seen_reproduced",
    remark="Read in a stored copy: still air to normal, planished and bright surfaces 10.0, 8.0 and 5.7 W/m2.K; cellular "
    "glass 0.040 W/m.K at 10 degC; the outer surface is to stay above the dew point. Its formulas were pictures: ours are "
    "derived.",
)
NIA_CONDENSATION = Reference(
    id="nia_condensation_control",
    title="National Insulation Association, Condensation control for horizontal pipe: design guide",
    provenance="seen",
    remark="Thickness that keeps the average surface above the dew point by 0.75 degF.",
)
HICKS_ENERGY = Reference(
    id="energy_engineering_calculations",
    title="Handbook of Energy Engineering Calculations, room of a generating set: heat and air",
    clause="page 213",
    provenance="seen",
    remark="Airflow = heat x constant / rise: 2625 Btu/min at a rise of 15 degF and a constant of 60 need 10,500 ft3/min.",
)
# --- safety ------------------------------------------------------------------------------------------------------
ASHRAE_15 = Reference(
    id="ashrae_15",
    title="ANSI/ASHRAE Standard 15, Safety standard for refrigeration systems",
    edition="no edition seen",
    provenance="memory",
)
ASHRAE_34 = Reference(
    id="ashrae_34",
    title="ANSI/ASHRAE Standard 34, Designation and safety classification of refrigerants",
    edition="no edition seen",
    provenance="memory",
)
IEC_60335_2_40 = Reference(
    id="iec_60335_2_40",
    title="IEC (UL) 60335-2-40, Particular requirements for electrical heat pumps, air-conditioners and dehumidifiers",
    edition="no edition seen",
    provenance="memory",
)
ASME_VIII = Reference(
    id="asme_bpvc_viii",
    title="ASME Boiler and Pressure Vessel Code, Section VIII",
    edition="no edition seen",
    provenance="memory",
)
CFR_82_F = Reference(
    id="cfr_40_82_f",
    title="40 CFR Part 82 Subpart F, Recycling and emissions reduction",
    edition="as applicable from April 10, 2020",
    clause="82.157",
    provenance="seen",
    remark="The text of 82.157 was read: from that date for ozone-depleting refrigerants alone. Other sections of the subpart "
    "are from memory.",
)
CFR_84_C = Reference(
    id="cfr_40_84_c",
    title="40 CFR Part 84 Subpart C, Management of regulated substances",
    edition="not named by the reproduction",
    clause="84.102, 84.106",
    provenance="seen_reproduced",
    remark="Read in public digests.",
)
EU_2024_573 = Reference(
    id="eu_2024_573",
    title="Regulation (EU) 2024/573 on fluorinated greenhouse gases",
    edition="no edition seen",
    provenance="memory",
)
OSHA_LOCKOUT = Reference(
    id="osha_1910_147_lockout",
    title="29 CFR 1910.147, The control of hazardous energy (lockout/tagout)",
    edition="no edition seen",
    provenance="memory",
)
OSHA_GUARDING = Reference(
    id="osha_1910_212",
    title="29 CFR 1910.212, General requirements for all machines",
    edition="no edition seen",
    provenance="memory",
)
NFPA_70E = Reference(
    id="nfpa_70e_work_practice",
    title="NFPA 70E, Standard for electrical safety in the workplace",
    edition="no edition seen",
    provenance="memory",
)
SAFETY = (ASHRAE_15, CFR_82_F, CFR_84_C, EU_2024_573, ASME_VIII, OSHA_LOCKOUT, OSHA_GUARDING, NFPA_70E)
"""What the cautions of the family cite; a calculator that gives them lists these among its references."""
