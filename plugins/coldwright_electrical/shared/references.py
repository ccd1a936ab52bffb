"""Sources that the electrical calculators cite. Those of the tables stand in the table files."""

from typing import Final

from coldwright.contract import Reference

NEC: Final = "National Electrical Code (NFPA 70)"

NEC_EDITION: Final = "2023 numbering"
"""Of clauses from memory: the numbers that they have in that edition."""

NOT_SEEN: Final = "no edition seen"
NOT_NAMED: Final = "not named by the reproduction"
UNDATED: Final = "undated copy"

# Circuits of hermetic motors
NEC_440_6 = Reference(
    id="nec_440_6",
    title=NEC,
    edition="2005 or 2008: the text names Tables 310.16 to 310.19",
    clause="440.6(A) Exception 1; 430.6",
    provenance="seen_reproduced",
    remark="440.6(A) is read as quoted in a public thread; 430.6 as quoted elsewhere.",
)

NEC_440_33 = Reference(
    id="nec_440_33",
    title=NEC,
    edition="2020 or later: part 1 of the same series names 310.14",
    clause="440.33; 440.34",
    provenance="seen_reproduced",
    remark="A trade magazine gives the sums in its own words, part 4, February 2023. That 310.14 was 310.15 before 2020 is from "
    "memory.",
)

NEC_430_24 = Reference(
    id="nec_430_24",
    title=NEC,
    edition="2020 or later: the reproduced text names 424.4(B)",
    clause="430.24",
    provenance="seen_reproduced",
    remark="That 424.4(B) was 424.3(B) before 2020 is from memory.",
)

NEC_440_22 = Reference(
    id="nec_440_22",
    title=NEC,
    edition="2023, as paraphrased by a code-reference page",
    clause="440.22(A), (B)",
    provenance="seen_reproduced",
    remark="That page allows the next standard rating up; published worked answers round down, and so is done here.",
)

NEC_430_62 = Reference(
    id="nec_430_62",
    title=NEC,
    edition="2023, by a study guide that was compared with it",
    clause="430.52; 430.62(A)",
    provenance="seen_reproduced",
    remark="430.62(A) is also read word for word in a public thread that names no edition.",
)

NEC_430_62_B = Reference(
    id="nec_430_62_b",
    title=NEC,
    edition="2017",
    clause="430.62(B), a feeder device based on the ampacity of conductors larger than 430.24 asks for",
    provenance="seen_reproduced",
)

NEC_440_12 = Reference(
    id="nec_440_12",
    title=NEC,
    edition="2023: 440.12(A)(1) and 430.109; 2017: 440.14; 2020 or later: 440.12(B)(2)",
    clause="440.12(A)(1), (B)(2); 440.14; 430.109",
    provenance="seen_reproduced",
    remark="440.12(A)(1) by a question bank, (B)(2) by part 2 of a trade magazine's series, December 2022, whose part 1 names "
    "310.14: both in their own words.",
)

NEC_440_4 = Reference(
    id="nec_440_4",
    title=NEC,
    edition="2017 and 2020: 440.4(B), as explained by an author who names them; 2020 or later: 440.35; 2020: 110.3(B)",
    clause="440.4(B); 440.35; 110.3(B)",
    provenance="seen_reproduced",
    remark="440.35 by a trade magazine, part 4 of a series of 2022 and 2023 whose part 1 names 310.14; 110.3(B) by a public thread "
    "of questions on the 2020 code.",
)

NEC_GROUND_FAULT = Reference(
    id="nec_230_95",
    title=NEC,
    edition="2017: 230.95, as quoted in a public thread; not named: 215.10; 2023 numbering: 240.87",
    clause="230.95; 215.10; 240.87",
    provenance="seen_reproduced",
    remark="215.10 by a question and answer of a trade magazine: 1000 A or more at 480Y/277 V. 240.87 is from memory.",
)

NEC_240_85 = Reference(
    id="nec_240_85",
    title=NEC,
    edition="2002, by a training page on its changes",
    clause="240.85",
    provenance="seen_reproduced",
    remark="In that page's own words: a slash rating holds on solidly grounded systems alone.",
)

UL_489 = Reference(
    id="ul_489",
    title="UL 489, Molded-case circuit breakers",
    edition=NOT_SEEN,
    clause="80 percent marking",
    provenance="memory",
)

NEMA_MG_1 = Reference(
    id="nema_mg_1_voltage_limits",
    title="NEMA MG 1, Motors and Generators",
    edition="2011 condensed",
    clause="12.44 (condensed 9.9.1)",
    provenance="seen",
)

