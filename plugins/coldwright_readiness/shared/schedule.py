"""When each step can be, by the critical path method, and who does it, by list scheduling. Whole nanoseconds."""

import heapq
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import NamedTuple

from coldwright_readiness.shared.steps import Step, in_order


class Timing(NamedTuple):
    """One step on the time axis, hands unlimited. `slack` is None for a step that the goal does not need."""

    start: int
    finish: int
    slack: int | None

    @property
    def critical(self) -> bool:
        """Whether a delay of this step delays the goal."""
        return self.slack == 0


def timings(steps: Sequence[Step], goal: str) -> dict[str, Timing]:
    """Forward pass over all steps, backward pass from `goal` over what it needs."""
    ordered = in_order(steps)
    start: dict[str, int] = {}
    finish: dict[str, int] = {}
    for step in ordered:
        start[step.id] = max((finish[d] for d in step.depends_on), default=0)
        finish[step.id] = start[step.id] + step.duration
    latest = {goal: finish[goal]}
    for step in reversed(ordered):
        if step.id in latest:
            for needed in step.depends_on:
                allowed = latest[step.id] - step.duration
                latest[needed] = min(latest.get(needed, allowed), allowed)
    return {
        i: Timing(start[i], finish[i], latest[i] - finish[i] if i in latest else None) for i in (s.id for s in steps)
    }


def critical_path(timing: dict[str, Timing]) -> list[str]:
    """Critical steps by (earliest start, id)."""
    return sorted((i for i, t in timing.items() if t.critical), key=lambda i: (timing[i].start, i))


def parallel_groups(timing: dict[str, Timing]) -> list[list[str]]:
    """Steps that run at the same time in the early schedule, in order of time; no group within another.

    A step runs without a break: a group that lies within any other lies within one of its neighbours in time.
    """
    moments = sorted({m for t in timing.values() for m in (t.start, t.finish)})
    by_id = sorted((i, t.start, t.finish) for i, t in timing.items())
    groups: list[list[str]] = []
    for begin, end in pairwise(moments):
        running = [i for i, start, finish in by_id if start <= begin and finish >= end]
        if len(running) > 1 and running not in groups:
            groups.append(running)
    together = [frozenset[str](), *map(frozenset, groups), frozenset[str]()]
    return [
        group
        for group, before, own, after in zip(groups, together, together[1:], together[2:], strict=False)
        if not (own < before or own < after)
    ]


def ranks(steps: Sequence[Step]) -> dict[str, int]:
    """Longest time from the start of each step to the end of everything."""
    duration = {s.id: s.duration for s in steps}
    rank = dict(duration)
    for step in reversed(in_order(steps)):
        for needed in step.depends_on:
            rank[needed] = max(rank[needed], duration[needed] + rank[step.id])
    return rank


@dataclass(frozen=True)
class Assignment:
    """One step in the hands of one person; nobody for a passive step."""

    step: str
    person: str | None
    start: int
    finish: int


def crew_schedule(steps: Sequence[Step], crew: Sequence[tuple[str, frozenset[str]]]) -> list[Assignment]:
    """Steps by (start, id). At each finish the ready steps are tried, longest rest first.

    Each takes the free person with its role who has the fewest roles. Steps for which nobody has the role, and those
    after them, are left out.
    """
    rank = ranks(steps)
    waiting = sorted(steps, key=lambda s: (-rank[s.id], s.id))
    free = sorted(crew, key=lambda person: (len(person[1]), person[0]))
    done: set[str] = set()
    running: list[tuple[int, str, tuple[str, frozenset[str]] | None]] = []
    plan: list[Assignment] = []
    now = 0
    while True:
        for step in list(waiting):
            if not done.issuperset(step.depends_on):
                continue
            person = next((p for p in free if step.role in p[1]), None) if step.role != "none" else None
            if person is not None:
                free.remove(person)
            elif step.role != "none":
                continue
            waiting.remove(step)
            plan.append(Assignment(step.id, person[0] if person else None, now, now + step.duration))
            heapq.heappush(running, (now + step.duration, step.id, person))
        if not running:
            return sorted(plan, key=lambda a: (a.start, a.step))
        now = running[0][0]
        while running and running[0][0] == now:
            _, finished, person = heapq.heappop(running)
            done.add(finished)
            if person is not None:
                free.append(person)
        free.sort(key=lambda person: (len(person[1]), person[0]))
