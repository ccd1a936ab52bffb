"""The sums over the parts of a load."""

import math

from msgspec import UNSET, UnsetType

from coldwright.contract import Notes, tidy
from coldwright.contract.quantities import MassFlow, Power, VolumeFlow
from coldwright_basis.constants import TON_OF_REFRIGERATION
from coldwright_refrigeration.load.findings import stand_out
from coldwright_refrigeration.load.found import Found
from coldwright_refrigeration.load.given import AnyLoad, LoadGiven
from coldwright_refrigeration.load.results import LoadPart, LoadResults
from coldwright_refrigeration.shared import liquids

TEN_CELSIUS = 283.15


def sum_up(given: LoadGiven, found: list[Found], notes: Notes) -> LoadResults:
    """The sums over all parts, with what stands out."""
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
        f"Q_design / (rho c dT) at 10 degC = Q_design / ({heat / 1e6:.5f} MJ/m3.K x {given.temperature_difference})"
    )
    notes.show("V", "Flow that carries the design load", expression, VolumeFlow.from_si(flow, "L/s"))
    stand_out(given, found, total, diversified, share, notes)
    return LoadResults(
        loads=tuple(_described(entry, part) for entry, part in zip(given.loads, found, strict=True)),
        total=Power.from_si(total, "kW"),
        diversified_total=Power.from_si(diversified, "kW"),
        design_load=Power.from_si(design, "kW"),
        required_flow=VolumeFlow.from_si(flow, "L/s"),
        estimate_share=tidy(share),
        tons=tidy(design / TON_OF_REFRIGERATION),
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
