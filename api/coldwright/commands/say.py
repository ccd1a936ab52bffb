"""Standard output, for people."""

import sys


def say(text: str) -> None:
    """Print a line or a page."""
    sys.stdout.write(text if text.endswith("\n") else f"{text}\n")
