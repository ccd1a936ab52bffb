"""The test kit that every plugin runs, ours and theirs."""

from coldwright.conformance.faults import Fault
from coldwright.conformance.kept_answers import KeptAnswers, kept_answers
from coldwright.conformance.kit import check_plugin
from coldwright.conformance.schema_rules import snapshot

__all__ = ["Fault", "KeptAnswers", "check_plugin", "kept_answers", "snapshot"]
