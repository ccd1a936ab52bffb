"""Judges faults: a process that has collected the tests of a family forks for each of them."""

import dataclasses
import functools
import os
import select
import signal
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

import placing
import pytest
import reaching
from planting import ROOT, Fault
from reaching import Answers, Reached

TESTS = ROOT / "tests"
KIT = (
    ("test_first_party.py", "test_it_keeps_the_contract_when_it_runs"),
    ("test_first_party.py", "test_its_sentences_follow_the_units_that_are_asked_for"),
    ("test_by_hand.py", "test_its_working_comes_to_its_values"),
)
NOT_OF_PLANS = KIT[2:]  # a plan's working is that of many answers
SHEETS = {"booking": ("pages/test_crew_sheet.py",)}  # what a sheet of a family chooses of an answer is method too
OPTIONS = ("-q", "--assert=plain", "--tb=no", "-p", "no:xdist", "-p", "no:schemathesis", "-p", "no:cacheprovider")
# imported once, and by no module of ours at discovery: each process begins with them
BEFORE = (
    "pytest",
    "hypothesis",
    "numpy",
    "scipy.optimize",
    "scipy.linalg",
    "networkx",
    "shapely",
    "fluids",
    "CoolProp",
)


@dataclasses.dataclass(frozen=True)
class Verdict:
    """Whether a fault was found, by which test, and how many run through its line; `found` is None where it must be
    placed before the module is read."""

    fault: Fault
    found: bool | None
    by: str
    tests: Sequence[str]


def tests_of(family: str) -> list[str]:
    """Modules and single tests: those of the family, and what the kit asks of each of its calculators."""
    folders = [TESTS / kind / family for kind in ("reference", "properties")]
    modules = [str(module) for folder in folders for module in sorted(folder.glob("test_*.py"))]
    plugin = ROOT / "plugins" / f"coldwright_{family}"
    calculators = sorted(folder.name for folder in plugin.iterdir() if (folder / "__init__.py").exists())
    modules += [str(TESTS / sheet) for sheet in SHEETS.get(family, ())]
    return [*modules, *(test for calculator in calculators for test in _of_the_kit(f"{family}.{calculator}"))]


def _of_the_kit(calculator: str) -> list[str]:
    """The kit runs the examples of a calculator, and compares each figure of a sentence with the numbers of the answer."""
    kit = TESTS / "conformance"
    served = f'"/v1/calculators/{calculator.replace(".", "/")}"' in _document()
    asked = [one for one in KIT if not (calculator.startswith("booking.") and one in NOT_OF_PLANS)]
    return [f"{kit / module}::{name}[{calculator}]" for module, name in asked] if served else []


@functools.cache
def _document() -> str:
    """It names every calculator that is served; importing them here would keep their faults out."""
    return (ROOT / "openapi" / "v1.json").read_text("utf-8")


class _NoShrinking:
    """One failing example is enough; a smaller one takes minutes."""

    @staticmethod
    def pytest_configure() -> None:
        import hypothesis

        usual = hypothesis.settings.get_profile("ordinary")
        phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]
        hypothesis.settings.register_profile("planted", parent=usual, phases=phases)
        hypothesis.settings.load_profile("planted")


class Judge:
    """In place of running the tests once, runs for each fault those that come by its line."""

    def __init__(
        self,
        family: str,
        faults: Sequence[Fault],
        kept: Path,
        most: float,
        tell: Callable[[Verdict], None],
        *,
        placed: bool = False,
    ) -> None:
        self.family, self.faults, self.kept, self.most, self.tell = family, faults, kept, most, tell
        self.placed = placed
        """Whether the one fault is in the modules already."""
        self.failed = ""

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Notes the last line of what a failing test says."""
        if report.failed:
            said = str(report.longrepr).strip().splitlines()
            self.failed = f"{report.nodeid}: {said[-1] if said else report.when}"

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Takes the place of pytest's own loop."""
        if session.testsfailed:
            raise pytest.UsageError(f"the tests of {self.family} cannot be collected")
        reached = _reached(session, self.family, self.kept)
        items = {item.nodeid: item for item in session.items}
        answers = Answers(reached.questions)
        for fault in self.faults:
            tests = list(_within(self.most, reached.of(fault, items), reached))
            longest = 30.0 + 10.0 * sum(reached.seconds.get(test, 1.0) for test in tests)
            work = functools.partial(self.run_with, fault, [items[test] for test in tests], reached, answers)
            answer = _answered(work, longest)
            self.tell(Verdict(fault, {"found": True, "survives": False}.get(answer[0]), answer[1], tests))
        return True

    def run_with(
        self, fault: Fault, items: Sequence[pytest.Item], reached: Reached, answers: Answers
    ) -> tuple[str, str]:
        """In a fork: plants the fault and runs the tests until one fails."""
        placed = "functions" if self.placed else placing.into_what_is_read(fault)
        if not placed:
            return "at import", ""
        directly = reached.directly(fault, [item.nodeid for item in items])
        questions, changed = reached.questions_of(fault), 0
        with answers:
            for item in items:
                asked = [one for one in reached.asks.get(item.nodeid, ()) if one in questions]
                differ = any(answers.changed(one) for one in asked)
                if not differ and item.nodeid in reached.seconds and item.nodeid not in directly:
                    continue  # it asks for nothing that the fault changes
                changed += differ
                answers.anew = reaching.changes_the_method(item)
                item.session._setupstate.teardown_exact(item)  # what the test before has left to those of its module
                beside = next((one for one in items if one.parent is item.parent and one is not item), None)
                item.config.hook.pytest_runtest_protocol(item=item, nextitem=beside)
                if self.failed:
                    return "found", self.failed
        return "at import" if placed == "constant" else "survives", f"{changed} tests ask for an answer that it changes"


