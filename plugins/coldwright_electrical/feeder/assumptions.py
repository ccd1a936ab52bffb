"""What a feeder takes as true where nothing was given."""

from msgspec import UNSET

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Current, Temperature
from coldwright_electrical.feeder.cable import CONNECTOR_RATINGS, Terms
from coldwright_electrical.feeder.choice import Choice, Demand
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.pick_list import section_length
from coldwright_electrical.shared import references as ref


def assume(given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, notes: Notes) -> None:
    """Write down each value that was taken because none was given."""
    if given.insulation_temperature is UNSET:
        statement = say("Insulation of the {rating} class.", rating=Temperature.of(terms.insulation, "degC"))
        notes.assume("insulation_temperature", statement, value=terms.insulation, basis="common_practice")
    if given.allowed_drop_running_fraction is UNSET:
        notes.assume(
            "allowed_drop_running_fraction",
            f"A running drop of {demand.allowed_running:g} of the system voltage is allowed.",
            value=demand.allowed_running,
            basis="standard",
            references=(ref.NEC_215_2.id if demand.nec else ref.IEC_60364_5_52_DROP.id,),
        )
    if given.section_length is UNSET:
        section = section_length(given)
        notes.assume(
            "section_length",
            say("Cable comes in sections of {section}.", section=section),
            value=section,
            basis="common_practice",
        )
    if not demand.nec:
        return
    if given.termination_temperature is UNSET:
        notes.assume(
            "termination_temperature",
            say(
                "Terminations of the {termination} class, behind a device of {device:g}.",
                termination=Temperature.of(terms.termination, "degC"),
                device=Current.of(demand.device, "A"),
            ),
            value=terms.termination,
            basis="standard",
            references=(ref.NEC_110_14.id,),
        )
    if given.connector_rating is UNSET and choice.cable.connector is not None:
        notes.assume(
            "connector_rating",
            say(
                "Connectors on {size} are rated {connector:g}.",
                size=choice.cable.size,
                connector=Current.of(choice.cable.connector, "A"),
            ),
            value=Current.of(choice.cable.connector, "A"),
            basis="common_practice",
            references=(CONNECTOR_RATINGS.reference.id,),
        )
