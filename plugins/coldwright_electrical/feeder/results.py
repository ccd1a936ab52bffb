"""What a feeder answers: the cable, what it carries, what it drops, what to load."""

from typing import Annotated, Literal

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Current, Impedance, Length, Power, Voltage


class PickListResults(Results, frozen=True, kw_only=True):
    """What to load for the run."""

    sections: Annotated[int, about("Sections in line.")]
    cable_pieces: Annotated[int, about("Pieces of cable: sections of all lines, ground and neutral included.")]
    mated_pairs: Annotated[int, about("Pairs of connectors to be joined.")]
    ramps: Annotated[int, about("Pieces of cable ramp.")]
    spare_pieces: Annotated[int, about("Spare pieces: one of each colour for every 20.")]
    line_colors: Annotated[
        tuple[str, ...], about("Usual colours of lines, neutral and ground, for information: site marking prevails.")
    ]


class FeederResults(Results, frozen=True, kw_only=True):
    """The cable, what it carries, what it drops. A value is left out where the method has none."""

    conductor_size: Annotated[str, about("Size of the conductors.")]
    sets: Annotated[int, about("Parallel sets.")]
    ampacity_table: Annotated[str, about("Where the ampacity comes from.")]
    temperature_factor: Annotated[float, about("Factor for the ambient temperature.")]
    bundling_factor: Annotated[float, about("Factor for more than three current-carrying conductors.")]
    ampacity_each: Annotated[Current, about("Table x factors, before the limits below.")]
    contact_limit_each: Annotated[Current, about("Limit of single conductors that touch.")] | UnsetType = UNSET
    termination_limit_each: (
        Annotated[Current, about("Limit of the terminations by the table of their temperature.")] | UnsetType
    ) = UNSET
    ampacity_total: Annotated[Current, about("All sets, each at the smallest of its limits, terminations by table.")]
    ampacity_total_if_connector_basis: (
        Annotated[Current, about("The same with the connectors' rating in place of the terminations' limit.")]
        | UnsetType
    ) = UNSET
    ampacity_deciding: Annotated[Current, about("The one of the two that the verdict rests on.")]
    equipment_ground_size: Annotated[str, about("Size of one equipment ground; one in each set.")] | UnsetType = UNSET
    resistance: Annotated[Impedance, about("Resistance of the whole run, all sets in parallel, one conductor.")]
    reactance: Annotated[Impedance, about("Reactance of the same.")]
    drop_running_approximate: Annotated[Voltage, about("Running drop by the short form, line to line.")]
    drop_running: Annotated[Voltage, about("Running drop, exact, line to line.")]
    drop_running_fraction: Annotated[float, about("The exact drop over the system voltage.")]
    voltage_at_machine: Annotated[Voltage, about("Voltage at the machine while running.")]
    starting_drop_fraction: Annotated[float, about("Drop during the start over the system voltage.")] | UnsetType = (
        UNSET
    )
    starting_voltage: Annotated[Voltage, about("Voltage at the machine during the start.")] | UnsetType = UNSET
    longest_run: Annotated[Length, about("Run at which the first of the allowed drops is used up.")]
    loss: Annotated[Power, about("Heat lost in the cable.")]
    pick_list: Annotated[PickListResults, about("What to load for the run.")]
    verdict: Annotated[
        Literal["ok", "not_ok"], about("`not_ok` where ampacity, device, parallel sets, laying or voltage forbid it.")
    ]
