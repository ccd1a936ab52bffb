"""A second engine that judges a start-up, written from the rules and not from the product, by another way.

The product sorts what was seen into one order and walks it. Here nothing is sorted: each sighting lies somewhere between two
instants, each rule is a question of the form "is there something good that surely came after everything bad?", and a start
may go ahead where every rule has its answer. Slow and plain; read it beside the rules.

Sources of the rules are those that `readiness.startup` cites; the values are common practice unless the rule names one.
"""

from .verdict import SEVERITY, Verdict, judge

__all__ = ["SEVERITY", "Verdict", "judge"]
