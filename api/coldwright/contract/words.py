"""Words that a field takes, as a table of the plugin lists them: they grow with the table, and with nothing else."""

import re
from typing import Any

from msgspec import Meta, Struct

from coldwright.contract.fields import exactly
from coldwright.contract.refusal import Defect
from coldwright.contract.tables import Table

MOST_WORDS = 2000


class Listed(Struct, frozen=True):
    """Which words, and from which column of which table."""

    words: tuple[str, ...]
    table: str
    column: str
    title: str


class Word:
    """`grid: Annotated[str, Word.of(GRIDS, "region"), about("The grid.")]`: one of the words of a column."""

    @staticmethod
    def of(table: Table, column: str = "") -> Meta:
        """What a field needs to take only these words, and to list them in its schema with the table's digest.

        `column` names a column of rows that are lists, or a member of rows that are objects; without it the words are
        the keys of a table whose rows are an object. Raises `Defect` where that are no words.
        """
        words = words_of(table, column)
        return Meta(
            pattern=exactly(f"(?:{'|'.join(map(re.escape, words))})"),
            extra={"words": Listed(words, table.id, column, table.title)},
            extra_json_schema={
                "enum": list(words),
                "x-table": {"id": table.id, "column": column, "digest": table.digest, "title": table.title},
            },
        )


def words_of(table: Table, column: str = "") -> tuple[str, ...]:
    """The words of a column, in the order of the table, each once."""
    found = _cells(table, column)
    words = tuple(dict.fromkeys(found))
    if not words or len(words) > MOST_WORDS or not all(isinstance(w, str) and 0 < len(w) <= 200 for w in words):
        raise Defect(f"the table {table.id} has no words in its column {column!r}: one to {MOST_WORDS} texts are taken")
    return words


def _cells(table: Table, column: str) -> list[Any]:
    rows = table.rows
    if isinstance(rows, dict):
        return list(rows) if not column else [row.get(column) for row in rows.values() if isinstance(row, dict)]
    if isinstance(rows, list) and column:
        place = table.columns.index(column) if column in table.columns else -1
        if place >= 0:
            return [row[place] for row in rows if isinstance(row, list) and place < len(row)]
        return [row[column] for row in rows if isinstance(row, dict) and column in row]
    return []
