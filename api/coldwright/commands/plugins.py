"""`coldwright plugins list | why | check`: what is loaded, from where, what was set aside, what breaks the contract."""

import argparse
from importlib.metadata import entry_points
from pathlib import Path
from typing import Any

import msgspec

from coldwright.commands.errors import CommandError
from coldwright.commands.say import say
from coldwright.conformance.kit import check_plugin
from coldwright.conformance.schema_rules import snapshot
from coldwright.contract import CONTRACT_VERSION, ENTRY_POINT_GROUP
from coldwright.registry import Registry


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("plugins", help="list plugins and tell why one was set aside")
    actions = command.add_subparsers(dest="action", required=True, metavar="ACTION")
    actions.add_parser("list", help="every plugin that was found")
    why = actions.add_parser("why", help="everything about one plugin")
    why.add_argument("name", help="name of its entry point")
    check = actions.add_parser("check", help="hold a plugin to the whole contract")
    check.add_argument("name", help="name of its entry point")
    check.add_argument("--schemas", metavar="FILE", help="schemas as last released, to find a change without a version")
    check.add_argument("--write-schemas", metavar="FILE", help="write the schemas there instead of comparing")
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    registry = Registry()
    if given.action == "check":
        return _check(registry, given)
    if given.action == "list":
        say(f"contract {CONTRACT_VERSION}")
        for found in registry.found:
            what = f"{len(found.calculators)} calculators" if found.state == "loaded" else f"set aside: {found.reason}"
            say(f"{found.entry_point:<20} {found.distribution} {found.distribution_version:<10} {what}")
        return 0
    for found in registry.found:
        if found.entry_point == given.name:
            for name in found.__struct_fields__:
                value = getattr(found, name)
                say(f"{name:<22}{', '.join(value) if isinstance(value, tuple) else value}")
            return 0 if found.state == "loaded" else 1
    raise CommandError(f"there is no plugin {given.name}: see `coldwright plugins list`")


def _check(registry: Registry, given: argparse.Namespace) -> int:
    points = {p.name: p for p in entry_points(group=ENTRY_POINT_GROUP)}
    if given.name not in points:
        raise CommandError(f"there is no plugin {given.name}: see `coldwright plugins list`")
    point = points[given.name]
    plugin = registry.plugins.get(given.name)
    if plugin is None:
        found = next(f for f in registry.found if f.entry_point == given.name)
        say(f"{given.name} is set aside ({found.stage}): {found.reason}\n{found.remedy}")
        return 1
    if given.write_schemas:
        Path(given.write_schemas).write_bytes(
            msgspec.json.format(msgspec.json.encode(snapshot(plugin)), indent=1) + b"\n"
        )
        return 0
    kept = msgspec.json.decode(Path(given.schemas).read_bytes()) if given.schemas else None
    distribution = point.dist.name if point.dist else ""
    faults = list(
        check_plugin(plugin, distribution=distribution, lookup=registry.lookup, module=point.module, snapshot=kept)
    )
    for fault in faults:
        say(str(fault))
    say(f"{given.name}: {len(faults)} faults" if faults else f"{given.name} keeps the contract {CONTRACT_VERSION}")
    return 1 if faults else 0
