"""The page of a start: one line, one action, what can be done meanwhile, what is open, who, when to look again."""

from collections.abc import Iterator, Mapping
from datetime import datetime
from typing import Any, Final

import msgspec

from coldwright.contract.language import Say
from coldwright.contract.language import marked as _
from coldwright.contract.page import (
    Action,
    Block,
    Column,
    Facts,
    Heading,
    Lines,
    Occasion,
    Page,
    Section,
    Shape,
    Slot,
    Standard,
    Table,
    Tone,
    facts,
    present,
    section,
    shortened,
)
from coldwright.contract.people import (
    at_site,
    begun,
    duration,
    label,
    listed,
    plain_text,
    prose,
    quantity,
    timed,
    words,
)
from coldwright_basis.speech import Speech
from coldwright_readiness.startup.spoken import spoken

Answer = Mapping[str, Any]
MOST_OVERDUE: Final = 5
"""Things named in the headline of a machine that was not looked at."""

SHAPES: dict[str, tuple[Tone, Shape]] = {
    "ready": ("good", "ready"),
    "wait": ("care", "wait"),
    "blocked": ("bad", "blocked"),
    "running": ("good", "running"),
    "stop_now": ("bad", "stop"),
    "ended": ("plain", "ended"),
}


def start_page(answer: Any, occasion: Occasion) -> Page:
    """The verdict for the person at the machine."""
    return _Writer(msgspec.to_builtins(answer), occasion).page()


VERDICTS = {
    "ready": _("Ready: nothing on record forbids the start"),
    "wait": _("Wait"),
    "blocked": _("Blocked: do not start"),
    "running": _("Running"),
    "ended": _("Ended: this start is closed"),
}
STANDINGS = {
    "established": _("OK"),
    "missing": _("not on record"),
    "invalidated": _("no longer valid"),
    "stale": _("expired"),
    "failed": _("not OK"),
    "contradicted": _("records disagree"),
    "waiting": _("only time is missing"),
}
BEFORE_LOSS = _("OK before the supply was lost: read it again")
DOUBTED = {"phase_correct": ("rotation_after_outage", BEFORE_LOSS)}
"""Facts that a check leaves established, and what then stands beside them: a bare OK would be believed."""
FACTS = {"water_warm": _("Water above freezing")}
"""Facts whose own name does not say to a technician what it means."""
STEPS = {"start_verdict": _("Open the start page: it must say READY")}
"""Steps whose id is no order yet."""
READ_NOW = {
    "flow_proven": _("flow"),
    "pump_running": _("pump"),
    "water_warm": _("water"),
    "no_alarm": _("alarms"),
    "voltage_in_limits": _("voltage"),
    "energised": _("supply"),
    "people_clear": _("people"),
}
"""What is read again at a machine that runs, the most pressing first."""
YES_NO = (_("yes"), _("no"))
NO_ORDER = _("This is no order to start. Whoever stands at the machine decides.")


def minutes_between(earlier: str, later: str) -> float:
    """Minutes from one stamp to another."""
    return (datetime.fromisoformat(later) - datetime.fromisoformat(earlier)).total_seconds() / 60


