"""`coldwright openapi`: the document of what is installed."""

import argparse
from pathlib import Path
from typing import Any

import msgspec

from coldwright.commands.errors import CommandError
from coldwright.commands.say import say
from coldwright.registry import FIRST_PARTY, Registry
from coldwright.service.app import document_of


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("openapi", help="print or write the OpenAPI document")
    command.add_argument("--write", metavar="FILE", help="write it there instead of printing it")
    command.add_argument("--first-party", action="store_true", help="without the calculators of other distributions")
    command.set_defaults(run=run)


def document_text(first_party: bool = False) -> str:
    """The document, indented, ending in a newline."""
    registry = Registry()
    if first_party:
        registry.served = {i: s for i, s in registry.served.items() if s.distribution == FIRST_PARTY}
    encoded = msgspec.json.encode(document_of(registry))
    return msgspec.json.format(encoded, indent=1).decode() + "\n"


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    text = document_text(given.first_party)
    if given.write:
        try:
            Path(given.write).write_text(text, "utf-8")
        except OSError as error:
            raise CommandError(f"{given.write} can't be written: {error.strerror}") from error
    else:
        say(text)
    return 0
