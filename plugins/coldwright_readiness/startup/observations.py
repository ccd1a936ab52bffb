"""Observations: what somebody saw, read or measured at the machine, and when.

`AnyObservation` is tagged by `kind`, and each kind has its own `data`. `check_observation` holds one observation to
everything that can be judged without the others, so that of a batch each can be taken or refused alone.
"""

from typing import Annotated, Final, Literal, get_args

from msgspec import UNSET, Meta, Struct, UnsetType

from coldwright.contract import Given, Text, about
from coldwright.contract.quantities import Duration
from coldwright_basis.instants import stamp
from coldwright_readiness.startup import observation_data as data_of

MOST_OBSERVATIONS: Final = 5000
"""Of one start. What stands of the machine's earlier ones, and what others share, comes beside them."""
MOST_BESIDE: Final = 10_000
ROLES: Final = ("electrician", "technician", "lift_team", "supervisor", "owner", "site", "other")


class Observation(Given, frozen=True, kw_only=True, gc=False):
    """What every observation carries. Like its data, it is left out of the search for cycles of references."""

    id: Annotated[Text, about("Made by the device, unique in the start-up.", min_length=1)]
    at: Annotated[str, stamp("When it was seen, by the device's clock.")]
    clock_offset: Annotated[Duration, about("Device's clock minus true time.", low=-36600, high=36600, unit="d")] = (
        Duration(0.0, "s")
    )
    time_uncertainty: Annotated[
        Duration, about("How far the time may be off, either way.", low=0, high=36600, unit="d")
    ] = Duration(0.0, "s")
    supersedes: (
        Annotated[
            Text, about("Id of an observation of the same kind and subject that this one corrects.", min_length=1)
        ]
        | UnsetType
    ) = UNSET
    by: Annotated[Text, about("Who saw it.", min_length=1)] | UnsetType = UNSET
    role: (
        Annotated[
            Text,
            about(
                f"In what role: {', '.join(f'`{r}`' for r in ROLES)}. Another word that was kept once is read as `other`.",
                min_length=1,
            ),
            Meta(extra_json_schema={"x-known-words": list(ROLES)}),
        ]
        | UnsetType
    ) = UNSET
    method: Annotated[Literal["measured", "read", "seen", "reported"], about("How it is known.")] | UnsetType = UNSET
    received_at: (
        Annotated[str, stamp("When the service received it first; nothing is seen after that.")] | UnsetType
    ) = UNSET
    sent_at: (
        Annotated[str, stamp("When its batch was sent, by the device's clock; compared with `received_at`.")]
        | UnsetType
    ) = UNSET
    device: Annotated[Text, about("The device that made it; with `boot` and `sequence`.", min_length=1)] | UnsetType = (
        UNSET
    )
    boot: Annotated[Text, about("The device's run since it was last started.", min_length=1)] | UnsetType = UNSET
    sequence: (
        Annotated[
            int,
            about(
                "Its number among the records of this boot: decides their order, whatever is stamped. Leave it out where "
                "something is written down later than it was seen.",
                low=0,
                high=2**53 - 1,
            ),
        ]
        | UnsetType
    ) = UNSET
    uptime: (
        Annotated[
            Duration,
            about(
                "Time since that boot, by a clock that nobody sets and that does not stop while the device sleeps.",
                low=0,
                high=36600,
                unit="d",
            ),
        ]
        | UnsetType
    ) = UNSET


class UnitLevel(Observation, frozen=True, kw_only=True, tag_field="kind", tag="unit_level"):
    """Observation of the kind `unit_level`."""

    data: Annotated[data_of.UnitLevelData, about("What was seen.")]


class PlateCheck(Observation, frozen=True, kw_only=True, tag_field="kind", tag="plate_check"):
    """Observation of the kind `plate_check`."""

    data: Annotated[data_of.PlateCheckData, about("What was seen.")]


