"""Crew sheet and start page in the reader's language: every word there is translated, and no number is lost on the way."""

import io
import json
import re
from pathlib import Path
from string import Formatter
from typing import Any

import pytest
from babel.messages.mofile import read_mo
from catalogues import ENGLISH, LANGUAGES, PACKAGES, folder, messages, written
from msgspec.structs import replace
from read_pages import pages_of, shown_in
from start_walk import TROUBLES, Trouble
from start_walk.walk import walk
from startup_histories import CONFIGURATION, ask, base, seen

from coldwright.contract.language import chosen
from coldwright.contract.page import (
    Action,
    Blanks,
    Drawing,
    Facts,
    Lines,
    Occasion,
    Page,
    Section,
    Sheet,
    Table,
    Tasks,
)
from coldwright.engine.pages import page_of
from coldwright.registry import Registry
from coldwright.sheets import lay_out, render, sources_of
from coldwright.sheets.sources import Sources
from coldwright.sheets.text import as_text
from coldwright_basis.speech import Speech
from coldwright_basis.trade_words import words_of

MACHINE = "Traducido por una máquina"
FIGURE = re.compile(r"-?\d[\d,.:]*\d|\d")
NONE = Sources({}, {})
SPACE = "\N{NO-BREAK SPACE}"


def figures(text: str) -> list[str]:
    """Numbers, whatever stands between their thousands."""
    return FIGURE.findall(re.sub(rf"(?<=\d)[,{SPACE}](?=\d{{3}}(?!\d))", "", text))


def places(text: str) -> set[str]:
    return {name for _, name, _, _ in Formatter().parse(text) if name is not None}


@pytest.mark.parametrize("package", PACKAGES, ids=lambda package: package.name)
@pytest.mark.parametrize("language", LANGUAGES)
def test_every_message_is_translated_and_keeps_its_places(language: str, package: Path) -> None:
    catalogue = written(language, package)
    things = set(words_of("nec"))
    for message in messages(package):
        translated = catalogue[message].string
        assert translated, message
        assert places(str(translated)) == places(message) - things, message
        assert sorted(FIGURE.findall(str(translated))) == sorted(FIGURE.findall(message)), message
    assert {str(m.id) for m in catalogue if m.id} == set(messages(package)), "python tests/support/catalogues.py"
    assert ("Translated by a machine" in catalogue.header_comment) == (language not in ENGLISH)


@pytest.mark.parametrize("package", PACKAGES, ids=lambda package: package.name)
@pytest.mark.parametrize("language", LANGUAGES)
def test_what_is_read_is_made_of_what_is_written(language: str, package: Path) -> None:
    made = read_mo(io.BytesIO((folder(language, package) / "words.mo").read_bytes()))
    assert {m.id: m.string for m in written(language, package) if m.id} == {m.id: m.string for m in made if m.id}


@pytest.mark.parametrize(
    ("asked", "accepted", "wanted"),
    [
        ("es", "en", "es"),
        (None, None, "en"),
        (None, "es-MX,es;q=0.9,en;q=0.8", "es"),
        (None, "en-GB", "en-GB"),
        (None, "fr, en-US;q=0.5", "en-US"),
        (None, "es;q=0, en", "en"),
        (None, "fr, *", "en"),
        (None, ";;q=x,,es;q=2", "en"),
        (None, "es;q=" + "9" * 5000, "en"),
    ],
)
def test_the_address_chooses_and_else_the_browser(asked: str | None, accepted: str | None, wanted: str) -> None:
    """RFC 9110, 12.5.4, with the lookup of RFC 4647, 3.4."""
    assert chosen(asked, accepted) == wanted


def texts_of(sheet: Sheet) -> list[str]:
    """Every text of a sheet in its order, one for one in any language."""
    found = [sheet.kind, sheet.title, sheet.verdict, *sheet.lead]
    for part in sheet.sections:
        found += [part.title, part.fact]
        for block in part.blocks:
            match block:
                case Facts(rows):
                    found += [text for row in rows for text in row]
                case Table(columns, rows):
                    found += [c.heading for c in columns] + [cell for row in rows for cell in row]
                case Lines(items):
                    found += items
                case Drawing(title, _, says):
                    found += [title, says]
                case Tasks(items):
                    for t in items:
                        found += [t.do, t.who, t.caution]
                        found += [text for b in t.blanks for text in (b.name, b.expected)]
                case Blanks(items):
                    found += [b.name for b in items]
                case _:
                    pass
    return found


SAME = re.compile(
    r"B|Cable|.*: cable|Invented .*|[^a-zA-Z]*|[\d., /x-]+ ?[a-zA-Z°/³Ω%]+( \d\d min)?|(\d+ x [\d,]+ L(, )?)+"
)
"""What reads alike in both: names of the order, numbers with their units."""


