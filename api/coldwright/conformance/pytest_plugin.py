"""Loaded by pytest wherever coldwright is installed: fixtures for authors of plugins."""