class Ground(Observation, frozen=True, kw_only=True, tag_field="kind", tag="ground"):
    """Observation of the kind `ground`."""

    data: Annotated[data_of.GroundData, about("What was seen.")]


class Lock(Observation, frozen=True, kw_only=True, tag_field="kind", tag="lock"):
    """Observation of the kind `lock`."""

    data: Annotated[data_of.LockData, about("What was seen.")]


class Supply(Observation, frozen=True, kw_only=True, tag_field="kind", tag="supply"):
    """Observation of the kind `supply`."""

    data: Annotated[data_of.SupplyData, about("What was seen.")]


class Isolator(Observation, frozen=True, kw_only=True, tag_field="kind", tag="isolator"):
    """Observation of the kind `isolator`."""

    data: Annotated[data_of.IsolatorData, about("What was seen.")]


class ControlSwitch(Observation, frozen=True, kw_only=True, tag_field="kind", tag="control_switch"):
    """Observation of the kind `control_switch`."""

    data: Annotated[data_of.ControlSwitchData, about("What was seen.")]


class LineVoltage(Observation, frozen=True, kw_only=True, tag_field="kind", tag="line_voltage"):
    """Observation of the kind `line_voltage`."""

    data: Annotated[data_of.LineVoltageData, about("What was seen.")]


class PhaseIndicator(Observation, frozen=True, kw_only=True, tag_field="kind", tag="phase_indicator"):
    """Observation of the kind `phase_indicator`."""

    data: Annotated[data_of.PhaseIndicatorData, about("What was seen.")]


class LeadsSwapped(Observation, frozen=True, kw_only=True, tag_field="kind", tag="leads_swapped"):
    """Observation of the kind `leads_swapped`."""

    data: Annotated[data_of.LeadsSwappedData, about("What was seen.")]


class HoseConnection(Observation, frozen=True, kw_only=True, tag_field="kind", tag="hose_connection"):
    """Observation of the kind `hose_connection`."""

    data: Annotated[data_of.HoseConnectionData, about("What was seen.")]


class ValvePosition(Observation, frozen=True, kw_only=True, tag_field="kind", tag="valve_position"):
    """Observation of the kind `valve_position`."""

    data: Annotated[data_of.ValvePositionData, about("What was seen.")]


class Fill(Observation, frozen=True, kw_only=True, tag_field="kind", tag="fill"):
    """Observation of the kind `fill`."""

    data: Annotated[data_of.FillData, about("What was seen.")]


class AntifreezeCharge(Observation, frozen=True, kw_only=True, tag_field="kind", tag="antifreeze_charge"):
    """Observation of the kind `antifreeze_charge`."""

    data: Annotated[data_of.AntifreezeChargeData, about("What was seen.")]


class LoopOpened(Observation, frozen=True, kw_only=True, tag_field="kind", tag="loop_opened"):
    """Observation of the kind `loop_opened`."""

    data: Annotated[data_of.LoopOpenedData, about("What was seen.")]


class Drain(Observation, frozen=True, kw_only=True, tag_field="kind", tag="drain"):
    """Observation of the kind `drain`."""

    data: Annotated[data_of.DrainData, about("What was seen.")]


class LoopPressure(Observation, frozen=True, kw_only=True, tag_field="kind", tag="loop_pressure"):
    """Observation of the kind `loop_pressure`."""

    data: Annotated[data_of.LoopPressureData, about("What was seen.")]


class Purge(Observation, frozen=True, kw_only=True, tag_field="kind", tag="purge"):
    """Observation of the kind `purge`."""

    data: Annotated[data_of.PurgeData, about("What was seen.")]


class LeakCheck(Observation, frozen=True, kw_only=True, tag_field="kind", tag="leak_check"):
    """Observation of the kind `leak_check`."""

    data: Annotated[data_of.LeakCheckData, about("What was seen.")]


