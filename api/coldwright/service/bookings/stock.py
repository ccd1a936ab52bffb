"""Counts of a fleet document and of a plan: what there is, what is free, what an order takes.

The store knows items by name: `machine:TYPE` and `accessory:ITEM`.
"""

from collections.abc import Iterator, Mapping
from typing import Any

LISTS = (("machine", "machines", "type"), ("accessory", "accessories", "item"))


def counts_of(fleet: Mapping[str, Any]) -> dict[str, int]:
    """What there is of every row."""
    return {name: int(row["count"]) for name, row in _rows(fleet)}


def turnarounds(fleet: Mapping[str, Any]) -> dict[str, int]:
    """Days that a piece of each row is kept back after its hire, where there are any."""
    return {name: int(row["turnaround_days"]) for name, row in _rows(fleet) if row.get("turnaround_days")}


def free_counts(counts: Mapping[str, int], taken: Mapping[str, int]) -> dict[str, int]:
    """What is left of every row when others hold `taken`; none where they hold more than there is now."""
    return {name: max(0, count - taken.get(name, 0)) for name, count in counts.items()}


def with_counts(fleet: Mapping[str, Any], counts: Mapping[str, int]) -> dict[str, Any]:
    """The fleet with these counts."""
    changed = dict(fleet)
    for kind, listed, key in LISTS:
        if listed in fleet:
            changed[listed] = [{**row, "count": counts[f"{kind}:{row[key]}"]} for row in fleet[listed]]
    return changed


def with_machines(fleet: Mapping[str, Any], held: Mapping[str, int]) -> dict[str, Any]:
    """The fleet with no other machines than are held, and all its accessories."""
    rows = [row for row in fleet["machines"] if held.get(f"machine:{row['type']}")]
    few = [{**row, "count": min(row["count"], held[f"machine:{row['type']}"])} for row in rows]
    return {**fleet, "machines": few} if few else dict(fleet)


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


def named(item: str) -> str:
    """An item as a person reads it."""
    return item.partition(":")[2]


def _rows(fleet: Mapping[str, Any]) -> Iterator[tuple[str, Mapping[str, Any]]]:
    for kind, listed, key in LISTS:
        for row in fleet.get(listed, ()):
            yield f"{kind}:{row[key]}", row
