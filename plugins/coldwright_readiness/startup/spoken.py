"""Sentences of a verdict in the reader's language: by the catalogue, whole or clause by clause; what it lacks stays English.

The rules write English, for programs too. What they write is listed here, and in `sentences.txt` beside this module with
places for its values, for the catalogue; a test holds that what a crew reads in many starts is all in it.
"""

import re
from functools import cache
from importlib.resources import files
from string import Formatter
from typing import Final

from coldwright.contract.language import Say
from coldwright.contract.language import marked as _

ACTIONS: Final = (
    _("Look for locks at every source"),
    _("Look round once more, then start compressor 1"),
    _("See that the ground is connected"),
    _("See that the earth is connected"),
    _("See the switch made, read the drop again"),
    _("Read the data plate, cable and breaker"),
    _("Start the machine's pump"),
    _("Let it run, then blow the strainer down"),
    _("Read entering and leaving water"),
    _("Look round: is everybody clear?"),
    _("See that it stands level"),
    _("Read the line voltages"),
    _("Read the rotation at the machine"),
    _("Put the control switch on"),
    _("Connect and check the hose at machine inlet"),
    _("Connect and check the hose at machine outlet"),
    _("See the pump suction valve open"),
    _("See the pump discharge valve open"),
    _("See the pump bypass valve closed"),
    _("See the supply valve open"),
    _("See the return valve open"),
    _("See the drain valve closed"),
    _("See the fill valve closed"),
    _("Vent the pump casing, pump off"),
    _("Vent the high point, pump off"),
    _("Let it run, then vent the pump casing"),
    _("Let it run, then vent the high point"),
    _("Look for leaks"),
    _("Look for leaks again"),
    _("Pump off: see the flow switch show none"),
    _("Return valve shut: see the flow switch show none"),
    _("Enter and record the set point"),
    _("Feel the oil heater of each compressor"),
    _("Pump off: vent the pump casing once more"),
    _("Pump off: vent the high point once more"),
    _("Look whether an alarm is shown"),
    _("Watch compressor 1: flow, oil, amps, water"),
    _("Stop compressor 1 now"),
    _("Alive under a lock: find every source"),
)
ORDERS: Final = (
    _("Look at every place where the supply can be locked, at the source and at the machine."),
    _("Record whether a lock is on."),
    _("Look at the gauges and round the machine once more, then start compressor 1 alone."),
    _("This is no order to start: whoever stands at the machine decides."),
    _("See that the equipment ground is connected at both ends; if it is not: open, lock and prove dead first."),
    _("See that the protective conductor is connected at both ends; if it is not: open, lock and prove dead first."),
    _("With the pump running, see the switch made and read the drop again, and record both."),
    _("Read the data plate; compare it with the cable and the breaker, and record all four."),
    _("Start the machine's pump; look at its turning, current and noise; record it."),
    _("Look at every joint at filling pressure, and record what you find."),
    _("With the pump running, read the entering and the leaving temperature."),
    _("Look round the machine: nobody at fans, leads or couplings, guards on; record it."),
    _("See whether it stands level both ways and is chocked."),
    _("Find every source; open and lock each."),
    _("Measure the three line voltages at the machine's terminals."),
    _("Read the rotation at the machine."),
    _("Change no leads before it was read."),
    _("Put the control switch on and record it; the time of oil heat begins then."),
    _("Connect the hose at the machine inlet; check gasket, levers, pins, direction, strain, and record it."),
    _("Connect the hose at the machine outlet; check gasket, levers, pins, direction, strain, and record it."),
    _("See the pump suction valve open, and record it."),
    _("See the pump discharge valve open, and record it."),
    _("See the pump bypass valve closed, and record it."),
    _("See the supply valve open, and record it."),
    _("See the return valve open, and record it."),
    _("See the drain valve closed, and record it."),
    _("See the fill valve closed, and record it."),
    _("With the pump off, vent the pump casing until the liquid comes steadily; bring the pressure back if it fell."),
    _("With the pump off, vent the high point until the liquid comes steadily; bring the pressure back if it fell."),
    _("It showed flow without a pump."),
    _("Stop the pump and see the flow switch show none; record it; then start again and prove the flow."),
    _(
        "This pump cannot be stopped: shut the machine's return valve, see the flow switch show none, and record both; then "
        "open it again and prove the flow."
    ),
    _("Blow it down until the liquid is clear."),
    _("Enter the set point of the plan and record what the controller shows."),
    _(
        "Stop the pump and vent the pump casing once more until the liquid comes steadily: the first run carries air up there."
    ),
    _(
        "Stop the pump and vent the high point once more until the liquid comes steadily: the first run carries air up there."
    ),
    _("Look at the controller's list of alarms and record whether it shows none."),
    _("Watch compressor 1: amps, oil, sound; that the flow stays; and that the water gets cold."),
    _("With the machine's own stop or its control switch, never at the leads."),
    _("See that it has stopped, and record each compressor as off."),
    _("Nothing on record forbids the start."),
)
CLAUSES: Final = (
    _("vent the pump casing once more after the first run"),
    _("vent the high point once more after the first run"),
    _("the machine's pump was seen standing"),
    _("something was read with the pump off"),
    _("blow the strainer down after the first run"),
    _("nothing warms it now"),
    _("supply not on record as on"),
    _("control switch not on record as on"),
    _("look for leaks once the loop is at its pressure"),
    _("the machine's pump is off"),
    _("the records do not agree"),
    _("the last record is too old"),
)
SUBJECTS: Final = (
    _("the surroundings"),
    _("entering temperature"),
    _("leaving temperature"),
    _("the controller's list of alarms"),
    _("locks at every source"),
    _("flow switch"),
    _("drop across the evaporator"),
    _("joints"),
    _("under pressure"),
    _("pressure"),
    _("pump off"),
    _("pump casing before the first run"),
    _("high point before the first run"),
    _("the machine's pump"),
    _("pump suction valve"),
    _("pump discharge valve"),
    _("pump bypass valve"),
    _("supply valve"),
    _("return valve"),
    _("fill valve"),
    _("drain valve"),
    _("machine inlet"),
    _("machine outlet"),
    _("line voltages"),
    _("rotation"),
    _("equipment ground"),
    _("protective conductor"),
    _("control switch"),
    _("data plate"),
    _("cable"),
    _("the level"),
    _("mixture in the running loop"),
)
NOT_YET: Final = _("not on record yet: {what}")
MORE: Final = _("{n} more")
AND: Final = _("{first} and {last}")
HEATER: Final = _("heater of compressor {n}")
AND_THEN_TIME: Final = _("{who}, and then time")
LISTED: Final = frozenset((*ACTIONS, *ORDERS, *CLAUSES, *SUBJECTS))
_SENTENCES = re.compile(r"(?<=[.!?]) (?=[A-Z])")
_OF_NOT_YET = NOT_YET.format(what="")
FOREIGN: Final = _("Wait")
"""What every other language says otherwise."""
_PLACES: Final = {"time": r"\d{4}-\d\d-\d\dT[\d:.]+Z?", "n": r"\d+", "m": r"\d+"}
"""What stands in a place of a sentence; in all others anything does that is no end of one."""
_ANYTHING: Final = r"(?:(?![.!?] [A-Z]).)+?"
_MORE, _HEATER = re.compile(r"(\d+) more"), re.compile(r"heater of compressor (\w+)")