class PumpState(Observation, frozen=True, kw_only=True, tag_field="kind", tag="pump_state"):
    """Observation of the kind `pump_state`."""

    data: Annotated[data_of.PumpStateData, about("What was seen.")]


class FlowSwitch(Observation, frozen=True, kw_only=True, tag_field="kind", tag="flow_switch"):
    """Observation of the kind `flow_switch`."""

    data: Annotated[data_of.FlowSwitchData, about("What was seen.")]


class EvaporatorPressureDrop(Observation, frozen=True, kw_only=True, tag_field="kind", tag="evaporator_pressure_drop"):
    """Observation of the kind `evaporator_pressure_drop`."""

    data: Annotated[data_of.PressureDropData, about("What was seen.")]


class StrainerPressureDrop(Observation, frozen=True, kw_only=True, tag_field="kind", tag="strainer_pressure_drop"):
    """Observation of the kind `strainer_pressure_drop`."""

    data: Annotated[data_of.PressureDropData, about("What was seen.")]


class Flow(Observation, frozen=True, kw_only=True, tag_field="kind", tag="flow"):
    """Observation of the kind `flow`."""

    data: Annotated[data_of.FlowData, about("What was seen.")]


class Strainer(Observation, frozen=True, kw_only=True, tag_field="kind", tag="strainer"):
    """Observation of the kind `strainer`."""

    data: Annotated[data_of.StrainerData, about("What was seen.")]


class AntifreezeReading(Observation, frozen=True, kw_only=True, tag_field="kind", tag="antifreeze_reading"):
    """Observation of the kind `antifreeze_reading`."""

    data: Annotated[data_of.AntifreezeReadingData, about("What was seen.")]


class SetPoint(Observation, frozen=True, kw_only=True, tag_field="kind", tag="set_point"):
    """Observation of the kind `set_point`."""

    data: Annotated[data_of.SetPointData, about("What was seen.")]


class WaterTemperature(Observation, frozen=True, kw_only=True, tag_field="kind", tag="water_temperature"):
    """Observation of the kind `water_temperature`."""

    data: Annotated[data_of.WaterTemperatureData, about("What was seen.")]


class Alarm(Observation, frozen=True, kw_only=True, tag_field="kind", tag="alarm"):
    """Observation of the kind `alarm`."""

    data: Annotated[data_of.AlarmData, about("What was seen.")]


class Compressor(Observation, frozen=True, kw_only=True, tag_field="kind", tag="compressor"):
    """Observation of the kind `compressor`."""

    data: Annotated[data_of.CompressorData, about("What was seen.")]


class AreaClear(Observation, frozen=True, kw_only=True, tag_field="kind", tag="area_clear"):
    """Observation of the kind `area_clear`."""

    data: Annotated[data_of.AreaClearData, about("What was seen.")]


class ProvedDead(Observation, frozen=True, kw_only=True, tag_field="kind", tag="proved_dead"):
    """Observation of the kind `proved_dead`."""

    data: Annotated[data_of.ProvedDeadData, about("What was seen.")]


class LineConnection(Observation, frozen=True, kw_only=True, tag_field="kind", tag="line_connection"):
    """Observation of the kind `line_connection`."""

    data: Annotated[data_of.LineConnectionData, about("What was seen.")]


class EarthContinuity(Observation, frozen=True, kw_only=True, tag_field="kind", tag="earth_continuity"):
    """Observation of the kind `earth_continuity`."""

    data: Annotated[data_of.EarthContinuityData, about("What was seen.")]


class InsulationTest(Observation, frozen=True, kw_only=True, tag_field="kind", tag="insulation_test"):
    """Observation of the kind `insulation_test`."""

    data: Annotated[data_of.InsulationTestData, about("What was seen.")]


class CableRoute(Observation, frozen=True, kw_only=True, tag_field="kind", tag="cable_route"):
    """Observation of the kind `cable_route`."""

    data: Annotated[data_of.CableRouteData, about("What was seen.")]


