"""Pages of real answers: complete, readable, escaped, and never wider than they should be."""

import html
import json
import re
import shutil
import subprocess
from pathlib import Path
from typing import Any

import msgspec
import pytest
from startup_histories import ask, base

from coldwright.contract.decoders import decoder_of
from coldwright.contract.people import rounded
from coldwright.engine.pages import page_of
from coldwright.registry import Registry
from coldwright.registry.answers import answer_type
from coldwright.sheets import Occasion, Sheet, Sources, lay_out, record_sheet, render
from coldwright.sheets.pdf import as_pdf
from coldwright.sheets.text import WIDTH, as_text, columns_of

Answer = dict[str, Any]
ASSESSMENT = "booking.assessment"
STARTUP = "readiness.startup"
REGISTRY = Registry()
NOTHING = re.compile(r"\b(None(?! of)|null|nan|NaN|inf|UNSET|undefined)\b")
SCRIPT = '<script>alert("x")</script> & \x1b[31m \u202e'
IMAGES = re.compile(r'src="data:image/(svg\+xml,|png;base64,|jpeg;base64,)[^"]*"')
"""Pictures that are in the page itself; no script runs in them."""
FROM_ELSEWHERE = r"(?i)<(script|link|iframe|object|embed|form)\b|\bon\w+=|href=|url\(|@import|src="
WORDS_OF_THE_CONTRACT = {
    "basis", "code", "hazard", "id", "kind", "outcome", "per", "practice", "pump_owner", "redundancy", "severity", "source",
    "status", "unit", "verdict", "version",
}  # fmt: skip
"""Members whose words a page looks up: no stranger's text can stand there."""


def sheet_of(answer: Answer, sources: Sources) -> Sheet:
    """The page that the service would make."""
    served = REGISTRY.served[answer["calculator"]["id"]]
    observations = answer["given"].get("observations", ())
    occasion = Occasion(
        revision=3, id="start-7", machine="M 7", booking="B 1", observations=len(observations), details=True
    )
    page = page_of(served.local, json.dumps(answer).encode(), occasion)
    assert (page is None) == (not served.calculator.has_page)
    return lay_out(page, answer, sources) if page else record_sheet(answer, sources, kept_at="2026-05-01T07:00:00Z")


def squeezed(text: str) -> str:
    """Without the line breaks and bars of a layout."""
    return re.sub(r"\s+", "", text)


def statements(answer: Answer, severities: tuple[str, ...] = ("stop", "check", "note")) -> list[str]:
    """What must be on every page."""
    found = [rounded(f["statement"]) for f in answer["findings"] if f["severity"] in severities]
    return [as_people_read_it(s) for s in found + [c["statement"] for c in answer["cautions"]]]


def as_people_read_it(statement: str) -> str:
    """No backticks, underscores and dots of names as blanks, temperatures with their sign."""
    parts = statement.split("`")
    parts[1::2] = [re.sub(r"[^A-Za-z0-9]+", " ", name).strip() for name in parts[1::2]]
    text = "".join(parts)
    for unit, sign in (("delta_degC", "K"), ("delta_degF", "°F"), ("degC", "°C"), ("degF", "°F")):
        text = text.replace(unit, sign)
    return text


def test_every_example_makes_a_complete_page(example_answers: dict[str, Answer], sources: Sources) -> None:
    for id_, answer in example_answers.items():
        sheet = sheet_of(answer, sources)
        text = as_text(sheet)
        page = render(sheet, "text/html").decode()
        shown = squeezed(html.unescape(page))
        for statement in statements(answer):
            assert squeezed(statement) in squeezed(text), f"{id_}: {statement}"
            assert squeezed(statement) in shown, f"{id_}: {statement}"
        assert answer["digest"] in text, id_
        assert not NOTHING.search(text), (id_, NOTHING.search(text))
        assert not NOTHING.search(html.unescape(re.sub(r"<[^>]*>", " ", page.partition("</style>")[2]))), id_
        assert max(columns_of(line) for line in text.splitlines()) <= WIDTH, id_


