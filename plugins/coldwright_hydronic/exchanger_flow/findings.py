"""What a person should know of an exchanger's flow."""

from msgspec import UNSET

from coldwright.contract import Notes, finding, say
from coldwright.contract.quantities import VolumeFlow
from coldwright_basis.compare import above, below
from coldwright_hydronic.exchanger_flow.flow import Flow
from coldwright_hydronic.exchanger_flow.given import ExchangerFlowGiven
from coldwright_hydronic.exchanger_flow.results import ExchangerFlowResults
from coldwright_hydronic.shared.devices import TRUSTED_RATIO

FINDINGS = (
    finding("flow_below_minimum", ("stop", "check"), "The flow is, or with its uncertainty may be, below the minimum."),
    finding("flow_above_maximum", "check", "The flow is above the maximum of the exchanger."),
    finding("minimum_not_given", "check", "The least flow is not known: freezing was not tested."),
    finding("outside_trusted_range", "check", "The flow is too far from the rating for the power law."),
    finding("trip_below_minimum", "stop", "The proof of flow trips only below the least flow: it proves nothing."),
    finding("proof_made_without_flow", "stop", "The proof of flow is made while the pump is off."),
    finding("trip_margin_small", "check", "The flow is less than 10 % above the trip of the proof, or below it."),
    finding("flow_and_heat_disagree", "check", "The flows by pressure drop and by heat differ by more than 15 %."),
    finding("flow_uncertain", "check", "The gauges leave the flow uncertain by more than 10 %."),
    finding("strainer_dirty", "check", "The strainer drops more than 2.5 times its clean drop."),
    finding("strainer_to_watch", "note", "The strainer drops more than 1.5 times its clean drop."),
    finding("two_gauges", "note", "Two gauges were used: one gauge swapped between both taps has no zero error."),
)


def find_flow(given: ExchangerFlowGiven, notes: Notes, flow: Flow) -> None:
    """Flow against its least and greatest, and against the range of the law."""
    shown = VolumeFlow.from_si(flow.flow, "L/s")
    if given.flow_minimum is UNSET:
        notes.check(
            "minimum_not_given",
            "The least flow of the exchanger is not given, so freezing was not tested.",
            why="Below its least flow an evaporator can freeze in a part of its tubes.",
            resolve="Take flow_minimum from the machine's data.",
            field="/flow_minimum",
        )
    elif below(flow.flow, given.flow_minimum.si):
        notes.stop(
            "flow_below_minimum",
            say(
                "The flow is {measured}, {shortfall:.1%} below the minimum of {flow_minimum}.",
                measured=shown,
                shortfall=1 - flow.flow / given.flow_minimum.si,
                flow_minimum=given.flow_minimum,
            ),
            why="Too little flow freezes the evaporator.",
            resolve="Open valves, clean the strainer, let the air out, look for an open bypass, lay larger or more hose.",
            field="/flow_minimum",
        )
    elif below(flow.flow * (1.0 - flow.uncertainty), given.flow_minimum.si):
        notes.check(
            "flow_below_minimum",
            say(
                "The flow is {measured}, but with its uncertainty of {uncertainty:.1%} it may be below the "
                "minimum of {flow_minimum}.",
                measured=shown,
                uncertainty=flow.uncertainty,
                flow_minimum=given.flow_minimum,
            ),
            why="Too little flow freezes the evaporator.",
            resolve="Read both taps with one gauge, or raise the flow.",
            field="/gauge_error",
        )
    if given.flow_maximum is not UNSET and above(flow.flow, given.flow_maximum.si):
        notes.check(
            "flow_above_maximum",
            say(
                "The flow is {measured}, {excess:.1%} above the maximum of {flow_maximum}.",
                measured=shown,
                excess=flow.flow / given.flow_maximum.si - 1,
                flow_maximum=given.flow_maximum,
            ),
            why="Fast water wears the tubes, and the pump's motor may be overloaded.",
            resolve="Throttle on the discharge side of the pump, or lower its frequency.",
            field="/flow_maximum",
        )
    if not TRUSTED_RATIO[0] <= flow.ratio <= TRUSTED_RATIO[1]:
        notes.check(
            "outside_trusted_range",
            f"The flow is {flow.ratio:.2f} times the rated one; the law is trusted from 0.3 to 1.5.",
            why="Far from the rating the exponent changes.",
            resolve="Use a rating nearer to this flow, or measure the flow in another way.",
            field="/rated_flow",
            references=("hydronic_practice",),
        )


