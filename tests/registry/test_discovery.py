"""What becomes of plugins that are well, ill, or quarrel: the rest is served, and every one's story is told."""

import itertools
import sys
import time
from collections.abc import Iterator
from importlib.metadata import EntryPoint, entry_points
from pathlib import Path
from typing import Any

import httpx
import pytest
from distributions import entry_points_in, install, sound
from litestar.testing import TestClient

from coldwright.contract import CONTRACT_VERSION, ENTRY_POINT_GROUP, Plugin
from coldwright.registry import (
    FIRST_PARTY,
    RESERVED_FAMILIES,
    RESERVED_WORDS,
    Found,
    Holder,
    Ownership,
    Registry,
    Reported,
)
from coldwright.registry.entry import entry_of
from coldwright.registry.rules import components_of, two_of_one_name
from coldwright.registry.strangers import reports_of, sent_of
from coldwright.service.app import all_endpoints, create_app, document_of
from coldwright.service.settings import Settings


@pytest.fixture
def folder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    """A folder to install into; what is imported from it is forgotten at the end."""
    monkeypatch.syspath_prepend(str(tmp_path))
    before = set(sys.modules)
    yield tmp_path
    for name in set(sys.modules) - before:
        if str(tmp_path) in str(getattr(sys.modules[name], "__file__", "")):
            del sys.modules[name]


def only(registry: Registry, entry_point: str = "trial") -> Found:
    (found,) = [f for f in registry.found if f.entry_point == entry_point]
    return found


ILL = {
    "import error": (
        "import a_library_that_nobody_has",
        "import",
        "ModuleNotFoundError: No module named 'a_library_that_nobody_has'",
    ),
    "exit": ("raise SystemExit(3)", "import", "SystemExit: 3"),
    "syntax": ("def broken(:", "import", "SyntaxError: invalid syntax"),
    "no object": ("plugins = 1", "import", "AttributeError: module"),
    "any error": ("1 / 0", "import", "ZeroDivisionError: division by zero"),
    "deep": ("def f(): f()\nf()", "import", "RecursionError"),
    "not a plugin": ("plugin = {'calculators': []}", "manifest", "is not a Plugin but a dict"),
    "no range": (sound("trial", contract="one"), "manifest", "contract 'one'"),
    "range of no text": (sound("trial").replace('contract=">=1.0,<2"', "contract=1"), "manifest", "contract 1"),
    "contract to come": (sound("trial", contract=">=7"), "contract", "written for contract >=7, this is 1."),
    "contract gone by": (sound("trial", contract="<1"), "contract", "written for contract <1, this is 1."),
    "reserved": (sound("hydronic", "hose"), "identity", "the family 'hydronic' of hydronic.hose is reserved"),
    "reserved word": (sound("list", "calculators"), "identity", "the family 'list' of list.calculators is reserved"),
    "id": (sound("trial", "Answer"), "identity", "the id 'trial.Answer' is not of the form"),
    "version": (sound("trial", version="1"), "identity", "the version '1' of trial.answer is not of the form 1.2.3"),
    "orphan": (
        sound("trial", uses=("trial.lost",)),
        "identity",
        "asks calculators that are not served, or run in another container: trial.lost",
    ),
    "no calculators": (
        sound("trial").replace("(answer,)", "(Power,)"),
        "identity",
        "is not a Calculator: use the decorator",
    ),
    "twice": (
        sound("trial").replace("(answer,)", "(answer, answer)"),
        "identity",
        "two calculators are called trial.answer@1",
    ),
    "clash of structs": (
        sound("trial").replace("plugin =", "first = answer\nplugin =")
        + sound("trial", "second").replace("(answer,)", "(first, answer)"),
        "identity",
        "two things are called Ill_PowerGiven: ill.PowerGiven and ill.PowerGiven",
    ),
    "schema that cannot be written": (
        sound("trial").replace('    power: Annotated[Power, about("Power.")]', "    power: complex"),
        "identity",
        "TypeError: Generating JSON schema for custom types requires",
    ),
    "example that cannot be written": (
        sound("trial").replace('"value": 2', '"value": object()'),
        "identity",
        "TypeError: Encoding objects of type object is unsupported",
    ),
    "deprecated backwards": (
        sound("trial").replace("uses=()", "deprecated=('2027-01-01', '2026-01-01', 'Nothing.')"),
        "identity",
        "AttributeError: 'tuple' object has no attribute 'since'",
    ),
}


