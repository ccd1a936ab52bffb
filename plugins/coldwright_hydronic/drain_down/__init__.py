"""Volume and time to drain, what stays behind, the winter lay-up, and where the liquid may go."""

from msgspec import UNSET

from coldwright.contract import Load, Notes, calculator, tidy
from coldwright.contract.quantities import Duration, Mass, Volume, VolumeFlow
from coldwright_basis.compare import at_most
from coldwright_basis.liquids import check_fluid
from coldwright_hydronic.drain_down.contradictions import refuse_contradictions
from coldwright_hydronic.drain_down.discharge import OXYGEN_PER_KG, glycol_mass_of
from coldwright_hydronic.drain_down.examples import EXAMPLES
from coldwright_hydronic.drain_down.findings import FINDINGS, judge
from coldwright_hydronic.drain_down.given import DrainDownGiven
from coldwright_hydronic.drain_down.lay_up import lay_up
from coldwright_hydronic.drain_down.references import ORIFICE, OSHA_BLOWING, OXYGEN_DEMAND, TORRICELLI
from coldwright_hydronic.drain_down.results import DrainDownResults, VesselTime
from coldwright_hydronic.drain_down.volumes import drain
from coldwright_hydronic.shared.references import CAUTION_REFERENCES, FIRST_PRINCIPLES, PRACTICE, PROPERTY_REFERENCES
from coldwright_hydronic.shared.second_opinion import second_opinion


@calculator(
    "hydronic.drain_down",
    version="1.1.2",
    title="Draining a loop: volumes, time, lay-up and discharge",
    references=(
        *PROPERTY_REFERENCES,
        TORRICELLI,
        ORIFICE,
        OXYGEN_DEMAND,
        OSHA_BLOWING,
        FIRST_PRINCIPLES,
        PRACTICE,
        *CAUTION_REFERENCES,
    ),
    hazards=("pressure", "environment", "chemical", "general"),
    findings=FINDINGS,
    examples=EXAMPLES,
    load=Load.HEAVY,
)
def drain_down(given: DrainDownGiven, notes: Notes) -> DrainDownResults:
    """Volumes and time of draining, what stays, antifreeze for it, and what the discharge carries.

    Torricelli's law over each vessel's own cross-section, with a discharge coefficient: level against an open vent, no
    hose friction (for a long drain hose ask `hydronic.loop`). What stays in lines is common practice: 2 % of their volume
    laid to a fall, 10 % lying flat. Antifreeze for what stays: V x_t/(x_c - x_t). The glycol and its oxygen demand are
    those of what runs out.
    """
    check_fluid(given.fluid)
    refuse_contradictions(given)
    drained = drain(given, notes)
    strength, antifreeze = lay_up(given, notes, drained.residual)
    glycol_mass = glycol_mass_of(given, notes, drained.drained)
    judge(given, notes, drained, strength)
    first = drained.first_flow
    limit = given.receiver_flow_limit
    return DrainDownResults(
        second_opinion=second_opinion(given.fluid),
        total_volume=Volume.from_si(drained.total, "L"),
        drained_volume=Volume.from_si(drained.drained, "L"),
        residual_volume=Volume.from_si(drained.residual, "L"),
        initial_flow=UNSET if first is None else VolumeFlow.from_si(first, "L/s"),
        drain_time=UNSET if first is None else Duration.from_si(sum(drained.times), "s"),
        vessel_times=tuple(
            VesselTime(name=v.name, drain_time=Duration.from_si(t, "s"))
            for v, t in zip(given.vessels, drained.times, strict=True)
        ),
        antifreeze_volume=UNSET if antifreeze is None else Volume.from_si(antifreeze, "L"),
        lay_up_volume_fraction=UNSET if strength is None else tidy(strength.by_volume),
        glycol_mass=UNSET if glycol_mass is None else Mass.from_si(glycol_mass, "kg"),
        oxygen_demand=(
            UNSET if glycol_mass is None else Mass.from_si(glycol_mass * OXYGEN_PER_KG[given.fluid.kind], "kg")
        ),
        flow_within_limit=UNSET if first is None or limit is UNSET else at_most(first, limit.si),
    )
