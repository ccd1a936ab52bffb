"""Places a fault: into a process that reads the module later, or into the functions of one that has read it already."""

import ast
import functools
import gc
import importlib.abc
import importlib.machinery
import importlib.util
import sys
from collections.abc import Iterator, Sequence
from importlib.machinery import ModuleSpec
from types import CodeType, FunctionType, ModuleType
from typing import Literal

import planting
from planting import ROOT, Fault

Key = tuple[str, int]


class _Loader(importlib.machinery.SourceFileLoader):
    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.module, str(ROOT / fault.path))
        self.fault = fault

    def get_code(self, _fullname: str) -> CodeType:
        return _compiled(self.fault)


class Finder(importlib.abc.MetaPathFinder):
    """Finds one module before anybody else does."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault

    def find_spec(
        self, fullname: str, _path: Sequence[str] | None = None, _target: ModuleType | None = None, /
    ) -> ModuleSpec | None:
        if fullname != self.fault.module:
            return None
        return importlib.util.spec_from_file_location(fullname, ROOT / self.fault.path, loader=_Loader(self.fault))


def before_it_is_read(fault: Fault) -> None:
    """In a process that has not yet imported the module of the fault."""
    sys.meta_path.insert(0, Finder(fault))


def into_what_is_read(fault: Fault) -> Literal["functions", "constant", ""]:
    """Into the functions, or the constant, of a module that is imported; nowhere where that cannot be done.

    Importing the family and collecting its tests takes seconds, for each fault anew. Functions carry their code as an
    attribute that can be set, so a process that has collected all tests is forked and its functions get the code with
    the fault: 300 faults take a tenth of the time. What stands in the body of a class, in a default or in what other
    constants are made of has been worked out at import: it cannot be changed here. Who finds no fault in a constant asks
    again in a process that has not read it.
    """
    if fault.module not in sys.modules:
        before_it_is_read(fault)
        return "functions"
    changed: Literal["functions", "constant", ""] = ""
    if into_functions(fault):
        changed = "functions"
    elif into_constant(fault):
        changed = "constant"
    for one in gc.get_objects():  # answers that were kept at import were worked out without the fault
        if changed and isinstance(one, functools._lru_cache_wrapper) and not _of_types(one):
            one.cache_clear()
    return changed


def _of_types(kept: "functools._lru_cache_wrapper[object]") -> bool:
    """Whether it keeps what hangs on types alone: those of the contract and of Python take half a second to fill anew."""
    root = kept.__module__.split(".")[0]
    return root == "coldwright" or root in sys.stdlib_module_names


def into_functions(fault: Fault) -> bool:
    """Gives the functions of the module the code with the fault."""
    changed, living = _changed(fault), _living(fault)
    if not changed or not all(_outermost(key) in {_outermost(of) for of in living} for key in changed):
        return False
    codes = dict(_codes(_compiled(fault)))
    for key, functions in living.items():
        for function in functions:
            function.__code__ = codes[key]
    return True


def into_constant(fault: Fault) -> bool:
    """Works out the statement of a module's constant with the fault, for all modules that have imported it."""
    module = sys.modules[fault.module]
    statements = planting.with_fault(fault, (ROOT / fault.path).read_text("utf-8")).body
    here = [one for one in statements if one.lineno <= fault.line <= (one.end_lineno or one.lineno)]
    if _changed(fault) or not all(isinstance(one, ast.Assign | ast.AnnAssign) for one in here):
        return False
    space = dict(vars(module))
    exec(compile(ast.Module(here, []), str(ROOT / fault.path), "exec"), space)
    names = [name for name in vars(module) if space[name] is not vars(module)[name]]
    for name in names:
        before = vars(module)[name]
        for other in [one for one in sys.modules.values() if vars(one).get(name) is before]:
            setattr(other, name, space[name])
    return bool(names)


def _compiled(fault: Fault) -> CodeType:
    path = ROOT / fault.path
    return compile(planting.with_fault(fault, path.read_text("utf-8")), str(path), "exec")


def _codes(code: CodeType) -> Iterator[tuple[Key, CodeType]]:
    """Of every function in it, by its name and first line: two of one name on a line are taken apart by their order."""
    for constant in code.co_consts:
        if isinstance(constant, CodeType):
            yield (constant.co_qualname, constant.co_firstlineno), constant
            yield from _codes(constant)


def _changed(fault: Fault) -> list[Key]:
    """The functions in which the fault stands."""
    sound, faulty = list(_codes(_compiled(fault.none()))), list(_codes(_compiled(fault)))
    if len({key for key, _ in sound}) < len(sound):  # which of two lambdas on a line lives cannot be seen
        twice = [key for key, _ in sound]
        sound = [pair for pair in sound if twice.count(pair[0]) == 1]
        faulty = [pair for pair in faulty if twice.count(pair[0]) == 1]
    return [key for (key, one), (_, other) in zip(sound, faulty, strict=True) if _shallow(one) != _shallow(other)]


def _shallow(code: CodeType) -> tuple[object, ...]:
    return code.co_code, [repr(one) for one in code.co_consts if not isinstance(one, CodeType)], code.co_names


def _outermost(key: Key) -> str:
    return key[0].split(".<locals>")[0]


def _living(fault: Fault) -> dict[Key, list[FunctionType]]:
    path = str(ROOT / fault.path)
    living: dict[Key, list[FunctionType]] = {}
    for one in gc.get_objects():
        if type(one) is FunctionType and one.__code__.co_filename == path:
            living.setdefault((one.__code__.co_qualname, one.__code__.co_firstlineno), []).append(one)
    once = [key for key, _ in _codes(_compiled(fault.none()))]
    return {key: functions for key, functions in living.items() if once.count(key) == 1}
