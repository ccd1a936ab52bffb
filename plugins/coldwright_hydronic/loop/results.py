"""What `hydronic.loop` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import (
    Frequency,
    GaugePressure,
    Length,
    Power,
    PressureDifference,
    TemperatureDifference,
    Velocity,
    VolumeFlow,
)
from coldwright_hydronic.shared.second_opinion import SecondOpinion


class LoopElement(Results, frozen=True, kw_only=True):
    """One element with the loop running."""

    name: Annotated[str, about("Its name.")]
    flow_each: Annotated[
        VolumeFlow, about("Flow of one run of a line or fittings, of one unit of a device, else the whole flow.")
    ]
    velocity: Annotated[Velocity, about("Velocity in one run.")] | UnsetType = UNSET
    reynolds: Annotated[float, about("Reynolds number.")] | UnsetType = UNSET
    friction_factor: Annotated[float, about("Friction factor (Darcy).")] | UnsetType = UNSET
    pressure_drop: Annotated[PressureDifference, about("Friction alone, without the change of height.")]
    pressure_in: Annotated[GaugePressure, about("Pressure at its inlet.")]
    pressure_out: Annotated[GaugePressure, about("Pressure at its outlet.")]
    branches: (
        Annotated[tuple[tuple["LoopElement", ...], ...], about("Elements of each path, of `branches`.")] | UnsetType
    ) = UNSET


class PumpCurvePoint(Results, frozen=True, kw_only=True):
    """A point of the curve of the whole set of pumps, at its frequency."""

    flow: Annotated[VolumeFlow, about("Flow of the set.")]
    head: Annotated[Length, about("Head.")]
    brake_power: Annotated[Power, about("Power at the shafts, where the efficiency is known.", us="hp")] | UnsetType = (
        UNSET
    )


class LoopPump(Results, frozen=True, kw_only=True):
    """A running entry of `pumps` at its share of the flow."""

    index: Annotated[int, about("Its place in `pumps`, counted from 0.")]
    flow_each: Annotated[VolumeFlow, about("Flow of one of its equal pumps.")]
    head: Annotated[Length, about("Head that it makes.")]
    npsh_available: (
        Annotated[Length, about("Net positive suction head at it, with the head of the pumps before it.")] | UnsetType
    ) = UNSET
    npsh_required: (
        Annotated[Length, about("What it needs; left out where the flow is beyond its curve of that.")] | UnsetType
    ) = UNSET


class NamedPressure(Results, frozen=True, kw_only=True):
    """A pressure and the element where it stands."""

    name: Annotated[str, about("Element.")]
    value: Annotated[GaugePressure, about("Gauge pressure.")]


class HoseChoice(Results, frozen=True, kw_only=True):
    """A hose in a number of runs, at the required flow."""

    inner_diameter: Annotated[Length, about("Bore.")]
    runs: Annotated[int, about("Runs side by side.")]
    velocity: Annotated[Velocity, about("Velocity in one run.")]
    pressure_drop: Annotated[PressureDifference, about("Drop over the run, out plus back.")]
    acceptable: Annotated[bool, about("Within velocity, friction, head of the pump and working pressure.")]
    fails: Annotated[tuple[str, ...], about("What it fails: velocity, friction, head, working_pressure.")] = ()


class LoopResults(Results, frozen=True, kw_only=True):
    """Flow, head, power, pressures, and what they leave for the load, the suction and the hose."""

    duty_flow: Annotated[VolumeFlow, about("Flow of the loop.")] | UnsetType = UNSET
    pump_head: Annotated[Length, about("Head of all pumps in series, of the pumped liquid.")] | UnsetType = UNSET
    pump_pressure_rise: Annotated[PressureDifference, about("Pressure rise of the pumps.")] | UnsetType = UNSET
    hydraulic_power: Annotated[Power, about("Power given to the liquid.", us="hp")] | UnsetType = UNSET
    brake_power: Annotated[Power, about("Power at the shafts.", us="hp")] | UnsetType = UNSET
    motor_input_power: Annotated[Power, about("Power from the mains.", us="hp")] | UnsetType = UNSET
    pumps: Annotated[tuple[LoopPump, ...], about("The running pumps, in the order of the flow.")] = ()
    scaled_pump_curve: Annotated[
        tuple[PumpCurvePoint, ...], about("Curve of the whole set of pumps at its frequency.")
    ] = ()
    scaled_point: Annotated[PumpCurvePoint, about("The known point at its frequency.")] | UnsetType = UNSET
    elements: Annotated[tuple[LoopElement, ...], about("The elements, in the order given.")] = ()
    branch_flows: Annotated[
        tuple[VolumeFlow, ...], about("Flows of all paths of all `branches`, in the order given.")
    ] = ()
    loop_pressure_drop: (
        Annotated[PressureDifference, about("Friction of all elements, and of pumps that stand in the line.")]
        | UnsetType
    ) = UNSET
    npsh_available: Annotated[Length, about("Net positive suction head at the first pump.")] | UnsetType = UNSET
    npsh_required: Annotated[Length, about("What the first running pump needs.")] | UnsetType = UNSET
    npsh_margin_ratio: Annotated[float, about("Available over required.")] | UnsetType = UNSET
    npsh_wanted: Annotated[Length, about("1.3 times what the pump needs, and 1 m more than it.")] | UnsetType = UNSET
    required_flow: Annotated[VolumeFlow, about("Flow that is wanted.")] | UnsetType = UNSET
    throttling_pressure_drop: (
        Annotated[PressureDifference, about("Drop that a valve must add for the required flow.")] | UnsetType
    ) = UNSET
    throttling_kv: Annotated[float, about("Kv of that valve.")] | UnsetType = UNSET
    equivalent_frequency: (
        Annotated[Frequency, about("Frequency of the first running pump that does the same, and saves its power.")]
        | UnsetType
    ) = UNSET
    throttled_head_fraction: (
        Annotated[float, about("Share of the pumps' head that valves take, or must take for the required flow.")]
        | UnsetType
    ) = UNSET
    pumps_enough: (
        Annotated[int, about("Pumps side by side that would give the flow without valves, where fewer do.")] | UnsetType
    ) = UNSET
    frequency_without_valves: (
        Annotated[Frequency, about("Frequency of the first running pump that gives the flow without valves.")]
        | UnsetType
    ) = UNSET
    temperature_difference_at_load: (
        Annotated[TemperatureDifference, about("Difference that the required load makes at this flow.")] | UnsetType
    ) = UNSET
    hose_selection: Annotated[
        tuple[HoseChoice, ...], about("Each hose in each number of runs, in the order given.")
    ] = ()
    hose_choice: (
        Annotated[HoseChoice, about("Least bore times runs that is acceptable; absent if none is.")] | UnsetType
    ) = UNSET
    lowest_pressure: Annotated[NamedPressure, about("Lowest running pressure.")] | UnsetType = UNSET
    highest_pressure: Annotated[NamedPressure, about("Highest running pressure.")] | UnsetType = UNSET
    second_opinion: Annotated[SecondOpinion, about("The inhibited fluid at this temperature.")] | UnsetType = UNSET