# Cables
NEC_240_4 = Reference(
    id="nec_240_4",
    title=NEC,
    edition="2023: 240.4(B), by a table of ratings that names it; 2017: 240.4(D), (G); after 2008: 240.5",
    clause="240.4(B), (D), (G); 240.5",
    provenance="seen_reproduced",
    remark="240.4(D) and (G) by a trade association's code question of October 2017 that names Table 310.15(B)(16); 240.5 by a "
    "trade magazine that names Tables 400.5(A)(1) and (2), which were (A) and (B) in 2005.",
)

NEC_110_14 = Reference(
    id="nec_110_14",
    title=NEC,
    edition="2020 or later: the reproduced text names Table 310.16 and 310.12",
    clause="110.14(C)(1)(a), (b)",
    provenance="seen_reproduced",
    remark="(a) is read word for word, (b) in the words of a reference page. That 310.15(B)(16) was the table's number before "
    "2020 is from memory.",
)

NEC_310_10 = Reference(
    id="nec_310_10",
    title=NEC,
    edition="2017: 310.10(H), as explained by an author who names it",
    clause="310.10(G), older 310.10(H); 300.3(B); 300.20(B)",
    provenance="seen_reproduced",
    remark="310.10(H) is also read word for word in a public thread; 310.10(G) is its newer number. 300.3(B) and 300.20(B) are "
    "from memory.",
)

NEC_400_5 = Reference(
    id="nec_400_5",
    title=NEC,
    edition="2017: the reproduced text names 400.10, 400.12 and Table 310.15(B)(2)(a)",
    clause="400.5(A), note 1 of Table 400.5(A)(2)",
    provenance="seen_reproduced",
    remark="The text is seen, the note is read as quoted. For conductors that touch no column exists: the "
    "three-conductor column is taken, on the safe side.",
)

NEC_250_122 = Reference(
    id="nec_250_122",
    title=NEC,
    edition="2017 and 2020: (B); 2017: (F); as explained by authors who name them",
    clause="250.122(B), (F)",
    provenance="seen_reproduced",
)

NEC_215_2 = Reference(
    id="nec_215_2",
    title=NEC,
    edition="2020 or later: a public thread quotes the note in a text that names 310.14",
    clause="215.2(A), informational note 2: 3 percent on a feeder, 5 percent in all",
    provenance="seen_reproduced",
    remark="A note advises and binds nobody. That 310.14 was 310.15 before 2020 is from memory.",
)

UFC_3_520_01 = Reference(
    id="ufc_3_520_01",
    title="UFC 3-520-01, Interior Electrical Systems",
    edition="10 June 2002",
    clause="B-2.1, B-2.2",
    provenance="seen",
    remark="I (R cos + X sin) as the drop of a line, usually acceptable, and a power factor of 0.8 where it is not known.",
)

IEEE_141 = Reference(
    id="ieee_141",
    title="IEEE 141, Recommended Practice for Electric Power Distribution for Industrial Plants",
    edition=NOT_SEEN,
    clause="exact phasor form of voltage drop",
    provenance="memory",
)

IEC_60364_5_52_DROP = Reference(
    id="iec_60364_5_52_table_g_52_1",
    title="IEC 60364-5-52, Selection and erection of wiring systems",
    edition="2009, by a public copy of its Annex G",
    clause="Table G.52.1; Table B.52.17",
    provenance="seen_reproduced",
    remark="5 % for other uses than lighting on a public supply, 8 % on a private one: 5 % is taken for both, on the safe side. "
    "Table B.52.17 is from memory.",
)

IEC_60364_4_43 = Reference(
    id="iec_60364_4_43",
    title="IEC 60364-4-43, Protection against overcurrent",
    edition="2008: the heading of 433.1 in a public copy; not named: the condition",
    clause="433.1",
    provenance="seen_reproduced",
    remark="That a device lies between the design current and what the cable carries is read in public pages that restate it.",
)

IEC_60204_1 = Reference(
    id="iec_60204_1",
    title="IEC 60204-1, Electrical equipment of machines",
    edition=NOT_SEEN,
    clause="4.3.2; 5.3",
    provenance="memory",
)

IEC_60445 = Reference(
    id="iec_60445",
    title="IEC 60445, Identification of terminals and conductors",
    edition=NOT_SEEN,
    provenance="memory",
)

