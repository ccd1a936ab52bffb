"""Finds plugins and holds them to the contract; one calculator asks another through it."""

from coldwright.registry.discovery import Registry, Served, denied_by_environment
from coldwright.registry.entry import Entry
from coldwright.registry.found import Found
from coldwright.registry.names import FIRST_PARTY, RESERVED_FAMILIES, answer_name, component_name, stem
from coldwright.registry.ownership import Holder, Ownership
from coldwright.registry.reported import RangeEntry, Reported, ReportedPlugin
from coldwright.registry.rules import RESERVED_WORDS, broken_rules
from coldwright.registry.versions import rests_on

__all__ = [
    "FIRST_PARTY",
    "RESERVED_FAMILIES",
    "RESERVED_WORDS",
    "Entry",
    "Found",
    "Holder",
    "Ownership",
    "RangeEntry",
    "Registry",
    "Reported",
    "ReportedPlugin",
    "Served",
    "answer_name",
    "broken_rules",
    "component_name",
    "denied_by_environment",
    "rests_on",
    "stem",
]
