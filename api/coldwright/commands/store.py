"""`coldwright store migrate | check`: look after the database."""

import argparse
from typing import Any

from coldwright.commands.errors import CommandError
from coldwright.commands.say import say
from coldwright.service.settings import from_environment
from coldwright.store import Database, StoreUnavailable, is_current, upgrade


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("store", help="look after the database")
    actions = command.add_subparsers(dest="action", required=True, metavar="ACTION")
    actions.add_parser("migrate", help="bring the database to the schema of this release")
    actions.add_parser("check", help="tell whether it answers and has that schema")
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    database = Database(from_environment().database_url)
    try:
        if given.action == "migrate":
            upgrade(database)
        current = is_current(database)
    except StoreUnavailable as error:
        raise CommandError(f"the store does not answer: {error}") from error
    finally:
        database.close()
    say(
        "The store answers and has the schema of this release."
        if current
        else "The store needs `coldwright store migrate`."
    )
    return 0 if current else 1