LINE_SPACING = Reference(
    id="line_reactance_of_spaced_conductors",
    title="Reactance of parallel round conductors, x = 2 pi f 2e-7 ln(GMD/GMR) ohm/m",
    clause="GMR 0.7788 r; GMD = D in trefoil, 1.26 D side by side; 4/0 AWG in 23 mm cable",
    provenance="derived",
)

# Safe work, for the cautions
OSHA_1910_333 = Reference(
    id="osha_1910_333",
    title="29 CFR 1910.332-.333, Electrical safety-related work practices",
    edition=UNDATED,
    clause="1910.332; 1910.333(b)(2)",
    provenance="seen_reproduced",
)

OSHA_1910_147 = Reference(
    id="osha_1910_147",
    title="29 CFR 1910.147, Control of hazardous energy",
    edition=UNDATED,
    clause="(d)(1)-(6)",
    provenance="seen",
)

EN_50110_1 = Reference(
    id="en_50110_1",
    title="EN 50110-1, Operation of electrical installations",
    edition=NOT_SEEN,
    clause="five safety rules",
    provenance="memory",
)

NFPA_70E = Reference(
    id="nfpa_70e",
    title="NFPA 70E, Electrical Safety in the Workplace",
    edition="not named: a training page has it as Table 130.4(E)(a); 2018 numbering: 120.5",
    clause="120.5; 130.4",
    provenance="seen_reproduced",
    remark="3 ft 6 in from fixed parts of 151 to 750 V is read in that page; 120.5 is from memory.",
)

IEC_61482_2 = Reference(
    id="iec_61482_2",
    title="IEC 61482-2, Protective clothing against the thermal hazards of an electric arc",
    edition=NOT_SEEN,
    provenance="memory",
)

NEC_CONNECTORS = Reference(
    id="nec_single_pole_connectors",
    title=NEC,
    edition="not named: the order is read in California's title 8, section 2584.7(d), which takes it over",
    clause="520.53; 525.22; 530.22; 250.124(A)",
    provenance="seen_reproduced",
)

NEC_590 = Reference(
    id="nec_590",
    title=NEC,
    edition="2023: 590.6(A), by a page that explains it; not named: 590.6(B); 2023 numbering: 590.4(J)",
    clause="590.4(J); 590.6",
    provenance="seen_reproduced",
    remark="590.6(A) asks for outlets of 15, 20 and 30 A, more than 29 CFR 1926.404 does. 590.6(B) is read as quoted in a "
    "public thread. 590.4(J) is from memory.",
)

OSHA_1926_404 = Reference(
    id="osha_1926_404",
    title="29 CFR 1926.404 and 1926.416, Construction: wiring and work practices",
    edition=UNDATED,
    clause="1926.404(b)(1)(ii); 1926.416(e)",
    provenance="seen",
    remark="404(b)(1)(ii) by interpretation letters of 1977 and 1993; 416(e) is from memory.",
)

IEC_60364_4_41_RCD = Reference(
    id="iec_60364_4_41_411_3_3",
    title="IEC 60364-4-41, Protection against electric shock",
    edition="not named: a page on BS 7671, which takes it over, has the change to 32 A",
    clause="411.3.3",
    provenance="seen_reproduced",
    remark="That its device opens at 30 mA at most is read for building sites in a German rule for them, 4.2.2.",
)

NEC_SEPARATE_SOURCE = Reference(
    id="nec_separate_source",
    title=NEC,
    edition=NEC_EDITION,
    clause="250.30; 250.34; 702.5",
    provenance="memory",
    remark="702.5(A) is read as quoted in a public thread of owners.",
)

OSHA_FUEL_AND_EXHAUST = Reference(
    id="osha_fuel_and_exhaust",
    title="29 CFR 1926.150-.152 and 29 CFR 1910.1000",
    edition=NOT_SEEN,
    clause="fire protection, fuel; carbon monoxide",
    provenance="memory",
)

COMMON_PRACTICE = Reference(
    id="electrical_common_practice", title="Common practice of temporary power, no source", provenance="common_practice"
)

SAFE_WORK = (
    OSHA_1910_333,
    OSHA_1910_147,
    EN_50110_1,
    NFPA_70E,
    IEC_61482_2,
    NEC_CONNECTORS,
    NEC_590,
    OSHA_1926_404,
    IEC_60364_4_41_RCD,
    NEC_SEPARATE_SOURCE,
    COMMON_PRACTICE,
)
"""What the cautions of the family cite: every calculator names these beside its own."""
