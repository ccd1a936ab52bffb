"""What `refrigeration.cycle` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import (
    AbsolutePressure,
    Density,
    MassFlow,
    Power,
    SpecificEnthalpy,
    SpecificHeat,
    Temperature,
    VolumeFlow,
)


class CycleState(Results, frozen=True, kw_only=True):
    """One point of the cycle."""

    pressure: Annotated[AbsolutePressure, about("Absolute pressure.")]
    temperature: Annotated[Temperature, about("Temperature.")]
    enthalpy: Annotated[
        SpecificEnthalpy, about("Specific enthalpy, on CoolProp's zero for the fluid: only differences mean anything.")
    ]
    entropy: Annotated[SpecificHeat, about("Specific entropy, on CoolProp's zero for the fluid.")]
    density: Annotated[Density, about("Density.")]
    quality: Annotated[float, about("Vapour by mass, in or on the dome; else left out.")] | UnsetType = UNSET


class CycleResults(Results, frozen=True, kw_only=True):
    """State points and figures. What needs the size of the circuit is left out where none was given."""

    states: Annotated[
        tuple[CycleState, ...],
        about("Compressor inlet, compressor outlet, condenser outlet, evaporator inlet.", max_length=4),
    ]
    isentropic_efficiency: Annotated[float, about("Isentropic efficiency, given or found from the outlet temperature.")]
    discharge_temperature: Annotated[Temperature, about("Compressor outlet.")]
    pressure_ratio: Annotated[float, about("Absolute pressure at the compressor's outlet over its inlet.")]
    condensing_temperature: Annotated[Temperature, about("Mean of bubble and dew point at the compressor's outlet.")]
    condensing_bubble_temperature: Annotated[Temperature, about("Bubble point at the compressor's outlet pressure.")]
    condensing_dew_temperature: Annotated[Temperature, about("Dew point at the compressor's outlet pressure.")]
    evaporating_temperature: Annotated[Temperature, about("Dew point at the evaporating pressure.")]
    specific_cooling: Annotated[SpecificEnthalpy, about("Cooling for each mass that goes round: h1 - h4.")]
    specific_work: Annotated[SpecificEnthalpy, about("Work for each mass that goes round: h2 - h1.")]
    specific_heat_rejected: Annotated[SpecificEnthalpy, about("Heat rejected for each mass that goes round: h2 - h3.")]
    cop: Annotated[float, about("Cooling over shaft power.")]
    eer: Annotated[float, about("Cooling in Btu for a watt-hour at the shaft.")]
    kw_per_ton: Annotated[float, about("Shaft power in kW for a ton of cooling.")]
    carnot_cop: Annotated[
        float,
        about(
            "Te/(Tc - Te), kelvin, of the mean evaporating and condensing temperatures: a yardstick. Much superheat "
            "counted as cooling can pass it."
        ),
    ]
    mass_flow: Annotated[MassFlow, about("Refrigerant that goes round.")] | UnsetType = UNSET
    capacity: Annotated[Power, about("Cooling.", us="ton")] | UnsetType = UNSET
    compressor_power: Annotated[Power, about("Power at the shaft.", us="kW")] | UnsetType = UNSET
    electric_power: Annotated[Power, about("Power that the motor draws.", us="kW")] | UnsetType = UNSET
    heat_rejected: Annotated[Power, about("Heat given off by the condenser.", us="Btu/h")] | UnsetType = UNSET
    swept_volume_flow: Annotated[VolumeFlow, about("Volume that the compressor must sweep.")] | UnsetType = UNSET
