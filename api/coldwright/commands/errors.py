"""Errors that a person at the keyboard can mend."""


class CommandError(Exception):
    """Shown as one line; exit status 2."""
