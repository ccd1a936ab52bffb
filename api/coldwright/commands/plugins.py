"""`coldwright plugins list | why`: what is loaded, from where, and what was set aside."""

import argparse
from typing import Any

from coldwright.commands.errors import CommandError
from coldwright.commands.say import say
from coldwright.contract import CONTRACT_VERSION
from coldwright.registry import Registry


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("plugins", help="list plugins and tell why one was set aside")
    actions = command.add_subparsers(dest="action", required=True, metavar="ACTION")
    actions.add_parser("list", help="every plugin that was found")
    why = actions.add_parser("why", help="everything about one plugin")
    why.add_argument("name", help="name of its entry point")
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    registry = Registry()
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
