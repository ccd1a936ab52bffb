"""The forms for recording a start: every kind of observation with its fields, as an app draws them."""

from typing import Annotated

from msgspec import UNSET, UnsetType

from coldwright.contract import Example, Given, Notes, Refused, about, calculator
from coldwright.contract.language import Language
from coldwright_readiness.shared.configuration import configuration_errors
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.references import COMMON_PRACTICE, HIGH_POINT, MOTOR_SUPPLY
from coldwright_readiness.start_forms.forms import FORMS, StartFormsResults, forms_of

_MIXTURE = {"supply_source": "generator", "pump_mode": "own_pump", "fluid_kind": "propylene_glycol"}


class StartFormsGiven(Given, frozen=True, kw_only=True):
    """For which set-up."""

    configuration: (
        Annotated[Configuration, about("The set-up; without it nothing is said of what it needs.")] | UnsetType
    ) = UNSET

    language: Annotated[Language, about("In which labels and help are written.")] = "en"


@calculator(
    "readiness.start_forms",
    version="1.3.1",
    title="Forms for recording a start",
    references=(FORMS.reference, COMMON_PRACTICE, HIGH_POINT, MOTOR_SUPPLY),
    tables=(FORMS,),
    examples=(
        Example("Every kind", "Invented: an app that was just installed asks for all forms.", {}),
        Example("Of one set-up", "Invented: a machine on a generator with a mixture.", {"configuration": _MIXTURE}),
    ),
)
def start_forms(given: StartFormsGiven, notes: Notes) -> StartFormsResults:  # noqa: ARG001 - it has nothing to add
    """Describe every kind of observation that `readiness.startup` takes.

    Fields, enumerations and ranges are those of its own types, so a form never asks for what would be refused. Ages of
    readings are common practice, no source.
    """
    if given.configuration is UNSET:
        return forms_of(None, given.language)
    if errors := configuration_errors(given.configuration):
        raise Refused(errors)
    return forms_of(given.configuration, given.language)
