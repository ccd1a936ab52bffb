"""What each kind of observation holds: the `data` of an observation, typed by its kind."""

from typing import Annotated, Final, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import (
    Current,
    Duration,
    Frequency,
    GaugePressure,
    Impedance,
    InsulationResistance,
    PressureDifference,
    Temperature,
    Voltage,
    Volume,
    VolumeFlow,
)
from coldwright_basis.instants import stamp

OnOff = Literal["on", "off"]
Conductor = Literal["ground", "neutral", "line_1", "line_2", "line_3"]
VALVES: Final = (
    "pump_suction", "pump_discharge", "pump_bypass", "supply", "return", "fill", "drain", "balancing", "vent", "other"
)  # fmt: skip
POINTS: Final = ("high_point", "pump_casing", "coil", "other")
ITEMS: Final = (
    "refrigerant_valves_open", "transport_restraints_removed", "coils_uncovered", "guards_on", "other"
)  # fmt: skip


WholeSource = Annotated[
    bool,
    about(
        "No: it concerns the breaker that feeds this machine alone. Yes, or not given: the source with every machine "
        "that it feeds. Asked of a machine with `own_breaker`."
    ),
]


def _listed(words: tuple[str, ...]) -> str:
    return ", ".join(f"`{word}`" for word in words)


class ObservationData(Given, frozen=True, kw_only=True, gc=False):
    """What an observation holds: numbers and words. No search for cycles of references: there are none among thousands."""


# --- placing and connecting --------------------------------------------------------------------------------------


class UnitLevelData(ObservationData, frozen=True, kw_only=True):
    """Whether the machine stands level."""

    ok: Annotated[bool, about("Level both ways, and chocked.")]


class PlateCheckData(ObservationData, frozen=True, kw_only=True):
    """Data plate compared with cable and breaker."""

    minimum_circuit_ampacity: Annotated[Current, about("As on the data plate.", above=0, high=1e5, unit="A")]
    maximum_overcurrent_device: Annotated[Current, about("As on the data plate.", above=0, high=1e5, unit="A")]
    cable_ampacity: Annotated[Current, about("What the cable may carry.", above=0, high=1e5, unit="A")]
    breaker_rating: Annotated[Current, about("Rating of the source's breaker or fuse.", above=0, high=1e5, unit="A")]
    rated_voltage: (
        Annotated[Voltage, about("Line voltage on the data plate.", above=0, high=1000, unit="V")] | UnsetType
    ) = UNSET


class GroundData(ObservationData, frozen=True, kw_only=True):
    """Protective conductor of the machine: equipment ground."""

    connected: Annotated[bool, about("Connected at both ends.")]


class LockData(ObservationData, frozen=True, kw_only=True):
    """A worker's lock on the source; `by` of the observation says whose it is."""

    lock_id: Annotated[Text, about("Number of the lock.", min_length=1)]
    state: Annotated[Literal["applied", "removed"], about("What was done with it.")]
    tagged: Annotated[bool, about("Whether it has a tag.")] | UnsetType = UNSET
    whole_source: WholeSource | UnsetType = UNSET


class LockCheckData(ObservationData, frozen=True, kw_only=True):
    """A look for locks at every place where the machine's supply can be locked."""

    none_seen: Annotated[bool, about("No lock is on anywhere.")]
    whole_source: WholeSource | UnsetType = UNSET


class ProvedDeadData(ObservationData, frozen=True, kw_only=True):
    """Measurement that the circuit is dead."""

    dead: Annotated[bool, about("0 V between all poles and from each pole to ground (earth).")]
    tester_proved_before: Annotated[bool, about("Tester tried on a live source before.")]
    tester_proved_after: Annotated[bool, about("Tester tried on a live source after.")]
    tried: Annotated[bool, about("A start was tried and nothing moved.")] | UnsetType = UNSET
    point: Annotated[Text, about("Where it was measured.")] | UnsetType = UNSET


class LineConnectionData(ObservationData, frozen=True, kw_only=True):
    """Conductors put on or taken off at one end."""

    end: Annotated[Literal["source", "machine"], about("Which end of the cable.")]
    set: Annotated[int, about("Number of the parallel set.", low=1, high=12)] = 1
    state: Annotated[Literal["connected", "disconnected"], about("What was done.")]
    order: Annotated[
        tuple[Conductor, ...], about("Conductors in the order really done, each once.", min_length=1, max_length=5)
    ]
    fully_mated: Annotated[bool, about("Connectors turned home and locked; needed when connected.")] | UnsetType = UNSET
    covers_on: Annotated[bool, about("Covers on; needed when connected.")] | UnsetType = UNSET


