"""Puts the answer of `refrigeration.load` together: each part by its kind, the sums, what stands out."""

import math
from collections.abc import Callable
from typing import Any

from msgspec import UNSET, UnsetType

from coldwright.contract import FieldError, Notes, Refused, tidy
from coldwright.contract.quantities import MassFlow, Power, VolumeFlow
from coldwright_refrigeration import liquids
from coldwright_refrigeration.load import (
    AirCoilLoad,
    AnyLoad,
    DirectLoad,
    HoseLoad,
    JacketedVesselLoad,
    LiquidFlowLoad,
    LoadGiven,
    LoadPart,
    LoadResults,
    ProductLoad,
    PumpLoad,
    SpaceEstimateLoad,
)
from coldwright_refrigeration.load_air import air_coil, space_estimate
from coldwright_refrigeration.load_batch import jacketed_vessel, product
from coldwright_refrigeration.load_found import Found, Place
from coldwright_refrigeration.load_loop import hose, liquid_flow, pump
from coldwright_refrigeration.moist_air import site_pressure

TON = 3516.8528420667
TEN_CELSIUS = 283.15
MUCH_ESTIMATED = 0.3
MUCH_GAINED = 0.05
WIDE_MARGIN, MOSTLY_COINCIDENT = 0.25, 0.9


def answer(given: LoadGiven, notes: Notes) -> LoadResults:
    """Work out every part; refuse all that are wrong at once."""
    errors: list[FieldError] = []
    pressure = site_pressure(given.site.altitude, given.site.barometric_pressure, "/site")
    if isinstance(pressure, FieldError):
        errors.append(pressure)
        pressure = 101325.0
    try:
        liquids.check_liquid(given.fluid, "/fluid")
    except Refused as refused:
        raise Refused([*errors, *refused.errors]) from None
    _site_note(given, notes)
    coldest = _coldest_liquid(given)
    found: list[Found] = []
    for i, entry in enumerate(given.loads):
        place = Place(f"/loads/{i}", entry.name, given.fluid, pressure, coldest, notes)
        try:
            found.append(_part(entry, place))
        except Refused as refused:
            errors += refused.errors
    if errors:
        raise Refused(errors)
    return _sum(given, found, notes)


def _part(entry: AnyLoad, place: Place) -> Found:
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


def _site_note(given: LoadGiven, notes: Notes) -> None:
    airy = any(isinstance(entry, AirCoilLoad | SpaceEstimateLoad) for entry in given.loads)
    if airy and given.site.altitude is UNSET and given.site.barometric_pressure is UNSET:
        notes.assume(
            "sea_level",
            "Neither altitude nor air pressure was given: the air is taken at sea level, 101.325 kPa.",
            basis="default",
            references=("ashrae_standard_atmosphere",),
        )


def _coldest_liquid(given: LoadGiven) -> float | None:
    """Leaving temperature of the machines, K, as told or as the liquid flows show it."""
    if given.leaving_liquid_temperature is not UNSET:
        return given.leaving_liquid_temperature.si
    told = [entry.leaving_temperature.si for entry in given.loads if isinstance(entry, LiquidFlowLoad)]
    return min(told, default=None)


def _sum(given: LoadGiven, found: list[Found], notes: Notes) -> LoadResults:
    total = math.fsum(part.total for part in found)
    diversified = math.fsum(entry.diversity * part.total for entry, part in zip(given.loads, found, strict=True))
    estimated = math.fsum(
        entry.diversity * part.total for entry, part in zip(given.loads, found, strict=True) if part.is_estimate
    )
    design = diversified * (1 + given.margin)
    heat = liquids.volumetric_heat(given.fluid, TEN_CELSIUS)
    flow = design / (heat * given.temperature_difference.si)
    share = estimated / diversified if diversified > 0 else 0.0
    terms = " + ".join(
        f"{entry.diversity:g} x {part.total / 1000:.5g}" for entry, part in zip(given.loads, found, strict=True)
    )
    notes.show("Q_div", "Parts, each times its diversity", terms, Power.from_si(diversified, "kW"))
    expression = f"{diversified / 1000:.6g} x (1 + {given.margin:g})"
    notes.show("Q_design", "Design load", expression, Power.from_si(design, "kW"))
    expression = (
        f"Q_design / (rho c dT), rho c = {heat / 1e6:.4f} MJ/m3.K at 10 degC, dT = {given.temperature_difference}"
    )
    notes.show("V", "Flow that carries the design load", expression, VolumeFlow.from_si(flow, "L/s"))
    _stand_out(given, found, total, diversified, share, notes)
    return LoadResults(
        loads=tuple(_described(entry, part) for entry, part in zip(given.loads, found, strict=True)),
        total=Power.from_si(total, "kW"),
        diversified_total=Power.from_si(diversified, "kW"),
        design_load=Power.from_si(design, "kW"),
        required_flow=VolumeFlow.from_si(flow, "L/s"),
        estimate_share=tidy(share),
        tons=tidy(design / TON),
    )


def _described(entry: AnyLoad, part: Found) -> LoadPart:
    def power(value: float | None) -> Power | UnsetType:
        return UNSET if value is None else Power.from_si(value, "kW")

    mean = None if part.never else part.total if part.mean is None else part.mean
    return LoadPart(
        name=entry.name,
        kind=str(type(entry).__struct_config__.tag),
        total=Power.from_si(part.total, "kW"),
        peak=Power.from_si(part.total, "kW"),
        mean=power(mean),
        sensible=power(part.sensible),
        latent=power(part.latent),
        condensate=UNSET if part.condensate is None else MassFlow.from_si(part.condensate, "kg/s"),
        time=UNSET if part.time is None else part.time,
        is_estimate=part.is_estimate,
    )


def _stand_out(
    given: LoadGiven, found: list[Found], total: float, diversified: float, share: float, notes: Notes
) -> None:
    if share > MUCH_ESTIMATED:
        notes.check(
            "estimate_share_high",
            f"{share:.0%} of the load is only an estimate.",
            why="Such estimates are off by -20 to +40 %: the machines may be too small.",
            resolve="Measure the load, or work the estimated parts out properly.",
            references=("refrigeration_practice",),
        )
    gains = math.fsum(
        entry.diversity * part.total
        for entry, part in zip(given.loads, found, strict=True)
        if isinstance(entry, HoseLoad | PumpLoad)
    )
    if diversified > 0 and gains > MUCH_GAINED * diversified:
        notes.note(
            "loop_gains_high",
            f"Hoses and pumps bring {Power.from_si(gains, 'kW')}, {gains / diversified:.1%} of the load.",
            resolve="Shade or insulate the hoses, shorten the runs, choose a wider hose.",
            references=("refrigeration_practice",),
        )
    if given.margin > WIDE_MARGIN and total > 0 and diversified > MOSTLY_COINCIDENT * total:
        notes.check(
            "margin_high",
            f"A margin of {given.margin:.0%} on parts of which {diversified / total:.0%} coincide.",
            why="Machines that are too large start and stop often and wear out.",
            resolve="Lower the margin or the diversities; see refrigeration.pull_down for starts in the hour.",
            field="/margin",
            references=("refrigeration_practice",),
        )