def find_doubts(given: ExchangerFlowGiven, notes: Notes, r: ExchangerFlowResults) -> None:
    """Heat against flow, uncertainty of the gauges, and the strainer."""
    if r.disagreement_fraction is not UNSET and abs(r.disagreement_fraction) > 0.15:
        high = r.disagreement_fraction > 0
        notes.check(
            "flow_and_heat_disagree",
            say(
                "Flow by pressure drop {flow}, by heat {flow_from_heat}: {disagreement_fraction:+.0%}.",
                flow=r.flow,
                flow_from_heat=r.flow_from_heat,
                disagreement_fraction=r.disagreement_fraction,
            ),
            why="A high drop with little heat is a fouled or air-bound evaporator."
            if high
            else "More heat than the flow can carry: a wrong curve, a wrong sensor or crossed hoses.",
            resolve="Let the air out, check the rating curve, the sensors and the hoses, read again.",
            field="/heat",
            references=("hydronic_practice",),
        )
    if r.flow_uncertainty_fraction > 0.10:
        notes.check(
            "flow_uncertain",
            f"The gauges leave the flow uncertain by {r.flow_uncertainty_fraction:.0%}.",
            why="A difference of two large readings is small.",
            resolve="Read both taps with one gauge, or use a differential gauge.",
            field="/gauge_error",
        )
    if r.strainer_ratio is not UNSET and r.strainer_state != "clean":
        dirty = r.strainer_state == "dirty"
        notes.finding(
            "check" if dirty else "note",
            "strainer_dirty" if dirty else "strainer_to_watch",
            say("The strainer drops {strainer_ratio:.2f} times its clean drop of "
"{strainer_clean_pressure_drop}.", strainer_ratio=r.strainer_ratio, strainer_clean_pressure_drop=r.strainer_clean_pressure_drop),
            why="A strainer that fills up takes the flow from the evaporator.",
            resolve="Clean it: pump stopped, valves shut, zero pressure proven by an open vent." if dirty else
            "Read it again at the next visit; clean it above 2.5.",
            field="/strainer/measured_pressure_drop",
            references=("hydronic_practice",),
        )  # fmt: skip
    if given.inlet_gauge_pressure is not UNSET:
        notes.note(
            "two_gauges",
            "The drop is the difference of two gauges.",
            why="Their zero errors add to it.",
            resolve="Swap one gauge between both taps and read both.",
            field="/inlet_gauge_pressure",
            references=("hydronic_practice",),
        )


def find_proof(given: ExchangerFlowGiven, notes: Notes, flow: float, trip: float | None) -> None:
    """Whether the proof of flow proves anything; `trip` in m3/s."""
    if given.proof is UNSET or trip is None:
        return
    shown = VolumeFlow.from_si(trip, "L/s")
    if given.proof.made_with_pump_off is True:
        notes.stop(
            "proof_made_without_flow",
            "The proof of flow was seen made with the pump off.",
            why="A switch that is stuck or bridged lets the compressor run without flow.",
            resolve="Free, replace or unbridge the switch, and see it open with the pump off.",
            field="/proof/made_with_pump_off",
        )
    if given.flow_minimum is not UNSET and below(trip, given.flow_minimum.si):
        notes.stop(
            "trip_below_minimum",
            say(
                "The proof trips at {trip}, below the least flow of {flow_minimum}.",
                trip=shown,
                flow_minimum=given.flow_minimum,
            ),
            why="Between the two the evaporator can freeze with its flow proven.",
            resolve="Raise the trip to the least flow or above.",
            field="/proof",
        )
    if below(flow, 1.10 * trip):
        notes.check(
            "trip_margin_small",
            say("The flow is {margin:+.1%} from the trip at {trip}.", margin=flow / trip - 1, trip=shown),
            why="Below the trip the machine will not run; just above it, it trips for nothing.",
            resolve="Raise the flow; lower the trip only if it stays above the least flow.",
            field="/proof",
            references=("hydronic_practice",),
        )
