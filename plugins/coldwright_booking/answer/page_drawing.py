"""The drawing of the place on a plan's page.

The plan keeps positions, not pictures: whoever wants a page gets the drawing made from them by the calculator that draws.
"""

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import Notes, Refused
from coldwright.contract.page import Drawing
from coldwright_booking.answer.crew_machine import measured
from coldwright_booking.answer.results import AssessmentResults
from coldwright_site.placement import placement
from coldwright_site.placement.given import FreeArea, MachinePosition, PlacementGiven
from coldwright_site.placement.results import PlacementResults


def drawing(results: AssessmentResults) -> Drawing | None:
    """The machines where they stand, to scale; the area alone where they find no place in it."""
    asked, site = results.asked.placement, results.site
    if isinstance(asked, UnsetType) or isinstance(site, UnsetType) or isinstance(site.placement, UnsetType):
        return None
    try:
        drawn = placement.function(_with_positions(asked, site.placement, results), Notes(placement.findings))
    except Refused:
        return None
    svg = drawn.plan_svg
    return None if isinstance(svg, UnsetType) else Drawing("Plan of the place, to scale", svg)


def _with_positions(asked: PlacementGiven, stated: PlacementResults, results: AssessmentResults) -> PlacementGiven:
    """As the plan has them, sizes in the units of the page: the drawing follows them."""
    positions = tuple(MachinePosition(id=p.id, x=p.x, y=p.y, rotation=p.rotation) for p in stated.positions)
    machines = tuple(
        replace(m, length=measured(m.length, results), width=measured(m.width, results)) for m in asked.machines
    )
    area, least = asked.area, stated.least_area
    if isinstance(area, UnsetType) and not isinstance(least, UnsetType):
        area = FreeArea(length=least.length, width=least.width)
    return replace(asked, machines=machines, positions=positions or UNSET, area=area, arrange=False, drawing=True)
