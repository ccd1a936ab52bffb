"""The valve table of the crew sheet, and the sketch of which way the liquid goes, with the valves by their numbers."""

from html import escape
from typing import Final

from msgspec import UnsetType

from coldwright.contract import load_table
from coldwright.contract.page import Column, Drawing, Section, Table, section
from coldwright.contract.people import plain_text, quantity, words
from coldwright_booking.answer.results import AssessmentResults

POSITIONS: Final = load_table("coldwright_readiness", "valve_positions")
BOX = "\u25a1"
NAMES: Final = {
    "pump_suction": "Pump suction",
    "pump_discharge": "Pump discharge",
    "pump_bypass": "Pump bypass",
    "supply": "Supply, cold, to the load",
    "return": "Return, warm, from the load",
    "fill": "Fill",
    "drain": "Drain, lowest point",
    "vent": "Vent, highest point",
}
LATER: Final = {"fill": "SHUT, open only to fill", "vent": "SHUT, open only to vent"}
"""Common practice, no source."""
WORDS: Final = {"open": "OPEN", "closed": "SHUT"}


def valves(results: AssessmentResults) -> Section | None:
    """Which valve stands how before the pump runs, with a box for each."""
    if isinstance(results.loop, UnsetType):
        return None
    wanted = _wanted(results)
    rows = [(str(n), NAMES[v], wanted[v], BOX) for n, v in enumerate(NAMES, 1) if v in wanted]
    if not isinstance(kv := results.loop.balancing_kv, UnsetType):
        rows.append(("B", "Balancing", _balance(results) or f"Kv {kv:.1f}", BOX))
    columns = (Column("No.", 7), Column("Valve", 46), Column("Must stand", 37), Column("Set", 10))
    return section("Valves", Table(columns, tuple(rows)))


def _balance(results: AssessmentResults) -> str:
    """A valve without a scale is set by the gauge: what the evaporator takes at the flow of the plan."""
    loop = results.loop
    if isinstance(loop, UnsetType) or isinstance(loop.duty_flow, UnsetType):
        return ""
    drops = (e.pressure_drop for e in loop.elements if e.name.startswith("evaporator"))
    drop = next(drops, None)
    if drop is None:
        return ""
    return f"Pump on: throttle to {quantity(drop)} drop over evaporator ({quantity(loop.duty_flow)} in all), mark it"


def _wanted(results: AssessmentResults) -> dict[str, str]:
    asked = results.asked.procedure
    own = isinstance(asked, UnsetType) or asked.configuration.pump_mode == "own_pump"
    fitted = isinstance(asked, UnsetType) or asked.configuration.pump_fitted
    known: dict[str, str] = POSITIONS.rows["positions"]["own_pump" if own else "site_pump"] if fitted else {}
    loop: dict[str, str] = POSITIONS.rows["positions"]["loop"]
    return {v: WORDS.get(position, position) for v, position in (known | loop).items()} | LATER


def relief_place(pump_owner: str) -> str:
    """Where relief valve and vessel stand: where the pump adds nothing to the pressure."""
    if pump_owner == "machine":
        return "on the pump's suction, before valve 1"
    return "on the suction of the site's pump (the sketch shows a machine's own)"


def sketch(results: AssessmentResults) -> Section | None:
    """Which way it flows: the numbers are those of the valve table."""
    loop = results.loop
    if isinstance(loop, UnsetType):
        return None
    machine = ", ".join(plain_text(f"{m.count} x {m.type}") for m in results.machines)
    hose = f"{quantity(loop.hose_inner_diameter)} bore, {loop.hose_runs} each way"
    supply = "" if isinstance(results.supply, UnsetType) else words(results.supply.source)
    svg = _SKETCH.format(machine=escape(machine[:34]), hose=escape(hose), supply=escape(supply[:18]))
    says = (
        f"The relief valve R and the vessel are {relief_place(loop.pump_owner)}. "
        "Cold leaves the machine at 4 and comes to the load; warm comes back at 5, through the strainer, to the pump."
    )
    return section(
        "Which way it flows",
        Drawing(
            "Numbers as in the valve table; B balances, 8 vents at the highest point, R is relief valve and vessel",
            svg,
            says,
        ),
    )


_SKETCH = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="560" height="190" viewBox="0 0 560 190" font-family="sans-serif" '
    'font-size="12" fill="none" stroke="#14130f" stroke-width="2">'
    '<rect x="4" y="70" width="70" height="46"/><path d="M74 93h36" stroke-dasharray="7 4"/>'
    '<rect x="110" y="30" width="190" height="130" stroke-width="3"/>'
    '<rect x="440" y="30" width="116" height="130" stroke-width="3"/>'
    '<path d="M300 55h140M300 135h140" stroke-width="4"/><path d="M150 135h150M150 135V55H300M169 135v8"/>'
    '<path d="M150 118h-22V72h22" stroke-dasharray="4 3"/>'
    '<rect x="136" y="84" width="28" height="24" fill="#fffefa"/><rect x="208" y="45" width="52" height="20" fill="#fffefa"/>'
    '<rect x="208" y="126" width="52" height="18" fill="#fffefa"/>'
    '<path d="M350 70h40l-8 -6m8 6l-8 6M390 120h-40l8 -6m-8 6l8 6" stroke-width="2.5"/><path d="M498 30V14" stroke-width="2"/>'
    '<g fill="#fffefa"><circle cx="150" cy="126" r="9"/><circle cx="150" cy="66" r="9"/><circle cx="128" cy="95" r="9"/>'
    '<circle cx="300" cy="55" r="9"/><circle cx="300" cy="135" r="9"/><circle cx="190" cy="135" r="9"/>'
    '<circle cx="280" cy="135" r="9"/><circle cx="498" cy="12" r="9"/><circle cx="184" cy="55" r="9"/>'
    '<circle cx="169" cy="150" r="8"/></g>'
    '<g fill="#14130f" stroke="none" text-anchor="middle"><text x="39" y="97">{supply}</text><text x="205" y="22">{machine}</text>'
    '<text x="150" y="100" font-size="10">pump</text><text x="234" y="59" font-size="10">cooler</text>'
    '<text x="234" y="139" font-size="10">strainer</text><text x="498" y="98">Load</text>'
    '<text x="370" y="46" font-weight="bold">COLD, out</text><text x="370" y="156" font-weight="bold">WARM, in</text>'
    '<text x="370" y="99" font-size="10">{hose}</text>'
    '<text x="150" y="130">1</text><text x="150" y="70">2</text><text x="128" y="99">3</text><text x="300" y="59">4</text>'
    '<text x="300" y="139">5</text><text x="190" y="139">6</text><text x="280" y="139">7</text><text x="498" y="16">8</text>'
    '<text x="184" y="59">B</text><text x="169" y="154">R</text></g></svg>'
)