class EarthContinuityData(ObservationData, frozen=True, kw_only=True):
    """Resistance of the protective conductor, machine frame to source."""

    resistance: Annotated[Impedance, about("Reading.", low=0, high=1e9, unit="ohm")]


class InsulationTestData(ObservationData, frozen=True, kw_only=True):
    """Insulation of the cable."""

    resistance: Annotated[InsulationResistance, about("Lowest reading.", low=0, high=1e7, unit="megohm")]
    test_voltage: Annotated[Voltage, about("Test voltage, d.c.", low=0, high=20000, unit="V")]
    electronics_disconnected: Annotated[bool, about("Electronics were off the circuit.")]


class CableRouteData(ObservationData, frozen=True, kw_only=True):
    """How the cable lies."""

    ramps_fitted: Annotated[bool, about("Ramps where people or vehicles cross.")]
    off_water: Annotated[bool, about("Out of standing water.")]
    strain_relieved: Annotated[bool, about("No pull on the connectors.")]
    surplus_uncoiled: Annotated[bool, about("Surplus laid out, not coiled.")]


class TransferInterlockData(ObservationData, frozen=True, kw_only=True):
    """Whether two sources are kept apart."""

    ok: Annotated[bool, about("Set and public supply cannot feed together; the neutral is bonded as designed.")]


class LeadsSwappedData(ObservationData, frozen=True, kw_only=True):
    """Two leads were swapped to turn the rotation round."""

    where: Annotated[Literal["source", "machine"], about("At which end.")] = "source"


class MachineCheckData(ObservationData, frozen=True, kw_only=True):
    """One item of the look over the machine."""

    item: Annotated[Text, about(f"One of {_listed(ITEMS)}.", min_length=1)]
    label: Annotated[Text, about("Which item; needed with `other`.", min_length=1)] | UnsetType = UNSET
    ok: Annotated[bool, about("In order.")]


class MovedData(ObservationData, frozen=True, kw_only=True):
    """The machine was moved or lifted."""

    where: Annotated[Text, about("Where to.")] | UnsetType = UNSET


# --- power -------------------------------------------------------------------------------------------------------


class SupplyData(ObservationData, frozen=True, kw_only=True):
    """The supply at its source."""

    state: Annotated[Literal["on", "off", "interrupted"], about("`interrupted`: gone and back by itself.")]
    duration: Annotated[
        Duration, about("How long it was gone; only for `interrupted`.", low=0, high=3660, unit="d")
    ] = Duration(0.0, "s")
    cause: Annotated[
        Literal["unknown", "outage", "storm", "line_work", "source_work", "trip", "switched"],
        about(
            "Why it went off: a plain outage of the utility, a storm, work on its lines, work at the source, a trip of the "
            "breaker, or switched by hand."
        ),
    ] = "unknown"
    whole_source: WholeSource | UnsetType = UNSET


class IsolatorData(ObservationData, frozen=True, kw_only=True):
    """The isolator at the machine."""

    state: Annotated[Literal["open", "closed"], about("Position.")]


class ControlSwitchData(ObservationData, frozen=True, kw_only=True):
    """The control switch of the machine, which feeds the oil heaters."""

    state: Annotated[OnOff, about("Position.")]


class LineVoltageData(ObservationData, frozen=True, kw_only=True):
    """Line voltages at the machine's terminals."""

    v_ab: Annotated[Voltage, about("Between A and B.", low=0, high=1000, unit="V")]
    v_bc: Annotated[Voltage, about("Between B and C.", low=0, high=1000, unit="V")]
    v_ca: Annotated[Voltage, about("Between C and A.", low=0, high=1000, unit="V")]
    frequency: Annotated[Frequency, about("Frequency.", low=0, high=1000, unit="Hz")] | UnsetType = UNSET


class PhaseIndicatorData(ObservationData, frozen=True, kw_only=True):
    """Rotation of the phases."""

    rotation: Annotated[Literal["correct", "reversed", "missing_phase", "no_indication"], about("What it shows.")]


