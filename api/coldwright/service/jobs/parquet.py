"""Results of a job as Parquet, for programs that analyse columns; needs the extra `parquet`.

A file is written as it is sent: a group of rows at a time, so that memory does not grow with the job.
"""

from collections.abc import Sequence
from importlib.util import find_spec
from typing import Any

import msgspec

from coldwright.bulk.keeping import Keep
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.jobs.result import JobResult, result_of
from coldwright.service.jobs.tables import OF_CHANGES, change_in_words, is_quantity, words_of
from coldwright.store.jobs import Item

PARQUET = "application/vnd.apache.parquet"
GROUP = 2000
"""Rows of a group, or fewer where they are long."""
GROUP_BYTES = 8 * 1024 * 1024


def refuse_without_library() -> None:
    """Raise a 406 where the library is not installed."""
    if find_spec("pyarrow") is None:
        text = (
            "This service writes no Parquet: its operator has not installed coldwright[parquet]. Ask for NDJSON or CSV."
        )
        raise ProblemRaised("not-acceptable", text)


class Columns:
    """Writes rows; what is written so far is handed out with each call.

    A pointer of `keep` has three columns: what stood there as text (what has members as JSON), its number where it is one
    or a quantity, and the unit of a quantity.
    """

    def __init__(self, keep: Keep, public_url: str) -> None:
        import pyarrow  # comes with an extra
        from pyarrow import parquet

        self._arrow, self._keep, self._public_url = pyarrow, keep, public_url
        self._schema = pyarrow.schema(self._fields())
        self._out = _Sink()
        self._writer = parquet.ParquetWriter(self._out, self._schema, compression="zstd")
        self._rows: list[dict[str, Any]] = []
        self._bytes = 0

    def _fields(self) -> list[tuple[str, Any]]:
        arrow = self._arrow
        fields = [("id", arrow.string()), ("status", arrow.int16()), ("outcome", arrow.string())]
        if self._keep == "answers":
            fields.append(("answer", arrow.string()))
        elif self._keep == "changes":
            fields += [(name, arrow.string()) for name in OF_CHANGES]
        else:
            for pointer in self._keep:
                fields += [
                    (pointer, arrow.string()),
                    (f"{pointer} value", arrow.float64()),
                    (f"{pointer} unit", arrow.string()),
                ]
        return [*fields, ("problem", arrow.string())]

    def add(self, items: Sequence[Item]) -> bytes:
        """Add rows; bytes of the file that are ready."""
        for item in items:
            self._rows.append(self._row(item))
            self._bytes += len(item.body)
        if len(self._rows) >= GROUP or self._bytes >= GROUP_BYTES:
            self._write()
        return self._out.taken()

    def end(self) -> bytes:
        """The last bytes."""
        self._write()
        self._writer.close()
        return self._out.taken()

    def _write(self) -> None:
        if self._rows:
            self._writer.write_table(self._arrow.Table.from_pylist(self._rows, schema=self._schema))
            self._rows, self._bytes = [], 0

    def _row(self, item: Item) -> dict[str, Any]:
        result = result_of(item, self._keep, self._public_url)
        row: dict[str, Any] = {
            "id": item.name,
            "status": item.status,
            "outcome": item.outcome or None,
            "problem": words_of(result) or None,
        }
        return row | self._kept(item, result) if item.status == 200 else row

    def _kept(self, item: Item, result: JobResult) -> dict[str, Any]:
        if self._keep == "answers":
            return {"answer": item.body.decode()}
        if self._keep == "changes":
            return dict(zip(OF_CHANGES, change_in_words(result), strict=True))
        found: dict[str, Any] = {}
        for pointer, value in msgspec.json.decode(item.body).items():
            inner, unit = (value["value"], value["unit"]) if is_quantity(value) else (value, None)
            found[pointer] = value if isinstance(value, str) else msgspec.json.encode(value).decode()
            if isinstance(inner, int | float) and not isinstance(inner, bool):
                found[f"{pointer} value"], found[f"{pointer} unit"] = float(inner), unit
        return found


class _Sink:
    """A file that is read as it is written."""

    closed = False

    def __init__(self) -> None:
        self._pieces: list[bytes] = []

    def write(self, data: bytes) -> int:
        self._pieces.append(bytes(data))
        return len(data)

    def flush(self) -> None: ...

    def close(self) -> None:
        self.closed = True

    def taken(self) -> bytes:
        pieces, self._pieces = self._pieces, []
        return b"".join(pieces)
