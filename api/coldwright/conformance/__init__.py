"""The test kit that every plugin runs, ours and theirs."""

from coldwright.conformance.faults import Fault
from coldwright.conformance.kit import check_plugin
from coldwright.conformance.schema_rules import snapshot

__all__ = ["Fault", "check_plugin", "snapshot"]