@pytest.mark.parametrize("case", ILL)
def test_an_ill_plugin_is_set_aside_with_the_reason_and_the_rest_is_served(
    case: str, folder: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    source, stage, reason = ILL[case]
    install(folder, "coldwright-ill", {"ill": source}, {"trial": "ill:plugin"})
    install(folder, "coldwright-well", {"well": sound("well")}, {"well": "well:plugin"})
    registry = Registry(entry_points_in(folder))
    found = only(registry)
    assert (found.state, found.stage) == ("set_aside", stage)
    assert reason in found.reason
    assert found.remedy
    assert found.calculators == ()
    assert (found.distribution, found.distribution_version) == ("coldwright-ill", "1.0")
    assert registry.served.keys() == {"well.answer"}
    assert registry.why("trial") == f"set aside: {found.reason}"


def first_party_points() -> list[EntryPoint]:
    return [p for p in entry_points(group=ENTRY_POINT_GROUP) if p.dist and p.dist.name == FIRST_PARTY]


@pytest.fixture
def claimed_by_three(folder: Path) -> list[EntryPoint]:
    for letter, factor in (("a", 2), ("b", 3), ("c", 4)):
        source = sound("shared", factor=factor)
        install(folder, f"coldwright-{letter}", {f"of_{letter}": source}, {letter: f"of_{letter}:plugin"})
    points = entry_points_in(folder)
    assert len(points) == 3
    return points


def test_newcomers_that_claim_one_id_are_all_set_aside(claimed_by_three: list[EntryPoint]) -> None:
    registry = Registry(claimed_by_three)
    assert registry.served == {}
    assert [only(registry, n).state for n in "abc"] == ["set_aside"] * 3
    told = only(registry, "b")
    assert told.reason == (
        "the id shared.answer is claimed by coldwright-a, coldwright-c too, and neither was here before"
    )
    assert told.remedy.endswith("COLDWRIGHT_PLUGINS_PINNED=shared.answer=coldwright-b")


@pytest.mark.parametrize(
    ("ownership", "cure"),
    [
        (Ownership(pinned={"shared.answer": "Coldwright_B"}), "COLDWRIGHT_PLUGINS_PINNED"),
        (Ownership({"shared.answer": Holder("coldwright-b", "2026")}), "`coldwright plugins release shared.answer`"),
        (
            Ownership({"shared.answer": Holder("coldwright-a", "2026")}, {"shared.answer": "coldwright-b"}),
            "COLDWRIGHT_PLUGINS_PINNED",
        ),
    ],
    ids=["pinned", "registered first", "pinned against the first"],
)
def test_an_id_is_whose_it_was_and_never_the_earlier_letters(
    claimed_by_three: list[EntryPoint], ownership: Ownership, cure: str
) -> None:
    for order in itertools.permutations(claimed_by_three):
        registry = Registry(order, ownership=ownership)
        assert registry.served["shared.answer"].distribution == "coldwright-b"
        assert [only(registry, n).state for n in "abc"] == ["set_aside", "loaded", "set_aside"]
        assert only(registry, "a").reason.startswith("the id shared.answer belongs to coldwright-b: ")
        assert cure in only(registry, "a").remedy
        assert registry.claims() == {"shared.answer": "coldwright-b"}


def test_an_id_stays_with_its_holder_also_while_that_is_away(folder: Path) -> None:
    install(folder, "coldwright-b", {"of_b": sound("shared")}, {"b": "of_b:plugin"})
    kept = Ownership({"shared.answer": Holder("coldwright-gone", "2026")})
    found = only(Registry(entry_points_in(folder), ownership=kept), "b")
    assert "belongs to coldwright-gone: it was registered first by coldwright-gone" in found.reason


def test_who_was_here_first_keeps_the_name_of_an_operation(folder: Path) -> None:
    """Two ids may come to one name in the document; the one that was registered has it."""
    install(folder, "coldwright-a", {"cool_air": sound("cool", "air_flow")}, {"a": "cool_air:plugin"})
    install(folder, "coldwright-b", {"of_b": sound("cool_air", "flow")}, {"b": "of_b:plugin"})
    kept = Ownership({"cool_air.flow": Holder("coldwright-b", "2026")})
    registry = Registry(entry_points_in(folder), ownership=kept)
    assert registry.served.keys() == {"cool_air.flow"}
    assert only(registry, "a").reason == (
        "the name operation CoolAirFlow of cool.air_flow is taken by cool_air.flow of coldwright-b"
    )
    both = Registry(entry_points_in(folder))
    assert both.served == {}
    assert only(both, "a").reason.startswith(
        "the name operation CoolAirFlow of cool.air_flow is claimed by coldwright-b"
    )


def test_ours_always_win(folder: Path) -> None:
    claimed = "site.lift"
    install(folder, "a-first", {"a_first": sound("site", "lift")}, {"site": "a_first:plugin", "aaa": "a_first:plugin"})
    points = [*entry_points_in(folder), *first_party_points()]
    for order in (points, points[::-1]):
        registry = Registry(order)
        assert registry.served[claimed].first_party
        assert isinstance(registry.plugins["site"], Plugin)
        assert "a_first" not in sys.modules
        assert only(registry, "aaa").reason == "the family 'site' of site.lift is reserved"
        assert registry.why("site") == ""


def test_an_entry_point_of_ours_is_taken(folder: Path) -> None:
    install(folder, "a-first", {"a_first": sound("other")}, {"site": "a_first:plugin"})
    registry = Registry([*entry_points_in(folder), *first_party_points()])
    told = [f.reason for f in registry.found if f.distribution == "a-first"]
    assert told == ["the entry point name 'site' is taken by coldwright"]
    assert registry.served.keys() >= {"site.lift"}
    assert "other.answer" not in registry.served


def test_a_component_that_means_two_structs_is_taken_once(folder: Path) -> None:
    install(folder, "coldwright-a", {"cool_air": sound("cool")}, {"a": "cool_air:plugin"})
    install(folder, "coldwright-c", {"coldwright_cool_air": sound("other")}, {"c": "coldwright_cool_air:plugin"})
    kept = Ownership({"cool.answer": Holder("coldwright-a", "2026")})
    registry = Registry(entry_points_in(folder), ownership=kept)
    assert only(registry, "a").state == "loaded"
    assert only(registry, "c").reason == (
        "the name CoolAir_PowerGiven of coldwright_cool_air.PowerGiven is taken by cool_air.PowerGiven of coldwright-a"
    )


UNSERVABLE = {
    "no such unit": (
        ('unit="kW"', 'unit="millimetre"'),
        "ill/__init__.py:13, PowerGiven.power: unit='millimetre' is no unit of Power",
        "Write one of kW",
    ),
    "unit of a number": (
        ('power: Annotated[Power, about("Power.", low=0', 'power: Annotated[float, about("Power.", low=0'),
        "unit='kW' stands at something that is no quantity",
        "make it a quantity",
    ),
    "bounds turned round": (("low=0, high=1000", "low=2000, high=1000"), "nothing lies between 2000 and 1000 kW", ""),
    "us unit": (('unit="kW")', 'unit="kW", us="gpm")'), "us='gpm' is no unit of Power", "Write one of kW"),
    "reference": (
        ('unit="kW")', 'unit="kW", references=("lost",))'),
        "it cites 'lost', which its calculator does not list",
        "references=",
    ),
    "default": (
        ('unit="kW")]\n\n\nclass', 'unit="kW")] = Power(2000.0, "kW")\n\n\nclass'),
        "the default 2000 kW is out of its own range",
        "Move the default",
    ),
}


@pytest.mark.parametrize("case", UNSERVABLE)
def test_what_would_fail_at_the_first_call_is_found_before_serving(case: str, folder: Path) -> None:
    change, reason, remedy = UNSERVABLE[case]
    source = sound("trial")
    assert change[0] in source
    install(folder, "coldwright-ill", {"ill": source.replace(*change)}, {"trial": "ill:plugin"})
    found = only(Registry(entry_points_in(folder)))
    assert (found.state, found.stage) == ("set_aside", "schema")
    assert reason in found.reason
    assert remedy in found.remedy


HOSTILE = {
    "ends its process": "import os\nos._exit(0)",
    "ends its process loudly": "import os\nprint('x' * 1_000_000, flush=True)\nos._exit(0)",
    "kills its group": "import os, signal\nos.killpg(0, signal.SIGKILL)",
    "kills who reads it": "import os, signal\nos.kill(os.getppid(), signal.SIGKILL)",
    "crashes": "import ctypes\nctypes.string_at(0)",
}


@pytest.mark.parametrize("case", HOSTILE)
def test_an_import_that_ends_the_process_costs_that_plugin_alone(case: str, folder: Path) -> None:
    install(folder, "coldwright-ill", {"ill": HOSTILE[case]}, {"trial": "ill:plugin"})
    install(folder, "coldwright-well", {"well": "print('hello')\n" + sound("well")}, {"well": "well:plugin"})
    registry = Registry(entry_points_in(folder))
    assert "its import ended the process" in only(registry).reason
    assert only(registry, "well").state == "loaded"
    assert registry.printed["well (coldwright-well)"] == "hello\n"
    assert all(len(text) < 5000 for text in registry.printed.values())


def test_an_import_without_end_is_ended_and_told(folder: Path) -> None:
    install(folder, "coldwright-ill", {"ill": "while True: pass"}, {"trial": "ill:plugin"})
    install(folder, "coldwright-well", {"well": sound("well")}, {"well": "well:plugin"})
    entries = sorted(map(entry_of, entry_points_in(folder)), key=lambda e: e.name)
    ill, well = reports_of(entries, sent_of(entries, 2.0), 2.0)
    assert ill.stage == "import"
    assert "longer than 2 s" in ill.reason
    assert well.plugin is not None


def lives(pid: int) -> bool:
    """Whether there is such a process, other than one that has ended and waits to be noticed."""
    try:
        return "State:\tZ" not in Path(f"/proc/{pid}/status").read_text()
    except (FileNotFoundError, ProcessLookupError):
        return False


def test_what_an_import_has_started_ends_with_it(folder: Path) -> None:
    """In whatever group, and though the plugin kills the process that would have ended it."""
    mark = f"{folder.name}.pid"
    writing = "import os, pathlib\n(pathlib.Path(__file__).parent / '{0}').write_text(str({1}.pid))\n"
    source = f"import subprocess\np = subprocess.Popen(['sleep', '3600'], process_group=0)\n{writing.format(mark, 'p')}"
    killing = "import signal\nos.kill(os.getppid(), signal.SIGKILL)\n"
    for name, end in (("one", sound("one")), ("two", killing)):
        install(folder, f"coldwright-{name}", {name: source + end}, {name: f"{name}:plugin"})
    registry = Registry(entry_points_in(folder))
    assert only(registry, "one").state == "loaded"
    for name in ("one", "two"):
        pid = int((folder / name / mark).read_text())
        deadline = time.monotonic() + 20  # a signal that was sent is not yet one that was heeded
        while lives(pid):
            assert time.monotonic() < deadline, name
            time.sleep(0.05)


def test_a_strangers_code_never_runs_here(folder: Path) -> None:
    """Not its import, not the `__post_init__` of its input: the service knows it by its report alone."""
    source = sound("trial").replace(
        '    power: Annotated[Power, about("Power.", low',
        '    def __post_init__(self):\n        raise SystemExit\n\n    power: Annotated[Power, about("Power.", low',
    )
    install(folder, "coldwright-ill", {"ill": source}, {"trial": "ill:plugin"})
    registry = Registry(entry_points_in(folder))
    assert "ill" not in sys.modules
    served = registry.served["trial.answer"]
    assert isinstance(served.calculator, Reported)
    assert served.calculator.ranges[0].range == {"unit": "kW", "low": 0.0, "high": 1000.0}
    with pytest.raises(TypeError, match="not loaded in this process"):
        registry.lookup("trial.answer")


def test_installing_a_plugin_renames_nothing_and_changes_nothing(folder: Path) -> None:
    before = document_of(Registry(first_party_points()))
    source = sound("acme", struct="Lift")  # a name that ours have too
    install(folder, "a-acme", {"acme": source}, {"acme": "acme:plugin"})
    after = document_of(Registry([*entry_points_in(folder), *first_party_points()]))
    for part in ("paths", ("components", "schemas")):
        old, new = (d[part] if isinstance(part, str) else d[part[0]][part[1]] for d in (before, after))
        assert {k: new[k] for k in old} == old
        assert new.keys() > old.keys()
    new_names = after["components"]["schemas"].keys() - before["components"]["schemas"].keys()
    assert new_names == {"Acme_LiftGiven", "Acme_LiftResults", "Acme_AnswerAnswer"}


def test_no_name_of_ours_can_be_met_by_a_stranger() -> None:
    """Why a third party's components and operations never meet ours: the two rules that keep them apart."""
    registry = Registry(first_party_points())
    components = document_of(registry)["components"]["schemas"]
    assert not [name for name in components if "_" in name]
    ours = [p for p in registry.plugins.values() if isinstance(p, Plugin)]
    assert not two_of_one_name(name for p in ours for c in p.calculators for name in components_of(c))
    own = [e.operation_id for e in all_endpoints(registry) if e.tag not in RESERVED_FAMILIES]
    words = {"".join(itertools.takewhile(str.islower, name)) for name in own}
    assert words <= RESERVED_WORDS


def test_a_denied_plugin_is_not_even_imported(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    install(folder, "coldwright-a", {"of_a": "raise SystemExit('imported')"}, {"alpha": "of_a:plugin"})
    install(folder, "coldwright-b", {"of_b": "raise SystemExit('imported')"}, {"beta": "of_b:plugin"})
    install(folder, "coldwright-c", {"of_c": sound("third")}, {"gamma": "of_c:plugin"})
    monkeypatch.setenv("COLDWRIGHT_PLUGINS_DENIED", "alpha, coldwright-b,,")
    registry = Registry(entry_points_in(folder))
    assert [(f.entry_point, f.state) for f in registry.found] == [
        ("alpha", "denied"),
        ("beta", "denied"),
        ("gamma", "loaded"),
    ]
    assert "of_a" not in sys.modules
    assert "COLDWRIGHT_PLUGINS_DENIED" in registry.why("beta")
    assert registry.served.keys() == {"third.answer"}
    assert Registry(entry_points_in(folder), denied=["gamma"]).why("alpha").startswith("set aside: SystemExit")


def test_a_plugin_that_asks_another_goes_with_it(folder: Path) -> None:
    install(folder, "coldwright-a", {"of_a": sound("one", uses=("two.answer",))}, {"one": "of_a:plugin"})
    install(folder, "coldwright-b", {"of_b": sound("two", uses=("three.answer",))}, {"two": "of_b:plugin"})
    install(folder, "coldwright-c", {"of_c": sound("three", contract=">=9")}, {"three": "of_c:plugin"})
    install(folder, "coldwright-d", {"of_d": sound("four")}, {"four": "of_d:plugin"})
    registry = Registry(entry_points_in(folder))
    assert registry.served.keys() == {"four.answer"}
    assert registry.plugins.keys() == {"four"}
    assert (
        only(registry, "one").reason == "asks calculators that are not served, or run in another container: two.answer"
    )
    assert (
        only(registry, "two").reason
        == "asks calculators that are not served, or run in another container: three.answer"
    )


def once_ready(client: TestClient[Any], seconds: float = 60.0) -> httpx.Response:
    """What readiness answers once the worker of a stranger has started; its last "not ready" when that takes longer."""
    deadline = time.monotonic() + seconds
    while (reply := client.get("/health/ready")).status_code != 200 and time.monotonic() < deadline:
        assert reply.json()["reasons"] == ["the workers of coldwright-well are starting"]
        time.sleep(0.05)
    return reply


@pytest.fixture
def mixed(folder: Path) -> Registry:
    install(folder, "coldwright-bad", {"bad": "import a_library_that_nobody_has"}, {"bad": "bad:plugin"})
    install(folder, "coldwright-well", {"well": sound("well")}, {"well": "well:plugin"}, version="2.5")
    install(folder, "coldwright-no", {"no": sound("no")}, {"no": "no:plugin"})
    return Registry([*entry_points_in(folder), *first_party_points()], denied=["no"])


def test_the_service_answers_what_is_loaded_and_what_is_not_and_why(mixed: Registry, tmp_path: Path) -> None:
    settings = Settings(database_url=f"sqlite:///{tmp_path}/store.sqlite3", engine="inline")
    with TestClient(create_app(settings, mixed)) as client:
        told = client.get("/v1/plugins").json()
        ready = once_ready(client)
        reply = client.post("/v1/calculators/well/answer", json={"power": {"value": 4, "unit": "kW"}})
    by_name: dict[str, dict[str, Any]] = {p["entry_point"]: p for p in told["plugins"]}
    assert told["contract"] == CONTRACT_VERSION
    assert by_name["well"] | {"import_seconds": 0} == {
        "entry_point": "well",
        "target": "well:plugin",
        "distribution": "coldwright-well",
        "distribution_version": "2.5",
        "state": "loaded",
        "stage": "",
        "reason": "",
        "remedy": "",
        "title": "The well answer",
        "contract": ">=1.0,<2",
        "calculators": ["well.answer"],
        "import_seconds": 0,
    }
    assert by_name["bad"]["state"] == "set_aside"
    assert "a_library_that_nobody_has" in by_name["bad"]["reason"]
    assert by_name["no"]["state"] == "denied"
    assert set(RESERVED_FAMILIES) <= by_name.keys()
    assert ready.status_code == 200
    assert reply.json()["results"]["power"]["value"] == 8
    assert reply.json()["calculator"]["plugin"] == "coldwright-well"


def test_not_ready_while_a_required_plugin_is_denied(tmp_path: Path) -> None:
    settings = Settings(
        database_url=f"sqlite:///{tmp_path}/store.sqlite3", engine="inline", plugins_denied="site", workers=1
    )
    with TestClient(create_app(settings)) as client:
        ready = client.get("/health/ready")
        lift = client.get("/v1/calculators/site/lift")
    assert ready.status_code == 503
    assert "plugin site is not served: denied: COLDWRIGHT_PLUGINS_DENIED names it" in ready.json()["reasons"]
    assert lift.status_code == 404
