"""Coldwright: calculators for temporary chilled-water plant, behind a versioned REST API."""

__version__ = "1.0.0"
