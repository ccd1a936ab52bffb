"""Follows the advice to the letter, from nothing on record to `ready`, and fails where it leads round, nowhere or into danger."""

from collections.abc import Callable
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from .crew import CannotError, Crew, DangerError
from .plant import Plant
from .troubles import Told, Trouble

MOST_STEPS = 120
MOST_ALIKE = 7
LONGEST_SHORT = 60

Request = dict[str, Any]
Ask = Callable[[Request], dict[str, Any]]  # a request, the `results` of its answer


class LostError(AssertionError):
    """The advice went round in circles, led nowhere, or was not fit to be followed."""


@dataclass
class Walk:
    """What was asked, advised and recorded."""

    configuration: dict[str, Any]
    trouble: Trouble
    records: list[dict[str, Any]] = field(default_factory=list)
    advice: list[str] = field(default_factory=list)
    statuses: list[str] = field(default_factory=list)
    ready_at: str = ""


class Walker:
    """One crew on one site, with one trouble."""

    def __init__(self, ask: Ask, configuration: dict[str, Any], trouble: Trouble) -> None:
        self.ask = ask
        self.plant = Plant(dict(configuration))
        self.crew = Crew(self.plant)
        self.walk = Walk(configuration, trouble)
        self.shown = self.cured = self.happened = False
        self._note(trouble.before(self.plant))

    def _note(self, told: list[Told]) -> None:
        for kind, by, role, data in told:
            self.plant.advance(15)
            self.walk.records.append(self.crew.written(kind, data, by, role))

    def request(self) -> Request:
        """The question at this moment."""
        return {
            "configuration": self.walk.configuration,
            "evaluated_at": self.plant.now.isoformat().replace("+00:00", "Z"),
            "observations": self.walk.records,
        }

    def to_ready(self) -> Walk:
        """Until `ready`, or not at all."""
        for _ in range(MOST_STEPS):
            results = self.ask(self.request())
            self.walk.statuses.append(results["status"])
            if results["status"] == "ready":
                unfit = self.plant.unfit()
                if unfit:
                    raise LostError(f"ready, and yet: {', '.join(unfit)}")
                if self.walk.trouble.words and not self.cured:
                    raise LostError("ready, though the trouble never showed")
                self.walk.ready_at = self.request()["evaluated_at"]
                return self.walk
            self._follow(results)
        raise LostError(self._tale(f"not ready after {MOST_STEPS} steps"))

    def _follow(self, results: dict[str, Any]) -> None:
        action = results["next_action"]
        self._fit_to_follow(action, results)
        said = " ".join(
            [action["do"], action["short"], action["why"], *(str(c) for c in action.get("causes", ()))]
        ).lower()
        blocks = " ".join(sorted({b["rule"] for b in results["blocks"]}))
        self.walk.advice.append(f"{results['status']} {action['step_id']}: {action['short']} [{blocks}]")
        if len(self.walk.advice) >= MOST_ALIKE and len(set(self.walk.advice[-MOST_ALIKE:])) == 1:
            raise LostError(self._tale("the same advice again and again"))
        self.crew.said = said
        trouble = self.walk.trouble
        if self.shown and not self.cured and any(word in said for word in trouble.words):
            trouble.cure(self.plant)
            self.cured = True
        templates = action.get("record", [])
        if "not_before" in action:
            self._pass_until(action["not_before"])
        elif not templates:
            self._wait(results)
        self._make_all(templates, results)

    def _make_all(self, templates: list[dict[str, Any]], results: dict[str, Any]) -> None:
        """One after the other; one marked `otherwise` only where the one before it cannot be made."""
        cannot: CannotError | None = None
        for template in templates:
            if template.get("otherwise") and cannot is None:
                continue
            if cannot is not None and not template.get("otherwise"):
                raise cannot
            try:
                self._make(template, results)
                cannot = None
            except CannotError as why:
                cannot = why
        if cannot is not None:
            raise cannot

    def _fit_to_follow(self, action: dict[str, Any], results: dict[str, Any]) -> None:
        if not 0 < len(action["short"]) <= LONGEST_SHORT:
            raise LostError(f"short form of {len(action['short'])} characters: {action['short']!r}")
        ids = {record["id"] for record in self.walk.records}
        subject = str(action.get("subject", ""))
        if not {word.strip(",;") for word in subject.split()} - ids:
            raise LostError(self._tale(f"the subject is {subject!r}: {action['do']}"))
        if results.get("may_energise") and (self.plant.locks or self.crew.work_on_lines):
            raise DangerError("the source may be closed, it says, with a lock on or work unfinished")
        if results["status"] in ("blocked", "wait") and action["step_id"] == "start_first_compressor":
            raise DangerError(f"a start is advised while {results['status']}")
        if results["status"] == "stop_now" and not action["do"].startswith("Stop compressor"):
            raise LostError(f"a stop that does not come first: {action['do']}")

    def _make(self, template: dict[str, Any], results: dict[str, Any]) -> None:
        roles = [role for check in results.get("open_checks", ()) for role in check.get("role", ())]
        record = self.crew.record(template, roles)
        self.walk.records.append(record)
        trouble = self.walk.trouble
        self.shown = self.shown or trouble.shows(record["kind"], record["data"])
        if record["kind"] == trouble.midway[0] and not self.happened:
            self.happened = True
            self._note(trouble.midway[1](self.plant))

    def _wait(self, results: dict[str, Any]) -> None:
        """Nothing to do but wait: until the hour is over, or until something is to be asked again."""
        until = results.get("earliest_start") if results["status"] == "wait" else results.get("valid_until")
        if until is None or _instant(until) <= self.plant.now:
            raise LostError(self._tale("nothing to record and nothing to wait for"))
        self._pass_until(until)

    def _pass_until(self, stamp: str) -> None:
        while (left := (_instant(stamp) - self.plant.now).total_seconds()) > 0:
            self.plant.advance(min(left, 60))

    def _tale(self, what: str) -> str:
        return "\n".join([what, *self.walk.advice[-12:]])


def _instant(stamp: str) -> datetime:
    return datetime.fromisoformat(stamp.replace("Z", "+00:00"))


def walk(ask: Ask, configuration: dict[str, Any], trouble: Trouble) -> Walk:
    """From nothing on record to `ready`; raises where the advice fails."""
    return Walker(ask, configuration, trouble).to_ready()