def spoken(text: str, say: Say) -> str:
    """A text of one or more sentences, each as far as the catalogue has it."""
    if text in LISTED or (whole := _whole(text, say)) != text:
        return say(text) if text in LISTED else whole
    sentences = _SENTENCES.split(text)
    return " ".join(_sentence(sentence, say) for sentence in sentences) if len(sentences) > 1 else _sentence(text, say)


def _whole(text: str, say: Say, *, clause: bool = False) -> str:
    """A text that the catalogue has: as it stands, or with values in its places, which are said in their turn.

    `clause`: whether templates that begin with a place may be it, such as `{what}, because {why}`.
    """
    if (found := say(text)) != text or say(FOREIGN) == FOREIGN:
        return found
    known = _by_first_word()
    for template, pattern in (*known.get(_first_word(text), ()), *(known.get("", ()) if clause else ())):
        if (found_values := pattern.fullmatch(text)) is not None:
            return say(template).format_map({n: _value(v, say) for n, v in found_values.groupdict().items()})
    return text


def _value(text: str, say: Say) -> str:
    """What stands in a place: a stamp or a figure as it is, clauses and lists of subjects in their turn."""
    return _clauses(text, say) if any(map(str.isalpha, text)) else text


def _first_word(text: str) -> str:
    return text.partition(" ")[0]


@cache
def _by_first_word() -> dict[str, list[tuple[str, re.Pattern[str]]]]:
    """Templates of `sentences.txt`, as patterns; those with the most words of their own first."""
    found: dict[str, list[tuple[str, re.Pattern[str]]]] = {}
    lines = files("coldwright_readiness.startup").joinpath("sentences.txt").read_text("utf-8").splitlines()
    for template in sorted((line for line in lines if "{" in line), key=lambda t: -len(re.sub(r"{\w+}", "", t))):
        pieces = Formatter().parse(template)
        pattern = "".join(
            re.escape(literal) + (f"(?P<{name}>{_PLACES.get(name, _ANYTHING)})" if name else "")
            for literal, name, _spec, _conversion in pieces
        )
        first = "" if template.startswith("{") else _first_word(template)
        found.setdefault(first, []).append((template, re.compile(pattern)))
    return found


def _sentence(text: str, say: Say) -> str:
    if (whole := _whole(text, say)) != text:
        return whole
    if text.endswith(", and then time"):
        return say(AND_THEN_TIME).format(who=say(text.removesuffix(", and then time")))
    body, stop = text.removesuffix("."), "." if text.endswith(".") else ""
    label, colon, rest = body.partition(": ")
    if colon and say(label) != label:
        return f"{say(label)}: {_clauses(rest, say)}{stop}"
    return f"{_clauses(body, say)}{stop}"


def _clauses(text: str, say: Say) -> str:
    return "; ".join(_clause(clause, say) for clause in text.split("; "))


def _clause(text: str, say: Say) -> str:
    if (whole := _whole(text, say, clause=True)) != text:
        return whole
    if text.startswith(_OF_NOT_YET):
        return say(NOT_YET).format(what=_subjects(text.removeprefix(_OF_NOT_YET), say))
    parts = text.split(": ")
    return ": ".join(_clause(part, say) for part in parts) if len(parts) > 1 else _subjects(text, say)


def _subjects(text: str, say: Say) -> str:
    if (whole := say(text)) != text:
        return whole
    first, together, last = text.rpartition(" and ")
    names = ", ".join(_subject(name, say) for name in (first or last).split(", "))
    return say(AND).format(first=names, last=_subject(last, say)) if together else names


def _subject(text: str, say: Say) -> str:
    if (whole := _whole(text, say, clause=True)) != text:
        return whole
    if (found := _MORE.fullmatch(text)) is not None:
        return say(MORE).format(n=found[1])
    if (found := _HEATER.fullmatch(text)) is not None:
        return say(HEATER).format(n=found[1])
    return say(text)
