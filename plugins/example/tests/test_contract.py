"""The contract that coldwright holds every plugin to."""

from pathlib import Path

from coldwright.conformance.suite import CalculatorConformance

from coldwright_evaporative import plugin as evaporative


class TestContract(CalculatorConformance):
    plugin = evaporative
    distribution = "coldwright-evaporative"
    schemas = Path(__file__).with_name("schemas.json")
    answers = Path(__file__).with_name("answers.json")
