"""Line currents against the voltages' unbalance."""

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Current
from coldwright_basis.compare import SLACK, above
from coldwright_electrical.shared.references import COMMON_PRACTICE
from coldwright_electrical.supply_quality.actions import MAKE_SAFE, ROLL_ACTION
from coldwright_electrical.supply_quality.given import SupplyQualityGiven
from coldwright_electrical.supply_quality.readings import Readings
from coldwright_electrical.supply_quality.symmetry import greatest_deviation


def judge_currents(
    given: SupplyQualityGiven, readings: Readings, notes: Notes, actions: list[str], u: float
) -> float | None:
    """Single-phasing, unbalance, and whether supply or machine is to blame. The current unbalance, if there is one."""
    currents = readings.currents
    if not currents:
        if given.loaded:
            notes.note("no_load_currents", "The machine ran, and no line currents were given: they are not judged.")
        return None
    mean = sum(currents) / 3
    if mean <= 0:
        if given.loaded:
            notes.check(
                "loaded_without_current",
                "The machine is said to run, and all three line currents read 0.",
                resolve="Look at the meter, and read again.",
                field="/line_currents",
            )
        return None
    unbalance = greatest_deviation(currents)
    notes.show("u_I", "Current unbalance", f"max |I - I_m| / I_m, I_m = {mean:.5g} A", unbalance)
    if min(currents) < 0.1 * mean:
        notes.stop(
            "single_phasing",
            say(
                "A line carries {currents:.4g} where the mean is {mean:.4g}.",
                currents=Current.of(min(currents), "A"),
                mean=Current.of(mean, "A"),
            ),
            why="Running motors feed the lost line back, so that the voltages can look almost right.",
            resolve="Find the open fuse, pole, connector or conductor.",
            field="/line_currents",
            references=(COMMON_PRACTICE.id,),
        )
        actions += [*MAKE_SAFE, "Find the open fuse, pole, connector or conductor, and close it for good."]
    over = above(unbalance, given.current_unbalance_limit_fraction)
    if over:
        notes.check(
            "current_unbalance",
            f"The current unbalance is {unbalance:.2%}, the limit {given.current_unbalance_limit_fraction:.0%}; this "
            f"voltage unbalance brings {6 * u:.2%} to {10 * u:.2%}.",
            resolve="Find out whether supply or machine is the cause.",
            field="/line_currents",
            references=(COMMON_PRACTICE.id,),
        )
    if above(unbalance, 10 * u + SLACK):
        notes.finding(
            "check" if over else "note",
            "machine_suspected",
            f"The currents are {unbalance:.2%} uneven, more than ten times the voltages' {u:.2%}.",
            why="That much does not come from the supply: look at the machine.",
            resolve=ROLL_ACTION,
            field="/line_currents",
            references=(COMMON_PRACTICE.id,),
        )
        if over:
            actions.append(ROLL_ACTION)
    return unbalance