def test_every_number_of_the_results_is_on_the_page_of_a_record(
    example_answers: dict[str, Answer], sources: Sources
) -> None:
    answer = example_answers["electrical.service"]
    text = as_text(record_sheet(answer, sources))
    assert f"{answer['results']['feeder']['minimum_circuit_ampacity']['value']:.0f} A" in text
    assert f"{answer['results']['apparent_power']['value']:.0f} kVA" in text


@pytest.mark.parametrize("width", [40, 60, 80, 100])
def test_text_keeps_to_the_width_asked_for(width: int, example_answers: dict[str, Answer], sources: Sources) -> None:
    for id_, answer in example_answers.items():
        lines = as_text(sheet_of(answer, sources), width=width).splitlines()
        assert max(map(columns_of, lines)) <= width, id_


def test_the_short_text_says_what_it_leaves_out(example_answers: dict[str, Answer], sources: Sources) -> None:
    sheet = sheet_of(example_answers["electrical.service"], sources)
    short, full = render(sheet, "text/plain").decode(), as_text(sheet)
    assert "Working" in short.partition("Not printed here")[2]
    assert "WORKING" not in short
    assert "WORKING" in full
    for statement in statements(example_answers["electrical.service"]):
        assert squeezed(statement) in squeezed(short)


def planted(answer: Answer) -> Answer:
    """The answer with a script, a terminal sequence and turned text in every place where a stranger's text can stand.

    Where the calculator has a page, that is every place whose type allows for it.
    """
    served = REGISTRY.served[answer["calculator"]["id"]]
    decoder = decoder_of(answer_type(served.local))
    allowed: dict[str, bool] = {}

    def may_stand(place: str, holder: Any, key: Any) -> bool:
        if not served.calculator.has_page:
            return place.rpartition("/")[2] not in WORDS_OF_THE_CONTRACT
        if place not in allowed:
            kept = holder[key]
            holder[key] = kept + SCRIPT
            try:
                decoder.decode(json.dumps(answer).encode())
                allowed[place] = True
            except msgspec.ValidationError:
                allowed[place] = False
            holder[key] = kept
        return allowed[place] and place.rpartition("/")[2] not in WORDS_OF_THE_CONTRACT

    def plant(value: Any, place: str) -> None:
        for key, item in list(value.items() if isinstance(value, dict) else enumerate(value)):
            here = f"{place}/{key}" if isinstance(value, dict) else place
            if isinstance(item, dict | list):
                plant(item, here)
            elif isinstance(item, str) and may_stand(here, value, key):
                value[key] = item + SCRIPT

    answer = json.loads(json.dumps(answer))
    plant(answer, "")
    return answer


@pytest.mark.parametrize("id_", ["electrical.service", STARTUP, "hydronic.loop", "readiness.procedure", ASSESSMENT])
def test_nothing_that_is_planted_gets_through(id_: str, example_answers: dict[str, Answer], sources: Sources) -> None:
    answer = planted(example_answers[id_])
    sheet = sheet_of(answer, sources)
    page = render(sheet, "text/html").decode()
    assert "&lt;script&gt;" in page
    assert "<script" not in page.lower()
    text = as_text(sheet)
    for unwanted in ("\x1b", "\u202e", "\x9b"):
        assert unwanted not in text
        assert unwanted not in page
    assert max(map(columns_of, text.splitlines())) <= WIDTH
    assert as_pdf(sheet).startswith(b"%PDF-1.")


def test_pages_load_nothing_from_elsewhere(example_answers: dict[str, Answer], sources: Sources) -> None:
    for id_ in ("electrical.service", STARTUP, ASSESSMENT):
        page = render(sheet_of(example_answers[id_], sources), "text/html").decode()
        assert not re.search(FROM_ELSEWHERE, IMAGES.sub("", page))


