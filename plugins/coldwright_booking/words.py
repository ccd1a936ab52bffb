"""Words that every room uses."""

from coldwright.contract import Quantity


def both(quantity: Quantity) -> str:
    """A quantity in metric and US units, for text."""
    metric = quantity.as_unit(quantity.metric_unit)
    us = quantity.as_unit(quantity.us_unit)
    return str(metric) if metric.unit == us.unit else f"{metric} ({us})"
