"""What a feeder takes as true where nothing was given."""

from coldwright.contract import Notes, say
from coldwright.contract.quantities import Current, Temperature
from coldwright_basis.usual import given_or_usual
from coldwright_electrical.feeder.cable import CONNECTOR_RATINGS, Terms
from coldwright_electrical.feeder.choice import Choice, Demand
from coldwright_electrical.feeder.given import FeederGiven
from coldwright_electrical.feeder.pick_list import section_length
from coldwright_electrical.shared import references as ref


def assume(given: FeederGiven, terms: Terms, demand: Demand, choice: Choice, notes: Notes) -> None:
    """Write down each value that was taken because none was given."""
    given_or_usual(
        given.insulation_temperature,
        terms.insulation,
        notes,
        "insulation_temperature",
        say("Insulation of the {rating:us=degC} class.", rating=Temperature.of(terms.insulation, "degC")),
    )
    given_or_usual(
        given.allowed_drop_running_fraction,
        demand.allowed_running,
        notes,
        "allowed_drop_running_fraction",
        f"A running drop of {demand.allowed_running:g} of the system voltage is allowed.",
        basis="standard",
        references=(ref.NEC_215_2.id if demand.nec else ref.IEC_60364_5_52_DROP.id,),
    )
    section = section_length(given)
    statement = say("Cable comes in sections of {section}.", section=section)
    given_or_usual(given.section_length, section, notes, "section_length", statement)
    if not demand.nec:
        return
    given_or_usual(
        given.termination_temperature,
        terms.termination,
        notes,
        "termination_temperature",
        say(
            "Terminations of the {termination:us=degC} class, behind a device of {device:g}.",
            termination=Temperature.of(terms.termination, "degC"),
            device=Current.of(demand.device, "A"),
        ),
        basis="standard",
        references=(ref.NEC_110_14.id,),
    )
    if choice.cable.connector is not None:
        connector = Current.of(choice.cable.connector, "A")
        given_or_usual(
            given.connector_rating,
            connector,
            notes,
            "connector_rating",
            say("Connectors on {size} are rated {connector:g}.", size=choice.cable.size, connector=connector),
            references=(CONNECTOR_RATINGS.reference.id,),
        )