@pytest.mark.parametrize("id_", ["electrical.service", STARTUP, "readiness.procedure", ASSESSMENT])
def test_a_pdf_opens_and_holds_every_statement(
    id_: str, example_answers: dict[str, Answer], sources: Sources, tmp_path: Path
) -> None:
    answer = example_answers[id_]
    body = as_pdf(sheet_of(answer, sources))
    assert body.startswith(b"%PDF-1.")
    assert body.rstrip().endswith(b"%%EOF")
    counted = re.search(rb"/Count (\d+)", body)
    assert counted
    assert 1 <= int(counted[1]) < 60
    assert b"/FontFile2" in body
    if reader := shutil.which("pdftotext"):
        (tmp_path / "page.pdf").write_bytes(body)
        read = subprocess.run([reader, "-raw", tmp_path / "page.pdf", "-"], capture_output=True, check=True)
        pages = read.stdout.decode()
        feet = r"(?m)^.*page \d+ of \d+$|^(Plan|Record|Start-up): .*$|\f"  # between two halves of a statement
        shown = squeezed(re.sub(feet, "", pages)).replace("\u2022", "")
        missing = [s for s in statements(answer) if squeezed(s) not in shown]
        assert not missing
        assert not NOTHING.search(pages)


def test_the_same_page_gives_the_same_pdf(example_answers: dict[str, Answer], sources: Sources) -> None:
    sheet = sheet_of(example_answers["electrical.service"], sources)
    assert as_pdf(sheet) == as_pdf(sheet)


def test_letters_that_the_fonts_lack_are_told_and_not_dropped(
    example_answers: dict[str, Answer], sources: Sources, tmp_path: Path
) -> None:
    answer = example_answers["electrical.service"]
    european = startup_title(sources, answer, "Żółw, Ωμέγα, Яблоко")
    foreign = startup_title(sources, answer, "冷水機 west")
    assert len(as_pdf(european)) > 0
    reader = shutil.which("pdftotext")
    if reader is None:
        pytest.skip("no reader of PDF here")
    texts = []
    for name, sheet in (("european", european), ("foreign", foreign)):
        (tmp_path / name).write_bytes(as_pdf(sheet))
        texts.append(subprocess.run([reader, tmp_path / name, "-"], capture_output=True, check=True).stdout.decode())
    assert "Żółw, Ωμέγα, Яблоко" in texts[0]
    assert "can't be printed here" not in texts[0]
    assert "□□□ west" in texts[1]
    assert "can't be printed here" in texts[1]


def startup_title(sources: Sources, answer: Answer, title: str) -> Sheet:
    """A page of that title."""
    return record_sheet(answer, sources, title=title)


STARTED_COLD = [
    {"id": "c1", "kind": "compressor", "at": "2026-05-04T08:50:00Z", "data": {"id": "1", "state": "on"}},
    {"id": "c2", "kind": "compressor", "at": "2026-05-04T08:51:00Z", "data": {"id": "1", "state": "off"}},
]
RUNS_WITHOUT_FLOW = [
    {"id": "c3", "kind": "compressor", "at": "2026-05-04T09:05:00Z", "data": {"id": "1", "state": "on"}},
    {"id": "p9", "kind": "pump_state", "at": "2026-05-04T09:05:30Z", "data": {"pump": "machine", "state": "tripped"}},
]


@pytest.mark.parametrize(
    ("events", "clock", "tone", "headline"),
    [
        ([], "09:06", "good", "Ready: nothing on record forbids the start"),
        ([], "09:04", "care", "Wait"),
        (STARTED_COLD, "09:06", "bad", "Blocked: 1 open"),
        (RUNS_WITHOUT_FLOW[:1], "09:06", "good", "Running"),
        (RUNS_WITHOUT_FLOW, "09:40", "bad", "Stop it now"),
    ],
)
def test_the_headline_of_a_start_names_what_comes_first(
    answer_of: Any, sources: Sources, events: list[Any], clock: str, tone: str, headline: str
) -> None:
    asked = ask([*base(), *events], clock)
    sheet = sheet_of(answer_of(STARTUP, asked), sources)
    assert sheet.tone == tone
    assert sheet.verdict.startswith(headline)
    assert len(as_pdf(sheet)) > 0


