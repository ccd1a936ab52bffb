"""Plants faults in the method, one at a time, and prints which of them no check of the family finds.

    python tests/planted/plant.py                     # 300 at random, others every night
    python tests/planted/plant.py --family site --count 50 --seed 7
    python tests/planted/plant.py --where hydronic/loop/pumps.py   # all of some modules

No file is changed: each fault lives in a process of its own, which reads the module with the fault in it and runs the
reference and property tests of its family until one fails. Survivors that change no answer stand in `harmless.toml`,
each with the reason. Ends with 1 where fewer than 95 % of the others were found.
"""

import argparse
import collections
import datetime
import functools
import importlib.abc
import importlib.machinery
import importlib.util
import json
import multiprocessing
import os
import random
import re
import sys
import tomllib
from collections.abc import Sequence
from importlib.machinery import ModuleSpec
from pathlib import Path
from types import CodeType, ModuleType

import planting
from planting import ROOT, Fault

FAMILIES = ("electrical", "hydronic", "readiness", "refrigeration", "site")
TESTS = ROOT / "tests"
HARMLESS = Path(__file__).with_name("harmless.toml")
AIM = 0.95
KIT = (
    ("test_first_party.py", "test_it_keeps_the_contract_when_it_runs"),
    ("test_first_party.py", "test_its_sentences_follow_the_units_that_are_asked_for"),
    ("test_by_hand.py", "test_its_working_comes_to_its_values"),
)
NOT_OF_PLANS = KIT[2:]  # a plan's working is that of many answers
QUICK_OF_PLANS = ("test_assessment", "test_demo", "test_findings")
LONGEST = 300.0  # s; what runs longer than any run without a fault has been found
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


class _Loader(importlib.machinery.SourceFileLoader):
    def __init__(self, fault: Fault) -> None:
        super().__init__(fault.module, str(ROOT / fault.path))
        self.fault = fault

    def get_code(self, _fullname: str) -> CodeType:
        path = ROOT / self.fault.path
        return compile(planting.with_fault(self.fault, path.read_text()), str(path), "exec")


class _Finder(importlib.abc.MetaPathFinder):
    """Finds one module before anybody else does."""

    def __init__(self, fault: Fault) -> None:
        self.fault = fault

    def find_spec(
        self, fullname: str, _path: Sequence[str] | None = None, _target: ModuleType | None = None, /
    ) -> ModuleSpec | None:
        if fullname != self.fault.module:
            return None
        return importlib.util.spec_from_file_location(fullname, ROOT / self.fault.path, loader=_Loader(self.fault))


class _NoShrinking:
    """One failing example is enough; a smaller one takes minutes."""

    @staticmethod
    def pytest_configure() -> None:
        import hypothesis

        usual = hypothesis.settings.get_profile("ordinary")
        phases = [hypothesis.Phase.explicit, hypothesis.Phase.generate]
        hypothesis.settings.register_profile("planted", parent=usual, phases=phases)
        hypothesis.settings.load_profile("planted")


def tests_of(fault: Fault, *, near: bool) -> list[str]:
    """The tests of the family, those of the calculator first, and what the kit asks of the calculator.

    `near` leaves out those that never ask the calculator, for a first look. A plan is one calculator of many folders:
    all tests of its family ask it, those named like the module with the fault first.
    """
    calculator = fault.path.split("/")[2]
    if fault.family == "booking":
        return [
            *(str(module) for module in _of_plans(fault)),
            *(_of_the_kit(f"booking.{calculator}") or _of_the_kit("booking.assessment")),
        ]
    folders = [TESTS / kind / fault.family for kind in ("reference", "properties")]
    modules = sorted(module for folder in folders for module in folder.glob("test_*.py"))
    own = "start" if calculator == "startup" else calculator
    first = (f"test_{own}", "test_edges", "test_recomputed")
    asks = f"{fault.family}.{calculator}"
    rank = {m: 0 if m.stem.startswith(first) else 1 if asks in m.read_text("utf-8") else 2 for m in modules}
    modules.sort(key=rank.__getitem__)
    if near and calculator != "shared":
        modules = [module for module in modules if rank[module] < 2]
    return [*(str(module) for module in modules), *_of_the_kit(f"{fault.family}.{calculator}")]


def _of_plans(fault: Fault) -> list[Path]:
    about = re.sub(r"s?_.*|s$", "", Path(fault.path).stem)
    modules = sorted(
        module for kind in ("properties", "reference") for module in (TESTS / kind / "booking").glob("test_*.py")
    )
    return sorted(modules, key=lambda module: (about not in module.stem, module.stem not in QUICK_OF_PLANS))


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


