"""Plants faults in the method, one at a time, and prints which of them no check of the family finds.

    python tests/planted/plant.py                     # 300 at random, others every night
    python tests/planted/plant.py --family site --count 50 --seed 7
    python tests/planted/plant.py --where hydronic/loop/pumps.py   # all of some modules, or `pumps.py:34:`, of a line
    python tests/planted/plant.py --where selection/ --count 60    # at random, those of some modules alone

No file is changed: each fault lives in a process of its own, which runs the reference and property tests of the family
that come by its line until one fails. Survivors that change no answer stand in `harmless.toml`, each with the reason.
Ends with 1 where fewer than 95 % of the others were found.
"""

import argparse
import collections
import datetime
import importlib
import json
import random
import tomllib
from pathlib import Path

import judging
import planting
from judging import Verdict
from planting import Fault

FAMILIES = ("booking", "electrical", "hydronic", "readiness", "refrigeration", "site")
HARMLESS = Path(__file__).with_name("harmless.toml")
AIM = 0.95
USUAL = 300


def harmless() -> dict[str, str]:
    """Why a fault changes no answer, by its name."""
    listed = tomllib.loads(HARMLESS.read_text("utf-8"))["fault"]
    return {f"{one['path']}: {one['line']}: {one['change']}": one["why"] for one in listed}


def chosen(asked: argparse.Namespace) -> list[Fault]:
    every = [fault for family in asked.family or FAMILIES for fault in planting.faults_of(family)]
    if asked.again:
        lines = [json.loads(line) for line in asked.again.read_text("utf-8").splitlines()]
        survived = {(one["path"], one["text"], one["change"]) for one in lines if not one["found"]}
        return [fault for fault in every if (fault.path, fault.text, f"{fault.before} -> {fault.after}") in survived]
    if asked.where:
        every = [fault for fault in every if any(part in f"{fault.path}:{fault.line}:" for part in asked.where)]
    count = asked.count or (len(every) if asked.where else USUAL)
    return every if count >= len(every) else random.Random(asked.seed).sample(every, count)


class Tally:
    """Counts what was found, prints what was not, and keeps both."""

    def __init__(self, log: Path | None) -> None:
        self.log = log
        self.counts: dict[tuple[str, str], list[int]] = collections.defaultdict(lambda: [0, 0])

    def add(self, verdict: Verdict) -> None:
        """One more verdict."""
        fault = verdict.fault
        for key in ((fault.family, "all"), (fault.family, fault.kind), ("all", "all")):
            self.counts[key][0] += bool(verdict.found)
            self.counts[key][1] += 1
        change = f"{fault.before} -> {fault.after}"
        if not verdict.found:
            count = f"{len(verdict.tests)} tests come by" if verdict.tests else "no test comes by"
            print(f"survives   {fault.path}:{fault.line}: {fault.text}: {change} ({count})", flush=True)
        if self.log:
            line = {"path": fault.path, "line": fault.line, "kind": fault.kind, "text": fault.text, "change": change}
            with self.log.open("a", encoding="utf-8") as log:
                log.write(json.dumps(line | {"found": verdict.found, "by": verdict.by}) + "\n")

    def print_all(self) -> None:
        """Each family, each kind of fault, and all."""
        for (family, kind), (good, count) in sorted(self.counts.items()):
            print(f"{family:14}{kind:12}{good:5} of {count:5} found, {good / count:.0%}")

    def reaches(self, aim: float) -> bool:
        """Whether this share was found."""
        good, count = self.counts["all", "all"]
        return count == 0 or good >= aim * count


def main() -> int:
    reader = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    reader.add_argument("--count", type=int, help=f"so many at random; else {USUAL}, or all of a `--where`")
    reader.add_argument("--seed", type=int, default=datetime.datetime.now(datetime.UTC).date().toordinal())
    reader.add_argument("--family", action="append", choices=FAMILIES)
    reader.add_argument("--where", action="append", help="part of path:line: of a module: faults there alone")
    reader.add_argument("--log", type=Path, help="each fault as one line of JSON, as soon as it is judged")
    reader.add_argument("--again", type=Path, help="a log: those that survived there")
    reader.add_argument("--most", type=float, default=float("inf"), help="s of tests for a fault, for a first look")
    reader.add_argument("--reached", type=Path, help="folder where it is kept which tests come by which line")
    asked = reader.parse_args()
    for name in judging.BEFORE:
        importlib.import_module(name)
    known, tally = harmless(), Tally(asked.log)
    planted = chosen(asked)
    for fault in planted:
        if fault.name in known:
            print(f"harmless   {fault.name}: {known[fault.name]}")
    for family in FAMILIES:
        faults = [fault for fault in planted if fault.family == family and fault.name not in known]
        if faults:
            kept = asked.reached / f"{family}.json" if asked.reached else None
            judging.judge(family, faults, kept, asked.most, tally.add)
    tally.print_all()
    print(f"seed {asked.seed}")
    return 0 if tally.reaches(AIM) else 1


if __name__ == "__main__":
    raise SystemExit(main())
