"""`coldwright assess ORDER.json`: the whole plan of an order, with no server.

Exit status: 0 when there is a plan, whatever it says, as HTTP answers 200; 1 when a calculator failed; 2 when the input
was refused; 3 when `--fail-on` names the outcome or a better one.
"""

import argparse
import sys
from codecs import BOM_UTF8
from pathlib import Path
from typing import Any

import msgspec

from coldwright.commands.errors import CommandError
from coldwright.commands.say import say
from coldwright.contract import FieldError, Malformed, Refused
from coldwright.contract.people import count_of, plain_text
from coldwright.contract.reading import decode_any, read
from coldwright.engine import Engine, Failure
from coldwright.engine.evaluate import evaluate_here
from coldwright.engine.outcome import Evaluated
from coldwright.engine.pages import page_of
from coldwright.registry import Registry, Served
from coldwright.sheets import Occasion, Sheet, lay_out, record_sheet, render, sources_of
from coldwright.sheets.text import WIDTH, as_text

OUTCOMES = ("acceptable", "conditional", "unacceptable")
FORMS = {".html": "text/html", ".pdf": "application/pdf", ".txt": "text/plain", ".json": "application/json"}
NO_ANSWER, REFUSED, FAILED_ON = 1, 2, 3


def add_to(commands: Any) -> None:
    """Add the command."""
    command = commands.add_parser(
        "assess",
        help="plan an order without a server",
        description="Plans an order: machines, supply, cable, loop, fill, place, what to load, what to do on arrival.",
        epilog="Exit status: 0 a plan was made, whatever it says; 1 a calculator failed; 2 the input was refused; "
        "3 `--fail-on` names the outcome or a better one.",
    )
    command.add_argument("order", metavar="ORDER.json", help="the order; `-` reads standard input")
    command.add_argument("--fleet", metavar="FLEET.json", help="the fleet, where the order does not hold it")
    command.add_argument("--units", choices=("metric", "us"), default="metric", help="units of the results")
    command.add_argument("--json", action="store_true", help="print the answer as the API gives it")
    command.add_argument(
        "--full", action="store_true", help="print everything: defaults, and what is summed up in a line"
    )
    command.add_argument("--write", metavar="FILE", help="write it there instead: .html, .pdf, .txt or .json")
    command.add_argument(
        "--fail-on", choices=OUTCOMES[1:], help="exit status 3 when the outcome is this or worse, for scripts"
    )
    command.set_defaults(run=run)


def run(given: argparse.Namespace) -> int:
    """Do what was asked."""
    form = _form(given)
    registry = Registry()
    served = registry.role("booking")
    if served is None:
        set_aside = "; ".join(f"{f.entry_point}: {f.reason}" for f in registry.found if f.reason)
        raise CommandError(f"no plugin that is served judges an order. {set_aside}".strip())
    order = _order(given)
    try:
        evaluated = _assess(registry, served, order, given.units)
    except Malformed as error:
        raise CommandError(f"{_name(given.order)}: {error.detail}") from error
    except Refused as refused:
        sys.stderr.write(refusal_text(refused, _name(given.order)))
        return REFUSED
    except Failure as failure:
        sys.stderr.write(f"coldwright: a calculator failed, which is no fault of the order: {failure}\n")
        return NO_ANSWER
    _hand_over(evaluated, form, registry, served, given)
    worst = given.fail_on
    return FAILED_ON if worst and OUTCOMES.index(evaluated.outcome) >= OUTCOMES.index(worst) else 0


def _assess(registry: Registry, served: Served, order: Any, units: Any) -> Evaluated:
    body = order if isinstance(order, bytes) else msgspec.json.encode(order)
    if not registry.parts("booking"):
        return evaluate_here(registry, served, read(served.local.given, body), units)
    engine = Engine(registry, "inline")  # strangers' parts are asked in their own workers
    try:
        return engine.evaluate_now(served, body, units)
    finally:
        engine.stop()


def _form(given: argparse.Namespace) -> str:
    if given.write:
        ending = Path(given.write).suffix.lower()
        if ending not in FORMS:
            raise CommandError(f"--write {given.write}: the name must end in {', '.join(FORMS)}")
        return FORMS[ending]
    return "application/json" if given.json else "text/plain"


