"""The catalogues of words: what code and tables say, and what the languages make of it.

    python tests/support/catalogues.py

puts new messages into every `words.po`, drops those that nobody says any more, and makes `words.mo` of each. English is
complete by itself: a message as it stands, its words of the trade those of the language.
"""

import datetime
import io
import json
from collections.abc import Iterable, Iterator
from pathlib import Path
from typing import Any

from babel.messages.catalog import Catalog
from babel.messages.extract import extract_from_file
from babel.messages.mofile import write_mo
from babel.messages.pofile import read_po, write_po

from coldwright.contract.people import label
from coldwright.contract.walk import fields_of
from coldwright_basis.ratings import Practice
from coldwright_basis.trade_words import words_of
from coldwright_readiness.shared.given import Configuration
from coldwright_readiness.shared.words import filled
from coldwright_readiness.start_forms.forms import texts_of_forms

ROOT = Path(__file__).parents[2]
FAMILIES = ROOT / "plugins"
SHEETS = ROOT / "api" / "coldwright" / "sheets"
SERVICE = ROOT / "api" / "coldwright" / "service"
PACKAGES = (FAMILIES / "coldwright_basis", SHEETS, SERVICE)
"""What our families say, what the sheets themselves say around it, and what the forms of the service say."""
ENGLISH: dict[str, Practice] = {"en_US": "nec", "en_GB": "iec"}
LANGUAGES = (*ENGLISH, "es")
BY_MACHINE = "Translated by a machine, and not read yet by somebody who speaks the\n# language."
MADE = datetime.datetime(2026, 11, 28, 12, 0, tzinfo=datetime.UTC)
"""Of all of them, so that nothing differs but words."""
TABLES = ("procedure_steps", "procedure_extras", "second_start_steps", "startup_rules")
"""Of the family of starts: what a crew and a technician read. Steps and facts stand on a page by their names too."""
OTHERWISE = {
    "en_US": {
        "Earth the generator, check oil and fuel, start it": "Ground the generator, check oil and fuel, start it",
    },
    "en_GB": {
        "Ground the generator, check oil and fuel, start it": "Earth the generator, check oil and fuel, start it",
        "Connect ground": "Connect the earth",
        "Ground the generating set": "Earth the generating set",
        "Ground generator": "Earth the generator",
        "Ground connected": "Earth connected",
        "Ground continuity": "Earth continuity",
    },
}
"""A step of code, and names of steps and facts, which are those of North America."""


def messages(package: Path) -> list[str]:
    """Every text that the pages of crew and start say, in the order of the files."""
    if package == SHEETS:
        return list(dict.fromkeys(_in_code(SHEETS.glob("*.py"))))
    if package == SERVICE:
        return list(dict.fromkeys((*_in_code(SERVICE.glob("people/*.py")), *_in_templates())))
    in_code = _in_code(FAMILIES.glob("coldwright_*/**/*.py"))
    return list(
        dict.fromkeys((*in_code, *_in_tables(), *_in_lists(), *filter(None, texts_of_forms()), *_names_of_settings()))
    )


def _in_templates() -> Iterator[str]:
    for path in sorted(SERVICE.glob("templates/*.html")):
        found = extract_from_file("jinja2", str(path), keywords={"say": None})
        yield from (str(message) for _line, message, _comments, _context in found)


def _in_lists() -> Iterator[str]:
    """Sentences that a family says, one a line."""
    for path in sorted(FAMILIES.glob("coldwright_*/**/sentences.txt")):
        yield from path.read_text("utf-8").splitlines()


def _names_of_settings() -> Iterator[str]:
    """Those of a start, which stand on its page."""
    for facts in fields_of(Configuration):
        yield label(facts.wire_name)


def _in_code(paths: Iterable[Path]) -> Iterator[str]:
    for path in sorted(paths):
        if "marked as _" in path.read_text("utf-8"):
            for _line, message, _comments, _context in extract_from_file("python", str(path), keywords={"_": None}):
                assert isinstance(message, str)
                yield message


def _in_tables() -> Iterator[str]:
    for row in _rows():
        names = [label(row[name]) for name in ("id", "fact") if name in row]
        yield from (*(text for forms in _said(row) for text in dict.fromkeys(forms.values())), *names)


def _rows() -> Iterator[dict[str, Any]]:
    for name in TABLES:
        path = FAMILIES / "coldwright_readiness" / "tables" / f"{name}.json"
        yield from json.loads(path.read_text("utf-8"))["rows"]


class _Kept(dict[str, str]):
    """Words of a practice; other places stay as they are."""

    def __missing__(self, name: str) -> str:
        return f"{{{name}}}"


def _said(row: dict[str, Any]) -> Iterator[dict[str, str]]:
    """Each text of a row in the words of every English, where it has no other places."""
    for name in ("label", "cleared_by", "why") if "rule" in row else ("title",):
        forms = {language: filled(row.get(name, "{none}"), _Kept(words_of(p))) for language, p in ENGLISH.items()}
        if not any("{" in text for text in forms.values()):
            yield forms


def alike(message: str) -> dict[str, str]:
    """The same text of a table in the words of each English; empty for what is said in one way only."""
    forms = (forms for row in _rows() for forms in _said(row) if message in forms.values())
    return next((f for f in forms if len(set(f.values())) > 1), {})


def written(language: str, package: Path) -> Catalog:
    """The catalogue of a language as it is kept; an empty one where there is none yet."""
    path = folder(language, package) / "words.po"
    return read_po(io.BytesIO(path.read_bytes()), locale=language) if path.exists() else Catalog(locale=language)


def folder(language: str, package: Path) -> Path:
    """Where a language is kept."""
    return package / "locale" / language / "LC_MESSAGES"


def renewed(language: str, package: Path) -> Catalog:
    """The catalogue with every message of now: English filled in, of the others what is translated."""
    before = written(language, package)
    head = f"# {BY_MACHINE}" if language not in ENGLISH else f"# The words of {language.replace('_', '-')}."
    made = Catalog(locale=language, project="coldwright", version="1", header_comment=head, last_translator="a machine")
    made.creation_date = made.revision_date = MADE
    for message in messages(package):
        kept = [found for text in (message, *alike(message).values()) if (found := before.get(text)) and found.string]
        made.add(message, in_english(message, language) if language in ENGLISH else kept[0].string if kept else "")
    return made


def in_english(message: str, language: str) -> str:
    """With the words of its trade."""
    message = alike(message).get(language) or OTHERWISE.get(language, {}).get(message, message)
    for thing, word in words_of(ENGLISH[language]).items():
        message = message.replace(f"{{{thing}}}", word)
    return message


def main() -> None:
    """Renew all of them."""
    for package in PACKAGES:
        for language in LANGUAGES:
            made, place = renewed(language, package), folder(language, package)
            place.mkdir(parents=True, exist_ok=True)
            with (place / "words.po").open("wb") as target:
                write_po(target, made, width=100, no_location=True)
            with (place / "words.mo").open("wb") as target:
                write_mo(target, made)
            missing = sum(not m.string for m in made if m.id)
            print(package.name, language, len(messages(package)), "messages,", missing, "without a translation")


if __name__ == "__main__":
    main()
