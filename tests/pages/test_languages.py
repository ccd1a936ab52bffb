"""The start page in Spanish: begun, said to be translated by a machine, and with no place lost in translation."""

import io
from pathlib import Path
from string import Formatter

from babel.messages.extract import extract_from_file
from babel.messages.mofile import read_mo
from babel.messages.pofile import read_po

FAMILY = Path(__file__).parents[2] / "plugins" / "coldwright_readiness"
WORDS = FAMILY / "locale" / "es" / "LC_MESSAGES"


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


def test_every_word_of_the_start_page_is_translated_and_keeps_its_places() -> None:
    catalogue = read_po(io.BytesIO((WORDS / "words.po").read_bytes()), locale="es")
    assert "Translated by a machine" in catalogue.header_comment
    page = str(FAMILY / "startup" / "page.py")
    for _, message, _, _ in extract_from_file("python", page, keywords={"_": None}):
        assert isinstance(message, str)
        translated = catalogue[message].string
        assert translated, message
        assert places(str(translated)) == places(message), message


def test_what_is_read_is_made_of_what_is_written() -> None:
    written = read_po(io.BytesIO((WORDS / "words.po").read_bytes()), locale="es")
    made = read_mo(io.BytesIO((WORDS / "words.mo").read_bytes()))
    assert {m.id: m.string for m in written if m.id} == {m.id: m.string for m in made if m.id}
