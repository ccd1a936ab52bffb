"""Each part of a load by its kind."""

from collections.abc import Callable
from typing import Any

from msgspec import UNSET

from coldwright_refrigeration.load.air import air_coil, space_estimate
from coldwright_refrigeration.load.batch import jacketed_vessel, product
from coldwright_refrigeration.load.found import Found, Place
from coldwright_refrigeration.load.given import (
    AirCoilLoad,
    AnyLoad,
    DirectLoad,
    HoseLoad,
    JacketedVesselLoad,
    LiquidFlowLoad,
    LoadGiven,
    ProductLoad,
    PumpLoad,
    SpaceEstimateLoad,
)
from coldwright_refrigeration.load.loop import hose, liquid_flow, pump


def part(entry: AnyLoad, place: Place) -> Found:
    """One part of a load, by its kind."""
    kinds: dict[type, Callable[[Any, Place], Found]] = {
        LiquidFlowLoad: liquid_flow,
        ProductLoad: product,
        JacketedVesselLoad: jacketed_vessel,
        AirCoilLoad: air_coil,
        SpaceEstimateLoad: space_estimate,
        HoseLoad: hose,
        PumpLoad: pump,
        DirectLoad: _direct,
    }
    return kinds[type(entry)](entry, place)


def _direct(entry: DirectLoad, place: Place) -> Found:  # noqa: ARG001 - one shape for all kinds
    return Found(entry.power.si)


def coldest_liquid(given: LoadGiven) -> float | None:
    """Leaving temperature of the machines, K, as given or as the liquid flows show it."""
    if given.leaving_liquid_temperature is not UNSET:
        return given.leaving_liquid_temperature.si
    known = [entry.leaving_temperature.si for entry in given.loads if isinstance(entry, LiquidFlowLoad)]
    return min(known, default=None)
