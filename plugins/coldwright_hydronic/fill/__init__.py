"""Filling a loop: volume, pressure, time, expansion vessel, least volume and backflow protection."""

from msgspec import UNSET

from coldwright.contract import Load, Notes, calculator
from coldwright.contract.quantities import Volume
from coldwright_basis.liquids import Property, check_fluid, properties
from coldwright_hydronic.fill.contradictions import refuse_contradictions
from coldwright_hydronic.fill.cycling import least_volume
from coldwright_hydronic.fill.examples import EXAMPLES
from coldwright_hydronic.fill.expansion import expand
from coldwright_hydronic.fill.findings import FINDINGS, judge
from coldwright_hydronic.fill.given import FillGiven
from coldwright_hydronic.fill.references import ASHRAE_EXPANSION, BUFFER_STUDY
from coldwright_hydronic.fill.results import FilledElement, FillResults
from coldwright_hydronic.fill.static_pressures import Heights, pressures, relief_margin, supply
from coldwright_hydronic.fill.volumes import volumes_of
from coldwright_hydronic.shared.backflow import BACKFLOW_PROTECTION, can_harm_drinking_water, least_preventer
from coldwright_hydronic.shared.references import CAUTION_REFERENCES, FIRST_PRINCIPLES, PRACTICE, PROPERTY_REFERENCES
from coldwright_hydronic.shared.second_opinion import second_opinion


@calculator(
    "hydronic.fill",
    version="1.1.3",
    title="Filling a loop: volume, pressure, time, expansion vessel and least volume",
    references=(
        *PROPERTY_REFERENCES,
        ASHRAE_EXPANSION,
        BUFFER_STUDY,
        FIRST_PRINCIPLES,
        PRACTICE,
        *CAUTION_REFERENCES,
    ),
    tables=(BACKFLOW_PROTECTION,),
    hazards=("pressure", "chemical", "general"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def fill(given: FillGiven, notes: Notes) -> FillResults:
    """Volume of a loop, the pressure and time to fill it, its expansion vessel, and the least volume for the control.

    Required pressure: least pressure at the top plus the column, or what the pump's suction needs. Expansion by the form
    of the ASHRAE handbook: e = v2/v1 - 1 - 3 alpha (t2 - t1), vessel V e/(1 - P1/P2) with a diaphragm and
    V e/(Pa/P1 - Pa/P2) without, absolute pressures. Least volume: heat balance over the control's band for run time, off
    time and starts in an hour (worst at half load). Everything with the pump off unless said.
    """
    needs: tuple[Property, ...] = ("density", "specific_heat") if given.cycling is not UNSET else ("density",)
    if given.high_point_elevation is UNSET and given.fill_pressure is UNSET and given.cycling is UNSET:
        needs = ()
    check_fluid(given.fluid, needs=needs)
    refuse_contradictions(given)
    volumes = volumes_of(given)
    total = sum(volumes)
    notes.show("V", "Volume of the loop", "sum of pi/4 D^2 L runs, and of vessels", Volume.from_si(total, "L"))
    density = properties(given.fluid, needs=needs).density if needs else 0.0
    heights = Heights(given)
    worked = {
        **pressures(given, notes, density, heights),
        **supply(given, notes, total),
        **expand(given, notes, total),
        **least_volume(given, notes, total),
        **relief_margin(given, notes, density, heights),
    }
    judge(given, notes, worked, density, heights)
    names = [n.name for n in given.lines] + [v.name for v in given.vessels]
    return FillResults(
        second_opinion=second_opinion(given.fluid),
        total_volume=Volume.from_si(total, "L"),
        elements=tuple(
            FilledElement(name=n, volume=Volume.from_si(v, "L")) for n, v in zip(names, volumes, strict=True)
        ),
        proposed_backflow_preventer=least_preventer(
            harmful=can_harm_drinking_water(given.fluid, treated=given.treated)
        ),
        **worked,
    )
