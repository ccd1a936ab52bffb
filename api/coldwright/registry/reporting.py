"""Makes the report of a stranger's plugin. Runs its code: so it is called in a process of its own, never in the service."""

import time
from collections.abc import Iterator
from typing import Any

import msgspec

from coldwright.contract import Calculator, Plugin, Quantity
from coldwright.contract.walk import all_structs, fields_of
from coldwright.registry.answers import answer_type
from coldwright.registry.components import Components
from coldwright.registry.entry import Entry
from coldwright.registry.load_checks import faults_of
from coldwright.registry.loading import SetAside, load, refuse_broken
from coldwright.registry.names import answer_name, component_name
from coldwright.registry.reported import RangeEntry, Report, Reported, ReportedKind, ReportedPlugin
from coldwright.registry.rules import names_of, shown


def report(entry: Entry) -> Report:
    """Import the plugin, hold it to the rules, and report all of it but its code."""
    began = time.perf_counter()
    plugin: Plugin | None = None
    try:
        plugin = load(entry)
        refuse_broken(plugin, entry)
        _refuse_faults(plugin)
        reported = _reported(plugin, entry.distribution)
    except SetAside as aside:
        return Report(
            stage=aside.stage,
            reason=aside.reason,
            remedy=aside.remedy,
            title=str(plugin.title) if plugin else "",
            contract=str(plugin.contract) if plugin else "",
            seconds=time.perf_counter() - began,
        )
    return Report(plugin=reported, seconds=time.perf_counter() - began)


def _refuse_faults(plugin: Plugin) -> None:
    if faults := faults_of(plugin):
        raise SetAside("schema", "; ".join(f.text for f in faults), faults[0].cure)


def _reported(plugin: Plugin, distribution: str) -> ReportedPlugin:
    newest: dict[str, int] = {}
    for calculator in plugin.calculators:
        newest[calculator.id] = max(calculator.major, newest.get(calculator.id, 0))
    return ReportedPlugin(
        title=plugin.title,
        contract=plugin.contract,
        references=plugin.references,
        calculators=tuple(_calculator(c, newest=c.major == newest[c.id]) for c in plugin.calculators),
        summary=plugin.summary,
        explorations=dict(plugin.explorations),
        kinds=tuple(_kinds(plugin)),
        names=tuple((name, shown(meant)) for name, meant in names_of(plugin, distribution)),
    )


def _kinds(plugin: Plugin) -> Iterator[ReportedKind]:
    for struct in all_structs(*(part for c in plugin.calculators for part in (c.given, c.results))):
        if issubclass(struct, Quantity) and (own := struct.declared) is not None:
            yield ReportedKind(struct.kind, {u: float(f) for u, f in own.factors.items()}, own.us)


def _calculator(calculator: Calculator[Any, Any], *, newest: bool) -> Reported:
    components = Components()
    components.add(calculator.given, answer_type(calculator, newest=newest))
    return Reported(
        id=calculator.id,
        version=calculator.version,
        title=calculator.title,
        summary=calculator.summary,
        load=calculator.load,
        references=calculator.references,
        examples=calculator.examples,
        findings=dict(calculator.findings),
        tables=calculator.tables,
        hazards=calculator.hazards,
        uses=calculator.uses,
        deprecated=calculator.deprecated,
        joins=calculator.joins,
        has_page=calculator.has_page,
        newest=newest,
        given=component_name(calculator.given),
        results=component_name(calculator.results),
        answer=answer_name(calculator, newest=newest),
        components=components.schemas,
        ranges=tuple(ranges_of(calculator)),
    )


def ranges_of(calculator: Calculator[Any, Any]) -> Iterator[RangeEntry]:
    """The ranges in which its inputs are taken."""
    for struct in all_structs(calculator.given):
        for facts in fields_of(struct):
            if facts.about.within is not None:
                stated = msgspec.to_builtins(facts.about.within)
                within = {k: v for k, v in stated.items() if v not in (None, "")}
                yield RangeEntry(f"{component_name(struct)}/{facts.wire_name}", within)