class OilHeaterData(ObservationData, frozen=True, kw_only=True):
    """An oil heater."""

    compressor: Annotated[Text, about("Which compressor.", min_length=1)]
    working: Annotated[bool, about("Felt warm, or its current read.")]


# --- liquid ------------------------------------------------------------------------------------------------------


class HoseConnectionData(ObservationData, frozen=True, kw_only=True):
    """A hose coupling."""

    end: Annotated[Literal["machine_inlet", "machine_outlet", "other"], about("Which coupling.")]
    connected: Annotated[bool, about("Connected.")]
    lever_locked: Annotated[bool, about("Both levers locked and pinned.")]
    gasket_seen: Annotated[bool, about("Gasket seen in place.")]
    direction_ok: Annotated[bool, about("Inlet and outlet the right way round.")]
    strain_free: Annotated[bool, about("No pull or twist.")]


class ValvePositionData(ObservationData, frozen=True, kw_only=True):
    """A valve as it stands."""

    valve: Annotated[Text, about(f"One of {_listed(VALVES)}.", min_length=1)]
    label: Annotated[Text, about("Which valve; needed with `other`.", min_length=1)] | UnsetType = UNSET
    in_flow_path: (
        Annotated[bool, about("Whether the flow through the machine goes through it; needed with `other`.")] | UnsetType
    ) = UNSET
    position: Annotated[Literal["open", "closed", "partial"], about("`partial` is neither open nor closed.")]


class FillData(ObservationData, frozen=True, kw_only=True):
    """Liquid was put in."""

    medium: Annotated[Literal["water", "antifreeze", "mixed"], about("`mixed`: of the strength in the loop.")]
    purpose: Annotated[Literal["first_fill", "repressurise", "top_up"], about("Why.")]
    volume: Annotated[Volume, about("How much.", low=0, high=1e4, unit="m3")] | UnsetType = UNSET


class AntifreezeChargeData(ObservationData, frozen=True, kw_only=True):
    """Antifreeze was put in."""

    volume: Annotated[Volume, about("How much.", low=0, high=1e4, unit="m3")] | UnsetType = UNSET
    mass_fraction: Annotated[float, about("Its strength by mass.", low=0, high=1)] | UnsetType = UNSET


class LoopOpenedData(ObservationData, frozen=True, kw_only=True):
    """The loop was opened: a coupling, a strainer, a burst hose."""

    where: Annotated[Text, about("Where.")] | UnsetType = UNSET


class DrainData(ObservationData, frozen=True, kw_only=True):
    """Liquid was let out."""

    where: Annotated[Text, about("Where.")] | UnsetType = UNSET


class LoopPressureData(ObservationData, frozen=True, kw_only=True):
    """Pressure at a gauge of the loop."""

    pump: Annotated[OnOff, about("Whether the pump ran.")]
    gauge: Annotated[
        Literal["suction", "discharge", "other"],
        about("Which gauge, seen from the pump. `other` is no gauge at which the filling pressure is read."),
    ] = "suction"
    value: Annotated[GaugePressure, about("Reading.", low=-101, high=5000, unit="kPa")]


class PurgeData(ObservationData, frozen=True, kw_only=True):
    """A vent was opened."""

    point: Annotated[Text, about(f"One of {_listed(POINTS)}.", min_length=1)]
    label: Annotated[Text, about("Which point; needed with `other`.", min_length=1)] | UnsetType = UNSET
    result: Annotated[Literal["steady_water", "spitting", "air", "none"], about("What came out at the end.")]
    pump: Annotated[OnOff, about("Whether the pump ran.")]


class LeakCheckData(ObservationData, frozen=True, kw_only=True):
    """A look for leaks under pressure."""

    result: Annotated[Literal["dry", "weep", "leak"], about("What was found.")]


class PumpStateData(ObservationData, frozen=True, kw_only=True):
    """A pump."""

    pump: Annotated[Literal["machine", "site"], about("Which pump.")]
    state: Annotated[Literal["on", "off", "tripped"], about("What it does.")]


class FlowSwitchData(ObservationData, frozen=True, kw_only=True):
    """The flow switch."""

    state: Annotated[Literal["made", "not_made"], about("`made`: it says that there is flow.")]


class PressureDropData(ObservationData, frozen=True, kw_only=True):
    """A difference of pressure."""

    value: Annotated[PressureDifference, about("Reading.", low=-2000, high=2000, unit="kPa")]


