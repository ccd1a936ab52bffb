"""The same volume fraction by another set of data: the fit of the tables for inhibited glycols."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Fluid, Results, about
from coldwright.contract.quantities import Density, DynamicViscosity, SpecificHeat, Temperature
from coldwright_basis import coolprop
from coldwright_basis.constants import ZERO_CELSIUS
from coldwright_basis.liquids import HOTTEST, STATE_PRESSURE

_INHIBITED_BY_VOLUME = {"ethylene_glycol": "AEG", "propylene_glycol": "APG"}


class SecondOpinion(Results, frozen=True, kw_only=True):
    """The same volume fraction by the fit of the tables for inhibited glycol: how much the choice of data matters."""

    freezing_temperature: Annotated[Temperature, about("Freezing point of the inhibited fluid.")]
    density: Annotated[Density, about("Density of the inhibited fluid.")] | UnsetType = UNSET
    specific_heat: Annotated[SpecificHeat, about("Specific heat of the inhibited fluid.")] | UnsetType = UNSET
    dynamic_viscosity: Annotated[DynamicViscosity, about("Viscosity of the inhibited fluid.")] | UnsetType = UNSET


def second_opinion(fluid: Fluid, temperature_k: float | None = None) -> SecondOpinion | UnsetType:
    """The inhibited fluid of the same volume fraction, at the fluid's own temperature where none is named.

    Absent unless a volume fraction in its range was given.
    """
    if temperature_k is None and fluid.temperature is not UNSET:
        temperature_k = fluid.temperature.si
    if fluid.kind not in _INHIBITED_BY_VOLUME or fluid.volume_fraction is UNSET:
        return UNSET
    return inhibited_glycol(fluid.kind, fluid.volume_fraction, temperature_k)


def inhibited_glycol(
    kind: str, volume_fraction: float, temperature_k: float | None = None
) -> SecondOpinion | UnsetType:
    """By the fit of the tables for inhibited glycol (0.10 to 0.60 by volume, -35 to 100 degC); absent outside it."""
    if not 0.10 <= volume_fraction <= 0.60:
        return UNSET
    state = coolprop.state("INCOMP", _INHIBITED_BY_VOLUME[kind])
    state.set_volu_fractions([volume_fraction])
    pt = coolprop.core().PT_INPUTS
    state.update(pt, STATE_PRESSURE, 300.0)
    freezing = state.keyed_output(coolprop.core().iT_freeze)
    shown = Temperature.from_si(freezing, "degC")
    if temperature_k is None or not max(freezing + 0.01, ZERO_CELSIUS - 35.0) <= temperature_k <= HOTTEST:
        return SecondOpinion(freezing_temperature=shown)
    state.update(pt, STATE_PRESSURE, temperature_k)
    return SecondOpinion(
        freezing_temperature=shown,
        density=Density.from_si(state.rhomass(), "kg/m3"),
        specific_heat=SpecificHeat.from_si(state.cpmass(), "kJ/kg.K"),
        dynamic_viscosity=DynamicViscosity.from_si(state.viscosity(), "mPa.s"),
    )
