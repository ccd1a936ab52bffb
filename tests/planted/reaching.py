"""Which tests of a family run through which line of its method, and how long each takes."""

import ast
import collections
import functools
import time
from collections.abc import Collection
from pathlib import Path

import msgspec
import pytest
from planting import ROOT, Fault

# what one test has had worked out, the next one of the module takes from there: the line is reached for both
KEEPS = ('scope="module"', 'scope="session"', "cache")


class Reached(msgspec.Struct):
    """The tests by `path:line`, and the processor time of each test (s)."""

    tests: dict[str, list[str]]
    seconds: dict[str, float]

    def of(self, fault: Fault, every: Collection[str]) -> list[str]:
        """The tests that a fault can change, those that this record does not know among them: the quickest module first."""
        lines = _lines(fault)
        known = {test for line in lines for test in self.tests.get(f"{fault.path}:{line}", ())}
        if not lines:  # worked out at import
            known = {
                test for place, tests in self.tests.items() if place.startswith(f"{fault.path}:") for test in tests
            }
        if not lines and len(known) < 5:
            folder = "/".join(fault.path.split("/")[:3]) + "/"
            known |= {test for place, tests in self.tests.items() if place.startswith(folder) for test in tests}
        modules = {_module(test) for test in known}
        sharing = {str(Path(module).parent) for module in modules if _shares(module)}
        keeping = {module for module in modules if _keeps(module)}
        keeping |= {module for module in map(_module, every) if str(Path(module).parent) in sharing and _shares(module)}
        chosen = [test for test in every if test in known or test not in self.seconds or _module(test) in keeping]
        of_module: dict[str, float] = collections.defaultdict(float)
        for test in chosen:
            of_module[_module(test)] += self.seconds.get(test, 0.0)
        about = Path(fault.path).stem.rstrip("s")
        return sorted(chosen, key=lambda test: (about not in _module(test), of_module[_module(test)], _module(test)))


def _module(test: str) -> str:
    return test.split("::", maxsplit=1)[0]


@functools.cache
def _keeps(module: str) -> bool:
    source = (ROOT / module).read_text("utf-8")
    return any(sign in source for sign in KEEPS)


@functools.cache
def _shares(module: str) -> bool:
    """Whether it takes what the `conftest.py` beside it keeps: what one module has had worked out, the others take."""
    beside = (ROOT / module).with_name("conftest.py")
    if not beside.exists() or not _keeps(str(beside.relative_to(ROOT))):
        return False
    made = [one.name for one in ast.parse(beside.read_text("utf-8")).body if isinstance(one, ast.FunctionDef)]
    taken = {
        given.arg
        for one in ast.walk(ast.parse((ROOT / module).read_text("utf-8")))
        if isinstance(one, ast.FunctionDef)
        for given in one.args.args
    }
    return not taken.isdisjoint(made)


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


def recorded(session: pytest.Session, family: str) -> Reached:
    """Runs every test of the session once, under `coverage`, which notes the line and the test that came by."""
    import coverage

    sources = str(ROOT / "plugins" / f"coldwright_{family}" / "*")
    watching = coverage.Coverage(data_file=None, include=[sources], config_file=False, messages=False)
    seconds: dict[str, float] = {}
    watching.start()
    for item, following in zip(session.items, [*session.items[1:], None], strict=True):
        watching.switch_context(item.nodeid)
        begun = time.process_time()
        item.config.hook.pytest_runtest_protocol(item=item, nextitem=following)
        seconds[item.nodeid] = time.process_time() - begun
        if session.testsfailed:
            raise RuntimeError(f"{item.nodeid} fails without any fault: nothing can be learned from it")
    watching.stop()
    data = watching.get_data()
    tests: dict[str, list[str]] = {}
    for file in data.measured_files():
        for line, by in data.contexts_by_lineno(file).items():
            tests[f"{Path(file).relative_to(ROOT)}:{line}"] = sorted(set(by) - {""})
    return Reached(tests, seconds)