def _child(fault: Fault, near: bool, answers: "multiprocessing.queues.SimpleQueue[int]") -> None:
    import pytest

    with Path(os.devnull).open("w") as nowhere:
        os.dup2(nowhere.fileno(), 1)
        os.dup2(nowhere.fileno(), 2)
    sys.meta_path.insert(0, _Finder(fault))
    asked = [
        "-q",
        "-x",
        "--assert=plain",
        "--tb=no",
        "-p",
        "no:xdist",
        "-p",
        "no:schemathesis",
        *tests_of(fault, near=near),
    ]
    answers.put(int(pytest.main(asked, plugins=[_NoShrinking])))


def found(fault: Fault, near: bool = False) -> bool:
    """Whether a test of the family fails, or never ends, with the fault in the method."""
    forking = multiprocessing.get_context("fork")
    answers = forking.SimpleQueue()
    child = forking.Process(target=_child, args=(fault, near, answers))
    child.start()
    child.join(LONGEST)
    if child.is_alive():
        child.kill()
        child.join()
        return True
    return answers.empty() or answers.get() != 0


def import_others(families: set[str]) -> None:
    """Plugins without a fault, once for all: only plans import other families than their own."""
    for family in FAMILIES:
        if family not in families:
            importlib.import_module(f"coldwright_{family}")


def harmless() -> dict[str, str]:
    """Why a fault changes no answer, by its name."""
    listed = tomllib.loads(HARMLESS.read_text())["fault"]
    return {f"{one['path']}: {one['line']}: {one['change']}": one["why"] for one in listed}


def chosen(asked: argparse.Namespace) -> list[Fault]:
    every = [fault for family in asked.family or FAMILIES for fault in planting.faults_of(family)]
    if asked.again:
        lines = [json.loads(line) for line in asked.again.read_text().splitlines()]
        survived = {(one["path"], one["text"], one["change"]) for one in lines if not one["found"]}
        return [fault for fault in every if (fault.path, fault.text, f"{fault.before} -> {fault.after}") in survived]
    if asked.where:
        return [fault for fault in every if any(part in fault.path for part in asked.where)]
    return random.Random(asked.seed).sample(every, min(asked.count, len(every)))


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--count", type=int, default=300)
    reader.add_argument("--seed", type=int, default=datetime.datetime.now(datetime.UTC).date().toordinal())
    reader.add_argument("--family", action="append", choices=(*FAMILIES, "booking"))
    reader.add_argument("--where", action="append", help="part of a module's path: all of its faults")
    reader.add_argument("--log", type=Path, help="each fault as one line of JSON, as soon as it is judged")
    reader.add_argument("--near", action="store_true", help="by the tests of the calculator alone, for a first look")
    reader.add_argument("--again", type=Path, help="a log: those that survived there")
    asked = reader.parse_args()
    for name in BEFORE:
        importlib.import_module(name)
    known = harmless()
    planted = chosen(asked)
    import_others({fault.family for fault in planted})
    for family in sorted({fault.family for fault in planted}):
        if found(next(fault for fault in planted if fault.family == family).none()):
            print(f"the tests of {family} fail without any fault: nothing can be learned from them")
            return 1
    tally: dict[tuple[str, str], list[int]] = collections.defaultdict(lambda: [0, 0])
    for fault in planted:
        if fault.name in known:
            print(f"harmless   {fault.name}: {known[fault.name]}", flush=True)
            continue
        seen = found(fault, asked.near)
        for key in ((fault.family, "all"), (fault.family, fault.kind), ("all", "all")):
            tally[key][0] += seen
            tally[key][1] += 1
        if not seen:
            print(f"survives   {fault.path}:{fault.line}: {fault.text}: {fault.before} -> {fault.after}", flush=True)
        if asked.log:
            line = {"path": fault.path, "line": fault.line, "kind": fault.kind, "text": fault.text}
            line |= {"change": f"{fault.before} -> {fault.after}", "found": seen}
            with asked.log.open("a") as log:
                log.write(json.dumps(line) + "\n")
    for (family, kind), (good, count) in sorted(tally.items()):
        print(f"{family:14}{kind:12}{good:5} of {count:5} found, {good / count:.0%}")
    good, count = tally["all", "all"]
    print(f"seed {asked.seed}")
    return 0 if count == 0 or good >= AIM * count else 1


if __name__ == "__main__":
    raise SystemExit(main())
