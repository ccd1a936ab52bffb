"""Loads of vehicles: what goes on which, tie-downs, axle loads, permits, and the pick list."""

from msgspec import UNSET

from coldwright.contract import Load, Notes, calculator
from coldwright.contract.quantities import Length
from coldwright_site.shared import cautions, tabulated
from coldwright_site.shared.references import DIRECTIVE_2014_47, FMCSA_393, PRACTICE, STATICS
from coldwright_site.transport import road_limits, road_rules
from coldwright_site.transport.contradictions import refuse_contradictions
from coldwright_site.transport.examples import ONE_ORDER, YARD
from coldwright_site.transport.findings import FINDINGS, judge_unloading
from coldwright_site.transport.given import SpareRules, TransportGiven
from coldwright_site.transport.loads import load_vehicles
from coldwright_site.transport.picking import pick
from coldwright_site.transport.results import PickedRow, TransportResults


@calculator(
    "site.transport",
    version="1.1.3",
    title="Loads of vehicles, tie-downs, axle groups and the pick list",
    references=(FMCSA_393, DIRECTIVE_2014_47, STATICS, PRACTICE),
    tables=(tabulated.AXLE_LIMITS, tabulated.ROAD_SIZE_LIMITS, tabulated.ROAD_LIMITS_EU, tabulated.LASHING_EU),
    hazards=("lifting", "general"),
    findings=FINDINGS,
    examples=(ONE_ORDER, YARD),
    load=Load.HEAVY,
)
def transport(given: TransportGiven, notes: Notes) -> TransportResults:
    """The least number of loads, what stands on each, its tie-downs and axle loads, and what the yard picks.

    Pieces stand along the deck, two side by side where their widths and 0.1 m fit, stackable ones two high. Up to ten
    pieces every way of loading is weighed; beyond that the longest go first to where they fit. Axle groups are held
    against the US federal bridge formula; a group never gets more than 20,000 lb for each of its axles. Tie-downs by
    49 CFR 393: number by length, sum of rated loads at least half the mass. State and local limits are not covered.
    Under European rules: sizes, 40 t and axles by Directive 96/53/EC; straps over the top by EN 12195-1, 0.8 g forward,
    0.5 g sideways and rearward, with the friction of the deck.
    """
    notes.caution(*cautions.TRANSPORT[given.rules])
    _assume(given, notes)
    refuse_contradictions(given)
    loads, total = load_vehicles(given, notes)
    judge_unloading(given, notes)
    spare_rules: SpareRules | None = None if given.spare_rules is UNSET else given.spare_rules
    return TransportResults(
        loads=tuple(load for load, _ in loads),
        axle_group_limits=(road_rules if given.rules == "us" else road_limits).axle_groups(given, notes),
        number_of_loads=total,
        unload_plan=tuple(step for _, steps in loads for step in steps),
        pick_list=tuple(
            PickedRow(
                item=p.item,
                size=p.size,
                end_type=p.end_type,
                quantity=p.quantity,
                unit=p.unit,
                piece_length=UNSET if p.piece is None else Length.from_si(p.piece, "m"),
                purposes=p.purposes,
            )
            for p in pick(given.pick_lines, spare_rules)
        ),
    )


def _assume(given: TransportGiven, notes: Notes) -> None:
    if given.rules == "us":
        notes.assume(
            "federal_limits_even_deck",
            "Limits are those of the US federal rules, without state and local ones; the deck is even and the load at "
            "rest.",
            basis="standard",
            references=("fhwa_bridge_formula", "us_road_size_limits"),
        )
        return
    notes.assume(
        "european_limits_clean_deck",
        f"Limits are those of the European Union, without national ones. The deck is of plywood, swept clean, without frost, "
        f"ice or snow: friction {given.lashing.friction:g}; on a dirty one at most "
        f"{tabulated.LASHING_EU.rows['friction_dirty']:g} counts. Pieces have their weight in their middle.",
        basis="standard",
        references=("en_12195_1", "directive_2014_47_eu", "directive_96_53_ec"),
    )