def test_sources_that_nobody_saw_are_marked(example_answers: dict[str, Answer], sources: Sources) -> None:
    text = as_text(sheet_of(example_answers["electrical.service"], sources))
    assert "from memory" in text
    assert "common practice, no source" in text


def test_an_unknown_source_is_told_and_not_passed_over(example_answers: dict[str, Answer], sources: Sources) -> None:
    answer = dict(example_answers["electrical.service"])
    answer["findings"] = [{"code": "x", "severity": "stop", "statement": "Planted.", "references": ["no_such_source"]}]
    assert "no_such_source: not among the sources" in as_text(record_sheet(answer, sources))


def test_the_page_of_a_blocked_start_says_so_first(answer_of: Any, registry: Any, sources: Sources) -> None:
    given = dict(registry.served[STARTUP].calculator.examples[0].given)
    given["observations"] = given["observations"][:5]
    answer = answer_of(STARTUP, given)
    assert answer["results"]["status"] == "blocked"
    lines = as_text(sheet_of(answer, sources)).splitlines()
    assert lines[2] == f"Blocked: {len(answer['results']['blocks'])} open"
    text = "\n".join(lines)
    for block in answer["results"]["blocks"]:
        assert re.search(rf"(?m) {block['rule']}$", text), block["rule"]


def test_a_long_history_is_cut_and_the_page_says_so(example_answers: dict[str, Answer], sources: Sources) -> None:
    answer = json.loads(json.dumps(example_answers[STARTUP]))
    first = answer["results"]["timeline"][0]
    answer["results"]["timeline"] = [dict(first, id=f"seen-{n}") for n in range(5_000)]
    answer["results"]["facts"]["level"]["by"] = [f"seen-{n}" for n in range(3_000)]
    answer["given"]["observations"] = [dict(answer["given"]["observations"][0], id=f"seen-{n}") for n in range(5_000)]
    for sheet in (sheet_of(answer, sources), record_sheet(answer, sources)):
        text = as_text(sheet)
        # as a table its first 200 rows are shown; where its members are too many for one, its first 40 entries
        assert re.search(r"4,800 more rows are in the JSON answer|4,960 more of timeline are in the JSON answer", text)
        assert "and 2,980 more" in " ".join(text.split())
        assert len(text) < 400_000
    assert "seen-4999" in as_text(sheet_of(answer, sources))  # the latest is what counts


def test_one_cell_may_be_longer_than_a_page(example_answers: dict[str, Answer], sources: Sources) -> None:
    answer = json.loads(json.dumps(example_answers[ASSESSMENT]))
    answer["results"]["pick_list"][0]["item"] = "W" * 6_000
    answer["results"]["pick_list"][1]["reason"] = "many words " * 1_500
    assert as_pdf(sheet_of(answer, sources)).startswith(b"%PDF-1.")


def test_a_drawing_is_an_image_and_never_part_of_the_page(answer_of: Any, registry: Any, sources: Sources) -> None:
    examples = [e.given | {"drawing": True} for e in registry.served["site.placement"].calculator.examples]
    answer = answer_of("site.placement", examples[0])
    assert answer["results"]["plan_svg"].startswith("<svg")
    answer["results"]["plan_svg"] = answer["results"]["plan_svg"].replace("<svg", "<svg onload='alert(1)'", 1)
    sheet = record_sheet(answer, sources)
    page = render(sheet, "text/html").decode()
    assert 'alt="Plan" src="data:image/svg+xml,' in page
    assert "<svg" not in IMAGES.sub("", page)
    assert "a drawing, on the HTML page" in as_text(sheet)
    assert "<svg" not in as_text(sheet)
    assert as_pdf(sheet).startswith(b"%PDF-1.")
