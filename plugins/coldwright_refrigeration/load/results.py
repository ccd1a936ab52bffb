"""What `refrigeration.load` answers."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Results, about
from coldwright.contract.quantities import Duration, MassFlow, Power, VolumeFlow


class LoadPart(Results, frozen=True, kw_only=True):
    """One part of the load."""

    name: Annotated[str, about("Name of the part.")]
    kind: Annotated[str, about("Kind of the part.")]
    total: Annotated[
        Power,
        about("Heat of the part that counts in the design load, not yet times its diversity or the margin.", us="ton"),
    ]
    peak: Annotated[Power, about("Greatest heat.", us="ton")]
    mean: Annotated[Power, about("Mean heat over the time of a batch.", us="ton")] | UnsetType = UNSET
    sensible: Annotated[Power, about("Part that cools the air.", us="ton")] | UnsetType = UNSET
    latent: Annotated[Power, about("Part that dries the air.", us="ton")] | UnsetType = UNSET
    condensate: Annotated[MassFlow, about("Water that the coil drips.")] | UnsetType = UNSET
    time: Annotated[Duration, about("Time until the batch is cold.")] | UnsetType = UNSET
    is_estimate: Annotated[bool, about("Whether it is only an estimate.")]


class LoadResults(Results, frozen=True, kw_only=True):
    """The load, part by part and together."""

    loads: Annotated[tuple[LoadPart, ...], about("The parts, in the order given.")]
    total: Annotated[Power, about("Sum of the parts.", us="ton")]
    diversified_total: Annotated[Power, about("Sum of the parts, each times its diversity.", us="ton")]
    design_load: Annotated[Power, about("That with the margin: what the machines must do.", us="ton")]
    required_flow: Annotated[VolumeFlow, about("Flow of the loop's liquid that carries the design load.")]
    estimate_share: Annotated[float, about("Share of the diversified total that is only an estimate.")]
    tons: Annotated[float, about("The design load in tons of refrigeration.")]
