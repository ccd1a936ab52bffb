"""Which tests of a family run through which line of its method, which answers they ask for, and how long each takes."""

import ast
import collections
import functools
import hashlib
import time
from collections.abc import Callable, Collection, Iterable, Iterator
from pathlib import Path
from typing import Any

import msgspec
import pytest
from planting import ROOT, Fault

# what one test has had worked out, the next one of the module takes from there: the line is reached for both
KEEPS = ('scope="module"', 'scope="session"', "cache")
ANSWER = "answer "
"""Begins the name of what comes by a line while an answer is worked out."""


class Question(msgspec.Struct, frozen=True):
    """What `evaluate` was asked, and the digest of what came of it without a fault."""

    calculator: str
    given: str
    plugin: str
    plugin_version: str
    came: str


class Reached(msgspec.Struct):
    """The tests by `path:line`, and the processor time of each test (s).

    An answer is a pure function of its question. A test of answers alone cannot notice a fault that changes none of
    those that it asks for, so lines are kept by question where they were run through for one, and tests with their questions.
    """

    tests: dict[str, list[str]]
    seconds: dict[str, float]
    questions: list[Question] = []
    by_line: dict[str, int] = {}
    """Which of `sets` the questions of a line are: most lines share one."""
    sets: list[list[int]] = []
    asks: dict[str, list[int]] = {}

    def directly(self, fault: Fault, every: Iterable[str]) -> set[str]:
        """Tests that come by a fault otherwise than by asking for an answer, or take what one of their module has had worked
        out in that way.
        """
        known = {test for place in self._places(fault) for test in self.tests.get(place, ())}
        keeping = {module for module in {_module(test) for test in known} if _keeps(module)}
        return known | {test for test in every if _module(test) in keeping}

    def questions_of(self, fault: Fault) -> set[int]:
        """Whose answers come by it."""
        return self._questions_at(self._places(fault))

    def _questions_at(self, places: Iterable[str]) -> set[int]:
        return {one for which in {self.by_line[p] for p in places if p in self.by_line} for one in self.sets[which]}

    def _places(self, fault: Fault) -> list[str]:
        """The lines of the fault; those of the module, or of its folder, where it is worked out at import."""
        if lines := _lines(fault):
            return [f"{fault.path}:{line}" for line in lines]
        module = self._within(f"{fault.path}:")
        few = (
            len({test for place in module for test in self.tests.get(place, ())}) + len(self._questions_at(module)) < 5
        )
        return [*module, *(self._within("/".join(fault.path.split("/")[:3]) + "/") if few else ())]

    def _within(self, beginning: str) -> list[str]:
        return [place for place in {**self.tests, **self.by_line} if place.startswith(beginning)]

    def of(self, fault: Fault, every: Collection[str]) -> list[str]:
        """The tests that a fault can change, those that this record does not know among them.

        Those that are called like the module of the fault come first, then those that work answers out anew, and of the
        others the quickest module.
        """
        asked = self.questions_of(fault)
        known = self.directly(fault, every) | {test for test, those in self.asks.items() if not asked.isdisjoint(those)}
        chosen = [test for test in every if test in known or test not in self.seconds]
        of_module: dict[str, float] = collections.defaultdict(float)
        for test in chosen:
            of_module[_module(test)] += self.seconds.get(test, 0.0)
        about = Path(fault.path).stem.rstrip("s")

        def strength(test: str) -> tuple[bool, bool, float, str]:
            module = _module(test)
            return about not in module, not module.startswith("tests/reference/"), of_module[module], module

        return sorted(chosen, key=strength)


def _module(test: str) -> str:
    return test.split("::", maxsplit=1)[0]


@functools.cache
def _keeps(module: str) -> bool:
    source = (ROOT / module).read_text("utf-8")
    return any(sign in source for sign in KEEPS)


@functools.cache
def _tree(path: str) -> ast.Module:
    return ast.parse((ROOT / path).read_text("utf-8"))


def _lines(fault: Fault) -> range:
    """Those of the innermost statement of a function around it; none for what is worked out at import."""
    best = range(0)

    def look(node: ast.AST, inside: bool) -> None:
        nonlocal best
        for child in ast.iter_child_nodes(node):
            if inside and isinstance(child, ast.stmt) and child.lineno <= fault.line <= (child.end_lineno or 0):
                body = getattr(child, "body", None)
                last = body[0].lineno - 1 if body else child.end_lineno
                best = range(child.lineno, max(child.lineno, last or 0) + 1)
            if isinstance(child, ast.ClassDef):
                look(child, False)
            elif isinstance(child, ast.FunctionDef):
                for statement in child.body:
                    look(ast.Module([statement], []), True)
            else:
                look(child, inside)

    look(_tree(fault.path), False)
    return best


