"""What to do about a block of a part of another plugin: in the part's own words."""

from coldwright.contract import StartBlock
from coldwright_readiness.startup.advice.action import Action, Template


def action_of(block: StartBlock, title: str) -> Action:
    """What to do about a block of a part, in the part's own words."""
    record = tuple(Template(r.kind, dict(r.data)) for r in block.record)
    return Action("start_verdict", block.statement, block.do, block.short, title, record, block.cleared_by)
