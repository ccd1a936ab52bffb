"""Results of the plan in use: the room, restarts, condensation."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright_booking.plan.desk import Asked
from coldwright_booking.plan.plan import Plan
from coldwright_refrigeration.refrigerant_safety.results import RefrigerantSafetyResults
from coldwright_refrigeration.room_heat.results import RoomHeatResults


class TypeCharge(Results, frozen=True, kw_only=True):
    """The refrigerant of one machine of a type against the room."""

    type: Annotated[str, about("The type.")]
    safety: Annotated[RefrigerantSafetyResults, about("Answer of `refrigeration.refrigerant_safety`.")]


class IndoorsBlock(Results, frozen=True, kw_only=True):
    """Machines in a room."""

    heat: Annotated[RoomHeatResults, about("Answer of `refrigeration.room_heat`.")] | UnsetType = UNSET
    refrigerant: Annotated[
        tuple[TypeCharge, ...], about("One entry a type; none where the room's volume or the charge is not given.")
    ]


def indoors_block(plan: Plan) -> IndoorsBlock | UnsetType:
    """The room; left out outdoors."""
    indoors = plan.indoors
    if indoors is None:
        return UNSET
    return IndoorsBlock(
        heat=indoors.heat.results if isinstance(indoors.heat, Asked) else UNSET,
        refrigerant=tuple(TypeCharge(type=m.type, safety=a.results) for m, a in indoors.safety if isinstance(a, Asked)),
    )
