"""The machines of a plant on one page: all starts of an order, or every machine that is on site."""

from litestar import Response

from coldwright.service.http.endpoint import Asked
from coldwright.service.people.shell import shown
from coldwright.service.people.starts import cards_of_booking, cards_on_site


async def show(asked: Asked) -> Response[bytes]:
    """Each start by its state and its next action, the worst first."""
    booking = asked.query("booking") or ""
    starts = await cards_of_booking(asked, booking) if booking else await cards_on_site(asked)
    return await shown(asked, "plant.html", booking=booking, starts=starts)
