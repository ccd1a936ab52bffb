"""The drawing of the place on a plan's page.

The plan keeps positions, not pictures: whoever wants a page gets the drawing made from them by the calculator that draws.
"""

from msgspec import UNSET, UnsetType
from msgspec.structs import replace

from coldwright.contract import Notes, Refused
from coldwright.contract.page import Drawing
from coldwright.contract.quantities import Length
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
        drawn = placement.function(_with_positions(asked, site.placement), Notes(placement.findings))
    except Refused:
        return None
    svg = drawn.plan_svg
    return None if isinstance(svg, UnsetType) else Drawing("Plan of the place, to scale", svg)


def _with_positions(asked: PlacementGiven, stated: PlacementResults) -> PlacementGiven:
    positions = tuple(MachinePosition(id=p.id, x=p.x, y=p.y, rotation=p.rotation) for p in stated.positions)
    area, least = asked.area, stated.least_area
    if isinstance(area, UnsetType) and not isinstance(least, UnsetType):
        area = FreeArea(length=_metres(least.length), width=_metres(least.width))
    return replace(asked, positions=positions or UNSET, area=area, arrange=False, drawing=True)


def _metres(length: Length) -> Length:
    return Length.of(length.to("m"), "m")
