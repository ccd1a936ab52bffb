"""Finds plugins and holds them to the contract; one calculator asks another through it."""

from coldwright.registry.discovery import Found, Registry, Served, denied_by_environment
from coldwright.registry.names import FIRST_PARTY, RESERVED_FAMILIES, answer_name, component_name, stem
from coldwright.registry.rules import RESERVED_WORDS, broken_rules

__all__ = [
    "FIRST_PARTY",
    "RESERVED_FAMILIES",
    "RESERVED_WORDS",
    "Found",
    "Registry",
    "Served",
    "answer_name",
    "broken_rules",
    "component_name",
    "denied_by_environment",
    "stem",
]