class _Writer:
    """Writes one page in one language, with the times of one zone."""

    def __init__(self, answer: Answer, occasion: Occasion) -> None:
        self.answer, self.results, self.occasion = answer, answer["results"], occasion
        self.status: str = self.results["status"]
        self.everything, self.folded = occasion.details, not occasion.details
        self.speech = Speech(occasion.language, answer["given"]["configuration"].get("practice", "nec"))
        self.say: Say = self.speech.known

    def page(self) -> Page:
        """All of it, the most pressing first."""
        say = self.say
        tone, shape = SHAPES[self.status]
        if self.overdue():
            tone = "care"
        return Page(
            kind=say(_("Start")),
            title=plain_text(self.occasion.machine or self.occasion.id),
            tone=tone,
            verdict=self.verdict(),
            lead=tuple(self.lead()),
            sections=present(
                (
                    Section("", (self.action(), Slot("record"))),
                    self.stop(),
                    self.meanwhile(),
                    self.look_again(),
                    self.waits(),
                    self.open(),
                    self.suspicions(),
                    self.undone(),
                    Standard(
                        "findings", say(_("Stops in full")), ("stop",), fact=self.count("stop"), folded=self.folded
                    ),
                    Standard(
                        "findings",
                        say(_("Worth knowing")),
                        ("check", "note"),
                        fact=self.count("check", "note"),
                        folded=self.folded,
                    ),
                    self.facts(),
                    Standard("parts"),
                    Standard("cautions", fact=say(_("Read them before the first start.")), folded=self.folded),
                    Standard("assumptions", fact=say(_("What the verdict takes as true.")), folded=self.folded),
                    self.timeline(),
                    Standard(
                        "given",
                        say(_("Settings of this start")),
                        at="configuration",
                        fact=say(_("Limits, and what must be on record.")),
                        folded=self.folded,
                    ),
                    Standard("sources", fact=say(_("Where the rules come from.")), folded=self.folded),
                )
            ),
            foot=(say(NO_ORDER), *self.speech.by_machine()),
            language=self.speech.language,
            mark=f"{say(_('Start'))} {self.occasion.id}. ",
            shape=shape,
            rest=say(_("What is summed up in a line is in full in the HTML page.")),
            translated=tuple(self.translated()),
        )

    def translated(self) -> Iterator[tuple[str, str]]:
        """What the standard sections show of the answer, where the reader's language has other words for it."""
        findings = (
            f.get(name) for f in self.answer["findings"] for name in ("statement", "why", "do", "resolve", "cleared_by")
        )
        notes = (n["statement"] for n in (*self.answer["cautions"], *self.answer["assumptions"]))
        settings = self.answer["given"]["configuration"]
        names = (*map(label, settings), *(words(v) for v in settings.values() if isinstance(v, str)), *YES_NO)
        for text in dict.fromkeys(t for t in (*findings, *notes, *names) if t):
            if (said := spoken(text, self.say)) != text:
                yield text, said

    def table(self, columns: tuple[Column, ...], rows: tuple[tuple[str, ...], ...]) -> Table:
        """A table without its last column, which is for whoever looks into everything, unless that was asked for."""
        return Table(columns, rows) if self.everything else Table(columns[:-1], tuple(row[:-1] for row in rows))

    def at(self, instant: str) -> str:
        """An instant in site time, without the day where it is today."""
        return at_site(instant, self.occasion.zone, self.answer["given"]["evaluated_at"])

    def sentence(self, text: str) -> str:
        """A sentence of the answer, in site time, and in the reader's language where the catalogue has it."""
        return prose(timed(spoken(text, self.say), self.occasion.zone, self.answer["given"]["evaluated_at"]))

    def count(self, *severities: str) -> str:
        """How many findings."""
        found = sum(f["severity"] in severities for f in self.answer["findings"])
        return self.say(_("{n} in all")).format(n=found)

    def verdict(self) -> str:
        """One line."""
        if self.status == "stop_now":
            return self.say(self.stopping())
        if late := self.overdue():
            minutes = minutes_between(late[0]["due"], self.answer["given"]["evaluated_at"])
            order = sorted((x["fact"] for x in late), key=lambda name: (*READ_NOW, name).index(name))
            what = listed([self.short_of(name) for name in order], MOST_OVERDUE)
            text = self.say(_("Running. OVERDUE {time}: read {what}"))
            return text.format(time=duration(minutes), what=what)
        if self.status == "blocked" and self.results["blocks"]:
            return self.say(_("Blocked: {n} open")).format(n=len(self.results["blocks"]))
        return self.say(VERDICTS[self.status])

    def stopping(self) -> str:
        """What is left to do of a stop: all of it, the unit's own stop, or to read what nobody read."""
        kinds = self.next_records()
        if kinds and kinds[0] == "unit_stop":
            return _("Compressors off: now put the machine's own stop in")
        if kinds and kinds[0] != "compressor":
            return _("Stop it, or read it again now")
        return _("Stop it now")

    def next_records(self) -> list[str]:
        """Kinds of what the next action asks to be recorded."""
        return [t["kind"] for t in self.results["next_action"]["record"]]

    def overdue(self) -> list[dict[str, str]]:
        """What was to be looked at again before now, the longest overdue first."""
        now = self.answer["given"]["evaluated_at"]
        late = [x for x in self.results["look_again"] if minutes_between(x["due"], now) > 0]
        return sorted(late, key=lambda x: -minutes_between(x["due"], now))

    def fact(self, name: str) -> str:
        """A fact as a technician calls it."""
        return self.say(FACTS.get(name, label(name)))

    def short_of(self, name: str) -> str:
        """A word for what is read again."""
        return self.say(READ_NOW.get(name, words(name)))

    def lead(self) -> Iterator[str]:
        """Order, time, what may be worked at."""
        say, results = self.say, self.results
        seen = say(_("As of {time}, records: {n}.")).format(
            time=self.at(self.answer["given"]["evaluated_at"]), n=self.occasion.observations
        )
        order = (
            say(_("Order {order}.")).format(order=plain_text(self.occasion.booking)) if self.occasion.booking else ""
        )
        clock = say(_("Times are those of {zone}.")).format(zone=self.occasion.zone) if self.occasion.zone else ""
        yield f"{order} {seen} {clock}".strip()
        if self.status == "ready":
            yield say(NO_ORDER)
        if "earliest_start" in results and self.status in ("blocked", "wait"):
            text = (
                _("Not before {time}.")
                if self.status == "wait"
                else _("Not before {time}, and only when all below is done.")
            )
            if minutes_between(results["earliest_start"], self.answer["given"]["evaluated_at"]) >= 0:
                text = _("The time is up; what is listed below remains.")
            yield say(text).format(time=self.at(results["earliest_start"]))
        if self.status == "blocked":
            for name, yes, no in (
                ("may_connect", _("Work at the leads: yes."), _("Work at the leads: NO.")),
                ("may_energise", _("Close the source: yes."), _("Close the source: NO.")),
            ):
                if name in results:
                    yield say(yes if results[name] else no)

    def action(self) -> Action:
        """The one thing to do."""
        action, say = self.results["next_action"], self.say
        wait = action.get("time_to_earliest_start")
        who = say(_("Who: {who}")).format(who=self.sentence(action["done_by"]))
        time = (
            say(_("Time to the earliest start: {time}")).format(time=quantity(wait))
            if wait and wait["value"] and self.status != "stop_now"
            else ""
        )
        large = self.sentence(action["short"])
        order = self.sentence(action["do"]).removeprefix(f"{large}. ")
        idle = self.status == "ended"
        texts = (who if action["done_by"] and not idle else "", order, self.sentence(action["why"]), time)
        more = tuple(dict.fromkeys(t for t in texts if t and t.rstrip(".") != large))
        return Action(large, more, leave=idle or (self.status == "wait" and not action["record"]))

    def stop(self) -> Section | None:
        """Why it is to be stopped."""
        if "stop_now" not in self.results:
            return None
        stop, say = self.results["stop_now"], self.say
        off = self.next_records()[:1] == ["unit_stop"]
        how = "" if off else self.sentence(stop["how"])
        block = facts((say(_("Compressors")), listed(stop["compressors"])), (say(_("How")), how))
        return section(say(_("Why")), block, Lines(tuple(self.sentence(c["statement"]) for c in stop["causes"])))

    def meanwhile(self) -> Section | None:
        """What somebody else can do at the same time, as verbs."""
        rows = tuple(
            (self.step(m["step_id"]), self.sentence(m["why"])) for m in self.results["next_action"]["meanwhile"]
        )
        return section(self.say(_("Meanwhile")), Facts(rows) if rows else None)

    def step(self, step_id: str) -> str:
        """A step of the procedure: its name is an order already."""
        return self.say(STEPS.get(step_id, label(step_id)))

    def look_again(self) -> Section | None:
        """What ages, soon first."""
        late = [x["fact"] for x in self.overdue()]
        ranked = sorted(self.results["look_again"], key=lambda x: x["due"])
        rows = tuple(
            (
                self.fact(x["fact"]),
                self.say(_("{time}: OVERDUE") if x["fact"] in late else "{time}").format(time=self.at(x["due"])),
            )
            for x in ranked
        )
        return section(self.say(_("Look again by")), Facts(rows) if rows else None)

    def waits(self) -> Section | None:
        """What time alone clears."""
        names = {"R20": _("The oil warms, unbroken, until"), "anti_recycle": _("A compressor rests until")}
        rows = tuple(
            (self.say(names.get(w["rule"], _("Something rests until"))), self.at(w["until"]))
            for w in self.results["waits"]
        )
        since = self.results.get("warm_up_since")
        warm = ((self.say(_("Oil heating since")), self.at(since)),) if since and rows else ()
        shown = rows and self.status != "stop_now"
        return section(self.say(_("Time that must pass")), Facts((*rows, *warm)) if shown else None)

    def open(self) -> Section | None:
        """What is in the way, each with who clears it."""
        say = self.say
        rows = []
        for block in self.results["blocks"]:
            name, _colon, rest = self.sentence(block["statement"]).partition(": ")
            rows.append((self.say(name), rest, begun(self.sentence(block["cleared_by"])), block["rule"]))
        for check in self.results["open_checks"]:
            who = listed([self.say(words(role)) for role in check["role"]])
            rows.append((self.sentence(check["statement"]), "", begun(who), check["code"]))
        columns = (
            Column(say(_("What")), 32),
            Column(say(_("How it stands")), 44),
            Column(say(_("Who")), 24),
            Column(say(_("Rule")), 10),
        )
        shown = rows and self.status in ("blocked", "wait")
        return section(say(_("Open")), self.table(columns, tuple(rows)) if shown else None)

    def suspicions(self) -> Section | None:
        """Records that cannot all be right."""
        say, blocks = self.say, list[Block]()
        titles = (("contradictory", _("Same record, two versions")), ("impossible", _("Cannot be as recorded")))
        for name, title in titles:
            if self.results[name]:
                blocks += [Heading(say(title)), Lines(tuple(self.sentence(s["statement"]) for s in self.results[name]))]
        return section(say(_("Records that do not agree")), *blocks)

    def undone(self) -> Section | None:
        """What was good, and what happened since takes away."""
        facts_ = tuple(self.fact(i["fact"]) for i in self.results["invalidated"])
        return section(self.say(_("No longer valid")), Lines(facts_) if facts_ and self.status != "ended" else None)

    def facts(self) -> Section | None:
        """Every fact, what is missing first."""
        say = self.say
        ranked = sorted(self.results["facts"].items(), key=lambda item: item[1]["status"] == "established")
        rows = tuple(
            (
                self.fact(name),
                say(self.standing(name, state["status"])),
                self.at(state["at"]) if "at" in state else "",
                self.at(state["expires_at"]) if "expires_at" in state else "",
                listed(state["by"]),
            )
            for name, state in ranked
        )
        known = sum(state["status"] == "established" for _name, state in ranked)
        columns = (
            Column(say(_("Fact")), 34),
            Column(say(_("How it stands")), 22),
            Column(say(_("Seen")), 22),
            Column(say(_("Good until")), 22),
            Column(say(_("Records")), 30),
        )
        fact = say(_("{known} of {n} on record")).format(known=known, n=len(rows))
        return section(say(_("Every fact")), self.table(columns, rows), fact=fact, folded=self.folded)

    def standing(self, name: str, status: str) -> str:
        """A word for how a fact stands."""
        check, doubt = DOUBTED.get(name, ("", ""))
        open_now = status == "established" and any(f["code"] == check for f in self.answer["findings"])
        return doubt if open_now else STANDINGS[status]

    def timeline(self) -> Section | None:
        """Records, the latest first."""
        say = self.say
        rows = tuple(
            (
                self.at(t["at"]),
                label(t["kind"]),
                f"± {quantity(t['uncertainty'])}" if t["uncertainty"]["value"] else "",
                say(_("against a start")) if t["adverse"] else "",
                plain_text(t["id"]),
            )
            for t in reversed(self.results["timeline"])
        )
        columns = (
            Column(say(_("At")), 24),
            Column(say(_("What")), 36),
            Column(say(_("Give or take")), 18),
            Column("", 22),
            Column(say(_("Record")), 24),
        )
        blocks = shortened(self.table(columns, rows)) if rows else ()
        title, fact = say(_("Records, the latest first")), say(_("{n} in all")).format(n=len(rows))
        return section(title, *blocks, appendix=True, fact=fact, folded=self.folded)
