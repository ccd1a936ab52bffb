"""What `site.transport` answers."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Force, Length, Mass
from coldwright_site.transport.given import Unload

PermitHint = Literal["over_width", "over_height", "over_length", "over_mass"]


class LoadedItem(Results, frozen=True, kw_only=True):
    """Pieces of an item on one vehicle."""

    item: Annotated[str, about("Item.")]
    quantity: Annotated[int, about("Pieces.")]


class AxleLoads(Results, frozen=True, kw_only=True):
    """Masses that the load and the empty trailer put on the road and the tractor."""

    rear: Annotated[Mass, about("On the rear axles.")]
    kingpin: Annotated[Mass, about("On the kingpin; below 0 the tractor is lifted.")]


class TieDowns(Results, frozen=True, kw_only=True):
    """Tie-downs of one piece."""

    item: Annotated[str, about("Item.")]
    minimum_number: Annotated[int, about("Least number.")]
    aggregate_rated_load: Annotated[
        Mass, about("Sum of their rated loads, at least; 0 under European rules, where `tension` counts.")
    ]
    tension: Annotated[Force, about("Tension of each strap over the top; under European rules.")] | UnsetType = UNSET
    against: (
        Annotated[
            Literal["forward", "sideways", "rearward", "least"],
            about("Way of sliding that asks for so many; `least` where none does."),
        ]
        | UnsetType
    ) = UNSET


class VehicleLoad(Results, frozen=True, kw_only=True):
    """One loaded vehicle."""

    vehicle: Annotated[str, about("Kind of vehicle.")]
    items: Annotated[tuple[LoadedItem, ...], about("What is on it.")]
    length_used: Annotated[Length, about("Of the deck.")]
    mass: Annotated[Mass, about("Of what is on it.")]
    axle_loads: Annotated[AxleLoads, about("Of a trailer whose own data were given.")] | UnsetType = UNSET
    permit_hints: Annotated[tuple[PermitHint, ...], about("Usual limits that it exceeds.")]
    tie_downs: Annotated[tuple[TieDowns, ...], about("Of one piece of each item.")]


class AxleGroupLimit(Results, frozen=True, kw_only=True):
    """A group of axles and its limit."""

    limit: Annotated[Mass, about("By the bridge formula and the fixed limits.")]
    tandem_exception_limit: Annotated[Mass, about("For two tandems 36 ft or more apart.")] | UnsetType = UNSET
    ok: Annotated[bool, about("Whether the group keeps the larger of the two.")]


class UnloadStep(Results, frozen=True, kw_only=True):
    """Pieces that come off together."""

    load: Annotated[int, about("Number of the load, from 1.")]
    item: Annotated[str, about("Item.")]
    quantity: Annotated[int, about("Pieces.")]
    unload: Annotated[Unload, about("How.")]


class PickedRow(Results, frozen=True, kw_only=True):
    """One row of the pick list."""

    item: Annotated[str, about("What.")]
    size: Annotated[str, about("Size.")]
    end_type: Annotated[str, about("Kind of coupling or plug.")]
    quantity: Annotated[float, about("How much.")]
    unit: Annotated[str, about("Of the quantity.")]
    piece_length: Annotated[Length, about("Length of one stocked piece.")] | UnsetType = UNSET
    purposes: Annotated[tuple[str, ...], about("What for.")]


class TransportResults(Results, frozen=True, kw_only=True):
    """Loads, limits, the order of unloading and the pick list."""

    loads: Annotated[tuple[VehicleLoad, ...], about("One entry a vehicle.")] = ()
    axle_group_limits: Annotated[tuple[AxleGroupLimit, ...], about("In the order of `axle_groups`.")] = ()
    number_of_loads: Annotated[int, about("Vehicles needed.")]
    unload_plan: Annotated[tuple[UnloadStep, ...], about("Load by load, by way of unloading.")] = ()
    pick_list: Annotated[tuple[PickedRow, ...], about("Summed, with spares.")] = ()