@pytest.mark.parametrize("order", ["process", "comfort", "indoor"])
def test_the_crew_sheet_is_in_spanish_with_the_figures_of_the_english_one(order: str, sheet_for: Any) -> None:
    english, spanish = (sheet_for(order, sheet="crew", language=language) for language in ("en-US", "es"))
    of_the_plan = {"Office before dispatch", "Crew on site"}
    kept = [i for i, part in enumerate(english.sections) if part.title not in of_the_plan]
    pairs = list(zip(texts_of(_only(english, kept)), texts_of(_only(spanish, kept)), strict=True))
    for said, translated in pairs:
        assert sorted(figures(said)) == sorted(figures(translated)), (said, translated)
        assert not re.search(r"\d,\d{3}(?!\d)", translated), translated
    machines = {m for part in english.sections for m in re.findall(r"[\w-]+-ton(?:, [\w ]+)?", str(part))}
    alike = [a for a, b in pairs if a == b and not SAME.fullmatch(a) and not any(m in a for m in machines)]
    assert alike == []
    assert spanish.language == "es"
    assert any(line.startswith(MACHINE) for line in spanish.foot)
    page = render(spanish, "text/html")
    assert b'<html lang="es">' in page
    assert MACHINE in shown_in(page)
    for paper in ("a4", "letter"):
        assert pages_of(render(spanish, "application/pdf", paper)) <= 2


def _only(sheet: Sheet, kept: list[int]) -> Sheet:
    return replace(sheet, sections=tuple(sheet.sections[i] for i in kept))


@pytest.mark.parametrize(
    ("written_so", "grouped"),
    [
        ("1,325 L", "1325 L"),
        ("21,900 L de gasóleo", f"21{SPACE}900 L de gasóleo"),
        ("-1,234,567.5 kg; 4 x 1,200 L", f"-1{SPACE}234{SPACE}567.5 kg; 4 x 1200 L"),
        ("0.85, 1.2, 1,25 y 3,1415", "0.85, 1.2, 1,25 y 3,1415"),  # no thousands
        ("M12,345 v1.1,200", "M12,345 v1.1,200"),  # parts of a name
    ],
)
def test_thousands_in_spanish_are_set_apart_by_spaces(written_so: str, grouped: str) -> None:
    """Ortografía de la lengua española (2010), as public pages report it: spaces from five digits on, never commas."""
    blocks = (Facts((("Agua", written_so),)), Drawing("Plano", "<path d='M 1,325 2,400'/>", written_so))
    for language, text in (("es", grouped), ("en", written_so)):
        page = Page("Plan", "P", "plain", written_so, sections=(Section("S", blocks),), language=language)
        sheet = lay_out(
            page, {"given": {}, "calculator": {"id": "a.b", "version": "1", "plugin": "p"}, "digest": ""}, NONE
        )
        assert sheet.verdict == text
        facts, drawing = sheet.sections[0].blocks
        assert facts == Facts((("Agua", text),))
        assert drawing == Drawing("Plano", "<path d='M 1,325 2,400'/>", text)


def test_english_is_that_of_the_practice_unless_another_is_asked_for() -> None:
    company = "Night number of the {hire} company"
    assert Speech("en", "nec")(company) == Speech("en-US", "iec")(company) == "Night number of the rental company"
    assert Speech("en", "iec")(company) == Speech("en-GB", "nec")(company) == "Night number of the hire company"
    assert Speech("en", "iec").known("Connect the ground first") == "Connect the earth first"
    assert Speech("es", "nec").known("A text that nobody translated, {odd}") == "A text that nobody translated, {odd}"


@pytest.mark.parametrize("clock", ["07:00", "08:54", "09:06", "10:00"])
def test_the_start_page_is_in_spanish_with_its_figures(clock: str, answer_of: Any, registry: Registry) -> None:
    served, sources = registry.served["readiness.startup"], sources_of(registry)
    on = [seen("compressor", "09:06", id="1", state="on")] if clock == "10:00" else []
    answer = answer_of("readiness.startup", ask([*base(), *on], clock))
    sheets = {}
    for language in ("en", "es"):
        page = page_of(served.local, json.dumps(answer).encode(), Occasion(id="s1", details=True, language=language))
        assert page is not None
        sheets[language] = lay_out(page, answer, sources)
    assert sheets["es"].verdict != sheets["en"].verdict
    assert MACHINE in as_text(sheets["es"], width=200)
    plain = as_text(sheets["es"], width=200, full=False)
    assert "No se imprime aquí, pero está en las páginas HTML y PDF: " in plain
    assert not re.search(r"^  (STOP|CHECK|CAUTION|note) ", plain, re.MULTILINE)
    assert figures(as_text(sheets["en"], width=200)) == figures(as_text(sheets["es"], width=200))


