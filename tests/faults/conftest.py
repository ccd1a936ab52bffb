"""Both databases for the tests of faults."""

from databases import database, empty_url

__all__ = ["database", "empty_url"]