class Answers:
    """In place of `evaluate`: an answer of a process is worked out once, and who asks for which is noted."""

    def __init__(self, known: list[Question] | None = None) -> None:
        from coldwright.contract import evaluation
        from coldwright.registry import Registry

        self.evaluate = evaluation.evaluate
        self._before = self.evaluate
        self.canonical = evaluation.canonical
        self.registry = Registry().take_all_in()
        self.questions = [] if known is None else known
        self.asked_for: Callable[[int], None] = lambda _: None
        self.around: Callable[[str], object] = lambda _: None
        self.anew = False
        """Whether what is asked now is worked out each time, as of a test that changes the method itself."""
        self._numbers = {_spelt(question): number for number, question in enumerate(self.questions)}
        self._came: dict[int, Any] = {}

    def __enter__(self) -> "Answers":
        from coldwright.contract import evaluation

        self._before = evaluation.evaluate
        evaluation.evaluate = self
        return self

    def __exit__(self, *_: object) -> None:
        from coldwright.contract import evaluation

        evaluation.evaluate = self._before

    def __call__(self, calculator: Any, given: Any, **more: Any) -> Any:
        """As `evaluate` does it."""
        if self.anew or not more.get("plugin"):  # the latter is not an installed one
            return self.evaluate(calculator, given, **more)
        text = self.canonical(given).decode()
        question = Question(calculator.pinned, text, more["plugin"], more["plugin_version"], "")
        number = self._numbers.setdefault(_spelt(question), len(self.questions))
        if new := number == len(self.questions):
            self.questions.append(question)
        self.asked_for(number)
        if number not in self._came:
            self.around(f"{ANSWER}{number}")
            try:
                self._came[number] = self._worked_out(calculator, given, **more)
            finally:
                self.around("")
            if new:
                self.questions[number] = msgspec.structs.replace(question, came=_digest(self._came[number]))
        kept = self._came[number]
        if isinstance(kept, BaseException):
            raise kept.with_traceback(None)
        return kept

    def _worked_out(self, calculator: Any, given: Any, **more: Any) -> Any:
        from coldwright.contract import Refused

        try:
            return self.evaluate(calculator, given, **more)
        except Refused as refused:
            return refused

    def changed(self, number: int) -> bool:
        """Whether the answer is another one now; it is kept for the tests that ask for it."""
        from coldwright.contract.decoders import decoder_of

        question = self.questions[number]
        if number not in self._came:
            calculator = self.registry.lookup(question.calculator)
            given = decoder_of(calculator.given).decode(question.given.encode())
            registry = {"lookup": self.registry.lookup, "origin": self.registry.origin}
            came_from = {"plugin": question.plugin, "plugin_version": question.plugin_version}
            try:
                self._came[number] = self._worked_out(calculator, given, **came_from, **registry)
            except Exception:
                return True
        return _digest(self._came[number]) != question.came


def changes_the_method(item: Any) -> bool:
    """Whether a test may put something else into a module: the same question then has another answer."""
    return "monkeypatch" in getattr(item, "fixturenames", ())


def _spelt(question: Question) -> bytes:
    parts = (question.calculator, question.plugin, question.plugin_version, question.given)
    return hashlib.sha256("\n".join(parts).encode()).digest()


def _digest(came: Any) -> str:
    """Of an answer, or of a refusal with all that it says."""
    from coldwright.contract import Refused
    from coldwright.contract.answer import to_json

    try:
        text = msgspec.json.encode(came.errors) if isinstance(came, Refused) else to_json(came)
    except Exception as error:
        text = repr(error).encode()
    return hashlib.sha256(text).hexdigest()


class _OfFixtures:
    """Questions that a fixture asks for several tests are those of all of them."""

    def __init__(self) -> None:
        self.asks: dict[int, list[int]] = collections.defaultdict(list)
        self.now: list[int] = []

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any) -> Iterator[None]:
        """While it is made."""
        self.now.append(id(fixturedef))
        try:
            return (yield)
        finally:
            self.now.pop()

    def of(self, item: Any) -> Iterator[int]:
        """All questions of the fixtures of a test."""
        for definitions in item._fixtureinfo.name2fixturedefs.values():
            for definition in definitions:
                yield from self.asks.get(id(definition), ())


def recorded(session: pytest.Session, family: str) -> Reached:
    """Runs every test of the session once, under `coverage`, which notes the line and the test that came by."""
    import coverage

    sources = str(ROOT / "plugins" / f"coldwright_{family}" / "*")
    watching = coverage.Coverage(data_file=None, include=[sources], config_file=False, messages=False)
    seconds: dict[str, float] = {}
    asks: dict[str, list[int]] = collections.defaultdict(list)
    running, fixtures = "", _OfFixtures()

    def asked_for(number: int) -> None:
        asks[running].append(number)
        for fixture in fixtures.now:
            fixtures.asks[fixture].append(number)

    session.config.pluginmanager.register(fixtures)
    with Answers() as answers:
        answers.asked_for = asked_for
        watching.start()
        answers.around = lambda name: watching.switch_context(name or running)
        for item, following in zip(session.items, [*session.items[1:], None], strict=True):
            running, answers.anew = item.nodeid, changes_the_method(item)
            watching.switch_context(running)
            begun = time.process_time()
            item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
            seconds[running] = time.process_time() - begun
            if session.testsfailed:
                raise RuntimeError(f"{running} fails without any fault: nothing can be learned from it")
        watching.stop()
    asked = {item.nodeid: list(dict.fromkeys((*asks[item.nodeid], *fixtures.of(item)))) for item in session.items}
    of_module: dict[str, dict[int, None]] = collections.defaultdict(dict)
    for test, those in asked.items():
        of_module[_module(test)].update(dict.fromkeys(those))
    asked = {test: list(of_module[_module(test)]) if _keeps(_module(test)) else those for test, those in asked.items()}
    tests: dict[str, list[str]] = {}
    by_line: dict[str, int] = {}
    sets: dict[tuple[int, ...], int] = {}
    data = watching.get_data()
    for file in data.measured_files():
        for line, by in data.contexts_by_lineno(file).items():
            place, names = f"{Path(file).relative_to(ROOT)}:{line}", set(by) - {""}
            numbers = tuple(sorted(int(name.removeprefix(ANSWER)) for name in names if name.startswith(ANSWER)))
            tests[place] = sorted(name for name in names if not name.startswith(ANSWER))
            by_line[place] = sets.setdefault(numbers, len(sets))
    return Reached(tests, seconds, answers.questions, by_line, [list(one) for one in sets], asked)
