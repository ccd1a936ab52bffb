"""What the registry finds when it loads a plugin: units, ranges, words and references, with file, field and cure."""

from collections.abc import Iterator

from coldwright.conformance.faults import Fault
from coldwright.contract import Plugin
from coldwright.registry.load_checks import faults_of


def check_loading(plugin: Plugin) -> Iterator[Fault]:
    """Each of them; a plugin that has one is set aside."""
    try:
        found = faults_of(plugin)
    except Exception as error:  # a schema that cannot even be looked at
        yield Fault("schema", "", f"{type(error).__name__}: {error}")
        return
    for fault in found:
        yield Fault("schema", fault.calculator, f"{fault.text}. {fault.cure}")
