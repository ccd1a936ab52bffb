"""The store's tests run on both databases."""

from databases import database, empty_url

__all__ = ["database", "empty_url"]
