"""Counts of a fleet document and of a plan: what is free, what an order takes.

The store knows items by name: `machine:TYPE` and `accessory:ITEM`.
"""

from collections.abc import Mapping
from typing import Any

LISTS = (("machine", "machines", "type"), ("accessory", "accessories", "item"))


def free_counts(fleet: Mapping[str, Any], taken: Mapping[str, int]) -> dict[str, int]:
    """What is left of every row when others hold `taken`; never below zero."""
    return {
        f"{kind}:{row[key]}": max(0, int(row.get("count", 0)) - taken.get(f"{kind}:{row[key]}", 0))
        for kind, name, key in LISTS
        for row in fleet.get(name, ())
    }


def with_counts(fleet: Mapping[str, Any], counts: Mapping[str, int]) -> dict[str, Any]:
    """The fleet with these counts."""
    changed = dict(fleet)
    for kind, name, key in LISTS:
        if name in fleet:
            changed[name] = [{**row, "count": counts[f"{kind}:{row[key]}"]} for row in fleet[name]]
    return changed


def held_items(results: Mapping[str, Any]) -> dict[str, int]:
    """What a plan takes: its machines, and the lines of its pick list that come from stock."""
    held: dict[str, int] = {}
    for machine in results.get("machines", ()):
        name = f"machine:{machine['type']}"
        held[name] = held.get(name, 0) + int(machine["count"])
    for line in results.get("pick_list", ()):
        if line.get("kind") != "machine" and line.get("from_stock", True):
            name = f"accessory:{line['item']}"
            held[name] = held.get(name, 0) + int(line["count"])
    return held
