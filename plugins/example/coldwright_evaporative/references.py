"""Sources, each with how well it is known."""

from coldwright.contract import Reference

PSYCHROLIB = Reference(
    id="evaporative_psychrolib",
    title="PsychroLib, after ASHRAE Handbook Fundamentals, chapter 1",
    edition="2.5, after the Handbook of 2017",
    provenance="library",
)
EFFECTIVENESS = Reference(
    id="evaporative_effectiveness",
    title="Air Conditioning and Refrigeration, chapter 9 of an engineering handbook: direct evaporative cooler",
    clause="equation 9.8.6: fall of the dry bulb over the depression of the wet bulb",
    provenance="seen_reproduced",
    remark="Read as reproduced on a page of the World Wide Web, without author or year. It gives 0.75 to 0.95 as usual.",
)
BLOWDOWN = Reference(
    id="evaporative_blowdown",
    title="J. McDonald, Cooling Tower Blowdown Equation, CSTN",
    edition="July 2003",
    clause="blowdown = evaporation / (cycles - 1); drift counts as blowdown",
    provenance="seen_reproduced",
)
WATER_SAFETY = Reference(
    id="evaporative_water_safety",
    title="ASHRAE Standard 188, Legionellosis: Risk Management for Building Water Systems",
    provenance="memory",
    remark="From memory; whether it or a local rule applies is for the site's water safety plan to say.",
)
PRACTICE = Reference(
    id="evaporative_practice",
    title="Practice of pre-cooling condenser air",
    provenance="common_practice",
    remark="Common practice, no source.",
)