class TransferInterlock(Observation, frozen=True, kw_only=True, tag_field="kind", tag="transfer_interlock"):
    """Observation of the kind `transfer_interlock`."""

    data: Annotated[data_of.TransferInterlockData, about("What was seen.")]


class OilHeater(Observation, frozen=True, kw_only=True, tag_field="kind", tag="oil_heater"):
    """Observation of the kind `oil_heater`."""

    data: Annotated[data_of.OilHeaterData, about("What was seen.")]


class MachineCheck(Observation, frozen=True, kw_only=True, tag_field="kind", tag="machine_check"):
    """Observation of the kind `machine_check`."""

    data: Annotated[data_of.MachineCheckData, about("What was seen.")]


class Moved(Observation, frozen=True, kw_only=True, tag_field="kind", tag="moved"):
    """Observation of the kind `moved`."""

    data: Annotated[data_of.MovedData, about("What was seen.")]


class LockCheck(Observation, frozen=True, kw_only=True, tag_field="kind", tag="lock_check"):
    """Observation of the kind `lock_check`."""

    data: Annotated[data_of.LockCheckData, about("What was seen.")]


class AlarmCheck(Observation, frozen=True, kw_only=True, tag_field="kind", tag="alarm_check"):
    """Observation of the kind `alarm_check`."""

    data: Annotated[data_of.AlarmCheckData, about("What was seen.")]


class UnitStop(Observation, frozen=True, kw_only=True, tag_field="kind", tag="unit_stop"):
    """Observation of the kind `unit_stop`."""

    data: Annotated[data_of.UnitStopData, about("What was seen.")]


class Settled(Observation, frozen=True, kw_only=True, tag_field="kind", tag="settled"):
    """Observation of the kind `settled`."""

    data: Annotated[data_of.SettledData, about("What was seen.")]


class OwnFact(Observation, frozen=True, kw_only=True, tag_field="kind", tag="own_fact"):
    """Observation of the kind `own_fact`."""

    data: Annotated[data_of.OwnFactData, about("What was seen.")]


class Withdrawn(Observation, frozen=True, kw_only=True, tag_field="kind", tag="withdrawn"):
    """Observation of the kind `withdrawn`."""

    data: Annotated[data_of.WithdrawnData, about("What was seen.")]


class Closed(Observation, frozen=True, kw_only=True, tag_field="kind", tag="closed"):
    """Observation of the kind `closed`."""

    data: Annotated[data_of.ClosedData, about("What was seen.")]


AnyObservation = (
    UnitLevel
    | PlateCheck
    | Ground
    | Lock
    | Supply
    | Isolator
    | ControlSwitch
    | LineVoltage
    | PhaseIndicator
    | LeadsSwapped
    | HoseConnection
    | ValvePosition
    | Fill
    | AntifreezeCharge
    | LoopOpened
    | Drain
    | LoopPressure
    | Purge
    | LeakCheck
    | PumpState
    | FlowSwitch
    | EvaporatorPressureDrop
    | StrainerPressureDrop
    | Flow
    | Strainer
    | AntifreezeReading
    | SetPoint
    | WaterTemperature
    | Alarm
    | Compressor
    | AreaClear
    | ProvedDead
    | LineConnection
    | EarthContinuity
    | InsulationTest
    | CableRoute
    | TransferInterlock
    | OilHeater
    | MachineCheck
    | Moved
    | LockCheck
    | AlarmCheck
    | UnitStop
    | Settled
    | OwnFact
    | Withdrawn
    | Closed
)
KINDS: Final = tuple(str(member.__struct_config__.tag) for member in get_args(AnyObservation))


_KIND_OF: Final = {member: str(member.__struct_config__.tag) for member in get_args(AnyObservation)}


def kind_of(observation: Struct) -> str:
    """The word that tags an observation."""
    return _KIND_OF[type(observation)]
