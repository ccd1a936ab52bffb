"""Room for long bodies."""

from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.visit import Visit

LONG = 100_000
"""Bytes of a body above which reading it would hold up everybody else."""


class Intake:
    """Memory for long bodies that are arriving or worked on: so many at once would be too much for the machine.

    Short ones, a hundred kilobytes and less, always find room: connections are bounded in number.
    """

    def __init__(self, most: int = 256 * 1024 * 1024) -> None:
        self._most, self._held = most, 0

    def hold(self, visit: Visit, length: int) -> None:
        """Make room for a body; raises a problem when there is none."""
        if length <= LONG:
            return
        if self._held + length > self._most:
            raise ProblemRaised("overloaded", "Too many long bodies are under way.", retry_after=1)
        self._held += length
        visit.held_bytes += length

    def release(self, visit: Visit) -> None:
        """Give it back."""
        self._held -= visit.held_bytes
        visit.held_bytes = 0