def _within(most: float, tests: Sequence[str], reached: Reached) -> Iterator[str]:
    """The quickest, as long as they take less than so many seconds together."""
    total = 0.0
    for test in sorted(tests, key=lambda test: reached.seconds.get(test, 0.0)) if most < float("inf") else tests:
        total += reached.seconds.get(test, 0.0)
        if total <= most:
            yield test


def _reached(session: pytest.Session, family: str, kept: Path) -> Reached:
    import msgspec

    if not kept.exists():
        answer = _answered(functools.partial(_record, session, family), 7200.0)
        if answer[0] != "recorded":
            raise pytest.UsageError(answer[1])
        kept.write_text(answer[1], "utf-8")
    return msgspec.json.decode(kept.read_bytes(), type=Reached)


def _record(session: pytest.Session, family: str) -> tuple[str, str]:
    import msgspec

    return "recorded", msgspec.json.encode(reaching.recorded(session, family)).decode()


def _answered(work: Callable[[], tuple[str, str]], longest: float) -> tuple[str, str]:
    """What a fork answers; what dies or never ends has found the fault."""
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _be_silent()
        try:
            kind, text = work()
        except BaseException as error:
            kind, text = "found", f"{type(error).__name__}: {error}"
        with os.fdopen(writing, "w", encoding="utf-8") as answer:
            answer.write(f"{kind}\n{text}")
        os._exit(0)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as answer:
        if not select.select([answer], [], [], longest)[0]:
            os.kill(child, signal.SIGKILL)
        kind, _, text = answer.read().partition("\n")
    os.waitpid(child, 0)
    return (kind, text) if kind else ("found", "it never ends")


def _be_silent() -> None:
    with Path(os.devnull).open("w") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)


def judge(
    family: str, faults: Sequence[Fault], kept: Path | None, most: float, tell: Callable[[Verdict], None]
) -> None:
    """Tells the verdict on each fault, in a process whose modules of the family are sound."""
    with tempfile.TemporaryDirectory() as folder:
        _judge(family, faults, kept or Path(folder) / "reached.json", most, tell)


def _judge(family: str, faults: Sequence[Fault], kept: Path, most: float, tell: Callable[[Verdict], None]) -> None:
    later: list[Verdict] = []
    reading, writing = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(reading)
        _be_silent()
        _warm(family, faults, kept, most, writing)
    os.close(writing)
    with os.fdopen(reading, encoding="utf-8") as answers:
        for line in answers:
            verdict = _of_line(line, faults)
            (tell if verdict.found is not None else later.append)(verdict)
    if os.waitpid(child, 0)[1]:
        raise RuntimeError(f"the tests of {family} could not be run")
    for verdict in later:
        answer = _answered(functools.partial(_run_anew, verdict.fault, verdict.tests, kept, most), 1200.0)
        tell(dataclasses.replace(verdict, found=answer[0] == "found", by=answer[1]))


def _warm(family: str, faults: Sequence[Fault], kept: Path, most: float, writing: int) -> None:
    import msgspec

    numbers = {fault: number for number, fault in enumerate(faults)}
    with os.fdopen(writing, "w", encoding="utf-8") as answers:

        def tell(verdict: Verdict) -> None:
            line = [numbers[verdict.fault], verdict.found, verdict.by, list(verdict.tests)]
            answers.write(msgspec.json.encode(line).decode() + "\n")
            answers.flush()

        plugins = [_NoShrinking(), Judge(family, faults, kept, most, tell)]
        ended = pytest.main([*OPTIONS, "--no-summary", f"--rootdir={ROOT}", *tests_of(family)], plugins=plugins)
    os._exit(0 if ended in (pytest.ExitCode.OK, pytest.ExitCode.NO_TESTS_COLLECTED) else 1)


def _of_line(line: str, faults: Sequence[Fault]) -> Verdict:
    import msgspec

    number, found, by, tests = msgspec.json.decode(line)
    return Verdict(faults[number], found, by, tests)


class _Only:
    """Of what was collected, these tests."""

    def __init__(self, tests: Sequence[str]) -> None:
        self.tests = set(tests)

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        items[:] = [item for item in items if item.nodeid in self.tests]


def _run_anew(fault: Fault, tests: Sequence[str], kept: Path, most: float) -> tuple[str, str]:
    """In a process that has not read the module of the fault; one in which it cannot even be read has found it."""
    placing.before_it_is_read(fault)
    modules = sorted({str(ROOT / test.split("::", maxsplit=1)[0]) for test in tests})
    told: list[Verdict] = []
    plugins = [_NoShrinking(), _Only(tests), Judge(fault.family, [fault], kept, most, told.append, placed=True)]
    pytest.main([*OPTIONS, f"--rootdir={ROOT}", *modules], plugins=plugins)
    if not told:
        return "found", "its tests cannot be collected"
    return ("found" if told[0].found else "survives"), told[0].by
