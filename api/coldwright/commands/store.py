"""`coldwright store migrate | check | backup | restore`: look after the database."""

import argparse
from pathlib import Path
from typing import Any

from coldwright.commands.errors import CommandError
from coldwright.commands.say import say
from coldwright.service.settings import from_environment
from coldwright.store import Database, StoreFull, StoreUnavailable, is_current, upgrade
from coldwright.store.archive import BadArchive, NotEmpty, backup, restore


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser("store", help="look after the database")
    actions = command.add_subparsers(dest="action", required=True, metavar="ACTION")
    actions.add_parser("migrate", help="bring the database to the schema of this release")
    actions.add_parser("check", help="say whether it answers and has that schema")
    backed_up = actions.add_parser("backup", help="write everything that is kept into one file, while the service runs")
    backed_up.add_argument("file", type=Path, help="file to write; whoever can read it can read every order")
    restored = actions.add_parser("restore", help="read such a file into an empty database, of either kind")
    restored.add_argument("file", type=Path, help="file to read")
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    database = Database(from_environment().database_url)
    try:
        if given.action == "backup":
            say(f"{backup(database, given.file)} rows are written to {given.file}.")
            return 0
        if given.action == "restore":
            say(f"{restore(database, given.file)} rows are restored from {given.file}.")
            return 0
        if given.action == "migrate":
            upgrade(database)
        current = is_current(database)
    except StoreUnavailable as error:
        raise CommandError(f"the store does not answer: {error}") from error
    except StoreFull as error:
        raise CommandError(f"the store can keep no more: {error}") from error
    except BadArchive as error:
        raise CommandError(f"{given.file}: {error}") from error
    except NotEmpty as error:
        raise CommandError(f"the database holds {error} already: restore into an empty one") from error
    except OSError as error:
        raise CommandError(f"{given.file}: {error}") from error
    finally:
        database.close()
    say(
        "The store answers and has the schema of this release."
        if current
        else "The store needs `coldwright store migrate`."
    )
    return 0 if current else 1