def test_every_action_of_an_ordinary_start_is_said_in_spanish(answer_of: Any, registry: Registry) -> None:
    """The published base set, record by record: the one thing to do, who does it, what is open and why."""
    served, history = registry.served["readiness.startup"], base()
    for known in range(0, len(history) + 1, 2):
        body = json.dumps(answer_of("readiness.startup", ask(history[:known], "09:06"))).encode()
        pages = [page_of(served.local, body, Occasion(id="s1", language=language)) for language in ("en", "es")]
        english, spanish = (
            {part.title or "do": part.blocks for part in page.sections if isinstance(part, Section)}
            for page in pages
            if page is not None
        )
        (said, translated) = (next(b for b in part["do"] if isinstance(b, Action)) for part in (english, spanish))
        assert said.do != translated.do, said.do
        assert [a for a, b in zip(said.more, translated.more, strict=True) if a == b] == []
        opened = zip(english.get("Open", ()), spanish.get("Pendiente", ()), strict=True)
        for before, after in opened:
            assert isinstance(before, Table)
            assert isinstance(after, Table)
            for row, other in zip(before.rows, after.rows, strict=True):
                assert [a for a, b in zip(row, other, strict=True) if a and a == b] == [], row


ENGLISH_WORDS = re.compile(r"\b(the|is|was|are|not|and|with|of|it|then|find|look)\b", re.IGNORECASE)
"""Words that no Spanish sentence has, and few English ones lack."""
TROUBLED = ("none", "rotation reversed", "somebody else's lock", "a gasket not seen")
"""Those that are gone through every time; the others every night."""


@pytest.mark.parametrize(
    "trouble",
    [
        pytest.param(t, id=t.name, marks=() if t.name in TROUBLED else pytest.mark.nightly)
        for t in TROUBLES
        if t.applies(CONFIGURATION)
    ],
)
def test_what_a_crew_reads_on_its_way_to_ready_is_said_in_spanish(
    trouble: Trouble, answer_of: Any, registry: Registry
) -> None:
    """Every sentence of the page, those with a time in them, findings and cautions too; names of people and locks are theirs."""
    served, sources, left = registry.served["readiness.startup"], sources_of(registry), set[str]()
    asked = 0

    def judged(request: dict[str, Any]) -> dict[str, Any]:
        nonlocal asked
        asked += 1
        answer = answer_of("readiness.startup", request)
        if asked % 4 == 1:
            page = page_of(served.local, json.dumps(answer).encode(), Occasion(id="s1", language="es"))
            assert page is not None
            sheet = lay_out(page, answer, sources)
            kept = replace(sheet, sections=sheet.sections[:-2], foot=())  # but the settings, and the titles of sources
            text = as_text(kept, width=400)
            assert "2026-" not in text, "times are those of a watch"
            left.update(line for line in text.splitlines() if ENGLISH_WORDS.search(line))
        return dict(answer["results"])

    walk(judged, CONFIGURATION, trouble)
    assert {line for line in left if "Not printed here" not in line} == set()


@pytest.mark.parametrize("clock", ["09:12", "10:50"])
@pytest.mark.parametrize("cause", ["supply", "lock", "pump_state", "alarm", "closed"])
def test_running_and_stopping_and_the_end_are_said_in_spanish(
    cause: str, clock: str, answer_of: Any, registry: Registry
) -> None:
    happened: dict[str, dict[str, Any]] = {
        "supply": {"state": "interrupted", "duration": {"value": 10, "unit": "s"}},
        "lock": {"lock_id": "L2", "state": "applied"},
        "pump_state": {"pump": "machine", "state": "tripped"},
        "alarm": {"code": "A1", "state": "active"},
        "closed": {"reason": "swap"},
    }
    on = seen("compressor", "09:06", id="1", state="on")
    answer = answer_of("readiness.startup", ask([*base(), on, seen(cause, "09:10", **happened[cause])], clock))
    served = registry.served["readiness.startup"]
    page = page_of(served.local, json.dumps(answer).encode(), Occasion(id="s1", language="es"))
    assert page is not None
    sheet = lay_out(page, answer, sources_of(registry))
    text = as_text(replace(sheet, sections=sheet.sections[:-2], foot=()), width=400)
    assert [line for line in text.splitlines() if ENGLISH_WORDS.search(line) and "Not printed here" not in line] == []
