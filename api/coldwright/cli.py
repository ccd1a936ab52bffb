"""`coldwright serve | work | assess | keys | plugins | openapi | store`."""

import argparse
import sys
from collections.abc import Sequence
from importlib import import_module

from coldwright import __version__
from coldwright.commands.errors import CommandError
from coldwright.service.settings import SettingError

COMMANDS = ("serve", "work", "assess", "keys", "plugins", "openapi", "store")
"""Modules of `coldwright.commands`. Imported late: every worker process imports this module, and needs none of them."""


def parser(wanted: str = "") -> argparse.ArgumentParser:
    """The whole command line, or that of one command: the others' modules take time to import."""
    root = argparse.ArgumentParser(prog="coldwright", description=__doc__)
    root.add_argument("--version", action="version", version=f"coldwright {__version__}")
    commands = root.add_subparsers(dest="command", required=True, metavar="COMMAND")
    for name in [wanted] if wanted in COMMANDS else COMMANDS:
        import_module(f"coldwright.commands.{name}").add_to(commands)
    return root


def main(arguments: Sequence[str] | None = None) -> int:
    """Run a command; errors that a person can mend are one line on standard error and exit status 2."""
    words = sys.argv[1:] if arguments is None else arguments
    given = parser(next(iter(words), "")).parse_args(words)
    try:
        return int(given.run(given) or 0)
    except (CommandError, SettingError) as error:
        print(f"coldwright: {error}", file=sys.stderr)  # noqa: T201
        return 2
    except BrokenPipeError:
        return 0


if __name__ == "__main__":
    raise SystemExit(main())
