"""Texts of the tables, with their places filled."""

from collections.abc import Mapping


def filled(text: str, words: Mapping[str, object]) -> str:
    """A text with its places filled; one that begins with a place begins with a capital all the same."""
    if "{" not in text:
        return text
    said = text.format_map(words)
    return f"{said[0].upper()}{said[1:]}" if text.startswith("{") else said
