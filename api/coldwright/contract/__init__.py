"""What a calculator is. Knows no web and no disk; imports msgspec and the standard library only.

A plugin needs nothing but the names listed here.
"""

from coldwright.contract import page, people, quantities
from coldwright.contract.calculator import Ask, Calculator, Deprecated, Example, Load, calculator, finding
from coldwright.contract.common import Fluid, Money
from coldwright.contract.fields import Basis, Fraction, Given, Results, Text, about
from coldwright.contract.files import File, Picture
from coldwright.contract.lazy import lazy
from coldwright.contract.notes import Caution, Finding, FindingKind, Notes
from coldwright.contract.parts import (
    JoinedPart,
    JoinedToPlan,
    JoinedToStart,
    PartLine,
    PartQuestion,
    StartBlock,
    StartFact,
    StartRecord,
    Taken,
)
from coldwright.contract.plugin import CONTRACT_VERSION, ENTRY_POINT_GROUP, Plugin, Role
from coldwright.contract.quantities import Kind, Quantity, tidy
from coldwright.contract.reference import Reference
from coldwright.contract.refusal import Allowed, Defect, FieldError, Malformed, Refused, field_error, refuse
from coldwright.contract.sentences import Said, Sentence, joined, say, spoken
from coldwright.contract.series import Column, Series
from coldwright.contract.tables import Table, load_table
from coldwright.contract.words import Word

__all__ = [
    "CONTRACT_VERSION",
    "ENTRY_POINT_GROUP",
    "Allowed",
    "Ask",
    "Basis",
    "Calculator",
    "Caution",
    "Column",
    "Defect",
    "Deprecated",
    "Example",
    "FieldError",
    "File",
    "Finding",
    "FindingKind",
    "Fluid",
    "Fraction",
    "Given",
    "JoinedPart",
    "JoinedToPlan",
    "JoinedToStart",
    "Kind",
    "Load",
    "Malformed",
    "Money",
    "Notes",
    "PartLine",
    "PartQuestion",
    "Picture",
    "Plugin",
    "Quantity",
    "Reference",
    "Refused",
    "Results",
    "Role",
    "Said",
    "Sentence",
    "Series",
    "StartBlock",
    "StartFact",
    "StartRecord",
    "Table",
    "Taken",
    "Text",
    "Word",
    "about",
    "calculator",
    "field_error",
    "finding",
    "joined",
    "lazy",
    "load_table",
    "page",
    "people",
    "quantities",
    "refuse",
    "say",
    "spoken",
    "tidy",
]
