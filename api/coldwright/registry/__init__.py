"""Finds plugins and holds them to the contract; one calculator asks another through it."""

from coldwright.registry.discovery import Found, Registry, Served
from coldwright.registry.rules import FIRST_PARTY, RESERVED_FAMILIES, broken_rules, component_name

__all__ = ["FIRST_PARTY", "RESERVED_FAMILIES", "Found", "Registry", "Served", "broken_rules", "component_name"]
