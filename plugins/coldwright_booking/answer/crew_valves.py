"""The valve table of the crew sheet, and the sketch of which way the liquid goes, with the valves by their numbers."""

from html import escape
from typing import Final

from msgspec import UnsetType

from coldwright.contract import load_table
from coldwright.contract.language import marked as _
from coldwright.contract.page import Column, Drawing, Lines, Section, Table, section
from coldwright.contract.people import plain_text, quantity, words
from coldwright_booking.answer.crew_machine import Crew, evaporators

POSITIONS: Final = load_table("coldwright_readiness", "valve_positions")
BOX = "\u25a1"
NAMES: Final = {
    "pump_suction": _("Pump suction"),
    "pump_discharge": _("Pump discharge"),
    "pump_bypass": _("Pump bypass"),
    "supply": _("Supply, cold, to the load"),
    "return": _("Return, warm, from the load"),
    "fill": _("Fill"),
    "drain": _("Drain, lowest point"),
    "vent": _("Vent, highest point"),
}
LATER: Final = {"fill": _("SHUT, open only to fill"), "vent": _("SHUT, open only to vent")}
FROM_TANK: Final = {"fill": _("SHUT, open only to fill, from the tank")}
"""Common practice, no source."""
WORDS: Final = {"open": _("OPEN"), "closed": _("SHUT")}
MACHINE_PUMP = _("on the pump's suction, before valve 1")
SITE_PUMP = _("on the suction of the site's pump (the sketch shows a machine's own)")


def valves(crew: Crew) -> Section | None:
    """Which valve stands how before the pump runs, with a box for each."""
    say = crew.say
    if isinstance(crew.results.loop, UnsetType):
        return None
    wanted = _wanted(crew)
    rows = [(str(n), say(NAMES[v]), say(wanted[v]), BOX) for n, v in enumerate(NAMES, 1) if v in wanted]
    how: tuple[str, ...] = ()
    if not isinstance(kv := crew.results.loop.balancing_kv, UnsetType):
        how = _balance(crew)[:1]
        rows.append(("B", say(_("Balancing")), say(_("THROTTLED, see below")) if how else f"Kv {kv:.1f}", BOX))
    elif len(crew.results.machines) > 1:  # unlike ones share no flow by themselves
        how = _balance(crew)
        rows.append(("B", say(_("Balancing, at each machine")), say(_("THROTTLED, see below")), BOX))
    heads = (("", 5), (say(_("Valve")), 46), (say(_("Must stand")), 39), (say(_("Set")), 10))
    return section(
        say(_("Valves")),
        Table(tuple(Column(*head) for head in heads), tuple(rows)),
        Lines(tuple(f"{line}." for line in how)) if how else None,
    )


def _balance(crew: Crew) -> tuple[str, ...]:
    """A valve without a scale is set by the gauge: what the evaporator takes at the flow of the plan. Of unlike machines a
    line each, or that of the one that the sheet is for.
    """
    loop = crew.results.loop
    if isinstance(loop, UnsetType) or isinstance(loop.duty_flow, UnsetType):
        return ()
    drops = dict(evaporators(crew.results))
    if crew.chosen is not None and crew.chosen.type in drops:
        drops = {crew.chosen.type: drops[crew.chosen.type]}
    text = _("Pump on: throttle to {drop} drop over evaporator ({flow} in all), mark it")
    return tuple(
        (f"B, {plain_text(name)}: " if len(crew.results.machines) > 1 else "B: ")
        + crew.say(text, drop=quantity(drop), flow=quantity(loop.duty_flow))
        for name, drop in drops.items()
    )


def _wanted(crew: Crew) -> dict[str, str]:
    asked = crew.results.asked.procedure
    own = isinstance(asked, UnsetType) or asked.configuration.pump_mode == "own_pump"
    fitted = isinstance(asked, UnsetType) or asked.configuration.pump_fitted
    known: dict[str, str] = POSITIONS.rows["positions"]["own_pump" if own else "site_pump"] if fitted else {}
    loop: dict[str, str] = POSITIONS.rows["positions"]["loop"]
    mixed = {} if crew.results.fluid.kind == "water" else FROM_TANK
    return {v: WORDS.get(position, position) for v, position in (known | loop).items()} | LATER | mixed


def relief_place(pump_owner: str) -> str:
    """Where relief valve and vessel stand: where the pump adds nothing to the pressure."""
    return MACHINE_PUMP if pump_owner == "machine" else SITE_PUMP


def sketch(crew: Crew) -> Section | None:
    """Which way it flows: the numbers are those of the valve table."""
    say, results = crew.say, crew.results
    loop = results.loop
    if isinstance(loop, UnsetType):
        return None
    machine = ", ".join(plain_text(f"{m.count} x {m.type}") for m in results.machines)
    if crew.chosen is not None:
        machine = plain_text(crew.chosen.type)
    hose = say(_("{bore} bore, {runs} each way"), bore=quantity(loop.hose_inner_diameter), runs=loop.hose_runs)
    supply = "" if isinstance(results.supply, UnsetType) else say.known(words(results.supply.source))
    texts = {
        "machine": machine[:34], "hose": hose, "supply": supply[:18], "pump": say(_("pump")), "cooler": say(_("cooler")),
        "strainer": say(_("strainer")), "load": say(_("Load")), "cold": say(_("COLD, out")), "warm": say(_("WARM, in")),
    }  # fmt: skip
    svg = _SKETCH.format(**{name: escape(text) for name, text in texts.items()})
    relief = say(_("The relief valve R and the vessel are {place}."), place=say(relief_place(loop.pump_owner)))
    flow = _(
        "Cold leaves the machine at 4 and comes to the load; warm comes back at 5, through the strainer, to the pump."
    )
    title = _("Numbers as in the valve table; B balances, 8 vents at the highest point, R is relief valve and vessel")
    return section(say(_("Which way it flows")), Drawing(say(title), svg, f"{relief} {say(flow)}"))


_SKETCH = (
    '<svg xmlns="http://www.w3.org/2000/svg" width="560" height="166" viewBox="0 0 560 166" font-family="sans-serif" '
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
    '<text x="150" y="100" font-size="10">{pump}</text><text x="234" y="59" font-size="10">{cooler}</text>'
    '<text x="234" y="139" font-size="10">{strainer}</text><text x="498" y="98">{load}</text>'
    '<text x="370" y="46" font-weight="bold">{cold}</text><text x="370" y="156" font-weight="bold">{warm}</text>'
    '<text x="370" y="99" font-size="10">{hose}</text>'
    '<text x="150" y="130">1</text><text x="150" y="70">2</text><text x="128" y="99">3</text><text x="300" y="59">4</text>'
    '<text x="300" y="139">5</text><text x="190" y="139">6</text><text x="280" y="139">7</text><text x="498" y="16">8</text>'
    '<text x="184" y="59">B</text><text x="169" y="154">R</text></g></svg>'
)