class FlowData(ObservationData, frozen=True, kw_only=True):
    """A flow."""

    value: Annotated[VolumeFlow, about("Reading.", low=0, high=1e4, unit="L/s")]


class StrainerData(ObservationData, frozen=True, kw_only=True):
    """The strainer after the first run."""

    blown_down: Annotated[bool, about("Blown down until clear.")]


class AntifreezeReadingData(ObservationData, frozen=True, kw_only=True):
    """Strength of the mixture, read from the running loop."""

    freeze_point: Annotated[Temperature, about("Freezing point.", low=-60, high=120, unit="degC")]
    mass_fraction: Annotated[float, about("Glycol by mass, if read too.", low=0, high=1)] | UnsetType = UNSET


class SetPointData(ObservationData, frozen=True, kw_only=True):
    """The set point as the controller shows it."""

    value: Annotated[Temperature, about("Leaving temperature wanted.", low=-60, high=120, unit="degC")]


class WaterTemperatureData(ObservationData, frozen=True, kw_only=True):
    """Temperatures at the evaporator; at least one."""

    leaving: Annotated[Temperature, about("Leaving.", low=-60, high=120, unit="degC")] | UnsetType = UNSET
    entering: Annotated[Temperature, about("Entering.", low=-60, high=120, unit="degC")] | UnsetType = UNSET


# --- machine and people ------------------------------------------------------------------------------------------


class AlarmData(ObservationData, frozen=True, kw_only=True):
    """An alarm of the controller."""

    code: Annotated[Text, about("Its code or words.", min_length=1)]
    state: Annotated[Literal["active", "cleared"], about("Whether it stands.")]
    warning: Annotated[bool, about("True for one that warns and stops nothing.")] = False


class AlarmCheckData(ObservationData, frozen=True, kw_only=True):
    """A look at the controller's list of alarms."""

    none_shown: Annotated[bool, about("It shows none.")]


class CompressorData(ObservationData, frozen=True, kw_only=True):
    """A compressor."""

    id: Annotated[Text, about("Its number, from 1 to the compressors of the configuration.", min_length=1)]
    state: Annotated[OnOff, about("What it does.")]
    current: (
        Annotated[Current, about("Current read at it; above zero it runs.", low=0, high=1e5, unit="A")] | UnsetType
    ) = UNSET


class UnitStopData(ObservationData, frozen=True, kw_only=True):
    """The machine's own stop."""

    state: Annotated[Literal["stopped", "enabled"], about("`stopped`: it cannot start by itself.")]


class AreaClearData(ObservationData, frozen=True, kw_only=True):
    """People around the machine."""

    clear: Annotated[bool, about("Nobody at fans, leads or couplings, and no guard open.")]
    where: (
        Annotated[
            Literal["fans", "leads", "couplings", "open_guards", "other"], about("Where somebody is; if not clear.")
        ]
        | UnsetType
    ) = UNSET
    whole_source: WholeSource | UnsetType = UNSET


# --- about other records -----------------------------------------------------------------------------------------


class SettledData(ObservationData, frozen=True, kw_only=True):
    """An open check settled by somebody who is qualified for it."""

    check: Annotated[Text, about("Code of the open check, as the answer lists it.", min_length=1)]
    records: Annotated[
        tuple[Text, ...], about("Ids of the records that it settles; no others.", min_length=1, max_length=100)
    ]
    found: Annotated[Text, about("What was found.", min_length=1)]
    done: Annotated[Text, about("What was done about it.", min_length=1)]


class OwnFactData(Given, frozen=True, kw_only=True):
    """A fact that no rule of this calculator reads, and a part of another plugin does: a customer's own permit."""

    name: Annotated[Text, about("Its name, as the part calls it: `permit.to_operate`.", min_length=1)]
    holds: Annotated[bool, about("Whether it is so.")]
    until: Annotated[str, stamp("Until when it holds, as a permit says.")] | UnsetType = UNSET
    detail: Annotated[Text, about("Its number, or what was seen.")] = ""


class WithdrawnData(ObservationData, frozen=True, kw_only=True):
    """The observation named in `supersedes` was a mistake."""

    reason: Annotated[Text, about("Why it is taken back.", min_length=1)]


class ClosedData(ObservationData, frozen=True, kw_only=True):
    """This start is over."""

    reason: Annotated[Literal["swap", "off_hire"], about("Machine exchanged, or hire over.")]