def _order(given: argparse.Namespace) -> Any:
    """The order as bytes; with a fleet of its own file, decoded and put together."""
    body = _bytes(given.order)
    if not given.fleet:
        return body
    try:
        order = decode_any(body)
    except Malformed as error:
        raise CommandError(f"{_name(given.order)}: {error.detail}") from error
    try:
        fleet = decode_any(_bytes(given.fleet))
    except Malformed as error:
        raise CommandError(f"{given.fleet}: {error.detail}") from error
    if not isinstance(order, dict):
        return body
    if "fleet" in order:
        raise CommandError(f"{_name(given.order)} holds a fleet already: leave out --fleet")
    return {name: value for name, value in order.items() if name != "fleet_id"} | {"fleet": fleet}


def _bytes(name: str) -> bytes:
    try:
        body = sys.stdin.buffer.read() if name == "-" else Path(name).read_bytes()
    except OSError as error:
        raise CommandError(f"{name} can't be read: {error.strerror}") from error
    return body.removeprefix(BOM_UTF8)  # as some editors begin every text


def _name(order: str) -> str:
    return "standard input" if order == "-" else order


def _hand_over(evaluated: Evaluated, form: str, registry: Registry, served: Served, given: argparse.Namespace) -> None:
    content = _content(evaluated, form, registry, served, given.full)
    if not given.write:
        say(content.decode())
        return
    try:
        Path(given.write).write_bytes(content)
    except OSError as error:
        raise CommandError(f"{given.write} can't be written: {error.strerror}") from error
    say(f"{given.write}: {evaluated.outcome}")


def _content(evaluated: Evaluated, form: str, registry: Registry, served: Served, full: bool) -> bytes:
    if form == "application/json":
        return msgspec.json.format(evaluated.body, indent=1) + b"\n"
    answer, sources = msgspec.json.decode(evaluated.body), sources_of(registry)
    page = page_of(served.local, evaluated.body, Occasion(details=full))
    sheet: Sheet = lay_out(page, answer, sources) if page else record_sheet(answer, sources)
    if form == "text/html":
        return render(sheet, "text/html")
    if form == "application/pdf":
        return render(sheet, "application/pdf")
    return as_text(sheet, width=WIDTH, full=full).encode()


def refusal_text(refused: Refused, name: str) -> str:
    """Every wrong field, in lines for a person."""
    lines = [f"{plain_text(name)} was refused: {count_of(len(refused.errors), 'field')}."]
    for error in refused.errors:
        lines += ["", f"  {place_text(error.pointer)}", f"      {plain_text(error.detail)}"]
        lines += [f"      {what}" for what in _more(error)]
    return "\n".join(lines) + "\n"


def _more(error: FieldError) -> list[str]:
    parts = [("sent", error.value), ("taken", _allowed(error)), ("because", error.why)]
    return [f"{name}: {_short(value)}" for name, value in parts if value is not msgspec.UNSET and value != ""]


def _allowed(error: FieldError) -> str:
    if error.allowed is msgspec.UNSET:
        return ""
    allowed = msgspec.to_builtins(error.allowed)
    words = {"minimum": "from", "maximum": "to", "above": "above", "below": "below"}
    parts = [f"{word} {allowed[name]:g}" for name, word in words.items() if name in allowed]
    unit = f" {allowed['unit']}" if "unit" in allowed else ""
    one_of = ", ".join(allowed.get("one_of", ()))
    return " ".join(parts) + unit if parts else one_of


def _short(value: Any) -> str:
    text = value if isinstance(value, str) else msgspec.json.encode(value).decode()
    return plain_text(text if len(text) <= 200 else f"{text[:200]} ...")


def place_text(pointer: str) -> str:
    """`#/fleet/machines/0/rating` as `fleet.machines[0].rating`."""
    steps = [s.replace("~1", "/").replace("~0", "~") for s in pointer.removeprefix("#").split("/")[1:]]
    text = "".join(f"[{s}]" if s.isdecimal() else f".{s}" for s in steps).removeprefix(".")
    return plain_text(text) or "the whole of it"
