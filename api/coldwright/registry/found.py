"""What became of one entry point: listed by `GET /v1/plugins` and `coldwright plugins list`."""

from typing import Annotated, Literal

from msgspec import Meta, Struct

from coldwright.registry.reported import Stage

State = Literal["loaded", "set_aside", "denied"]


class Found(Struct, frozen=True, kw_only=True):
    """What became of one entry point."""

    entry_point: Annotated[str, Meta(description="Name of the entry point.")]
    target: Annotated[str, Meta(description="What the entry point names: `module:object`.")]
    distribution: Annotated[str, Meta(description="Distribution that it came from.")]
    distribution_version: Annotated[str, Meta(description="Version of the distribution.")]
    state: Annotated[State, Meta(description="Whether its calculators are served; `denied` by the operator's setting.")]
    stage: Annotated[Stage, Meta(description="Where it failed; empty when it did not.")] = ""
    reason: Annotated[str, Meta(description="Why it is not served.")] = ""
    remedy: Annotated[str, Meta(description="What to do about it.")] = ""
    title: Annotated[str, Meta(description="Title that the plugin gives itself.")] = ""
    contract: Annotated[str, Meta(description="Versions of the contract that it was written for.")] = ""
    calculators: Annotated[
        tuple[str, ...], Meta(description="Ids of its calculators; an older major version as `family.name@1`.")
    ] = ()
    import_seconds: Annotated[float, Meta(description="Time that it took to import and check.")] = 0.0
