"""A fleet as CSV: one row a machine type or accessory, one column a field, nested fields joined by dots.

A quantity takes two columns, `rating.capacity.value` and `rating.capacity.unit`. Lists (curves, tables, motors) are JSON
in one cell: a spreadsheet has no better place for them. Text that could be read as something else stands as JSON, in
quotation marks; so does text that a spreadsheet would take for a formula.
"""

import csv
import io
import json
from collections.abc import Iterable, Iterator
from itertools import islice
from typing import Any
from urllib.parse import quote, unquote

from msgspec.structs import replace

from coldwright.contract import Allowed, FieldError, Malformed, Refused, field_error
from coldwright.contract.reading import decode_any

KIND = "row"
LISTS = {"machine": "machines", "accessory": "accessories"}
FLEET = "fleet"
"""Kind of the row that holds the fields of the document itself."""
MOST_COLUMNS, LONGEST_NAME, MOST_STEPS, MOST_CELLS = 2_000, 200, 20, 200_000
"""Ten times what the largest fleet has: beyond them a body is made to be slow."""
MOST_ERRORS = 50


def fleet_to_csv(fleet: dict[str, Any]) -> bytes:
    """The document as CSV."""
    rest = {k: v for k, v in fleet.items() if k not in LISTS.values()}
    rows = [{KIND: FLEET} | _flat(rest)] if rest else []
    rows += [{KIND: kind} | _flat(item) for kind, name in LISTS.items() for item in fleet.get(name, ())]
    columns = dict.fromkeys([KIND, *(column for row in rows for column in row)])
    out = io.StringIO()
    writer = csv.DictWriter(out, list(columns), lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


class FleetTable:
    """CSV, read. Raises `Malformed` or `Refused`; rows are counted as a spreadsheet does, the heading being row 1."""

    def __init__(self, body: bytes) -> None:
        try:
            lines = list(islice(csv.reader(io.StringIO(body.decode("utf-8-sig")), strict=True), MOST_CELLS + 1))
        except (UnicodeDecodeError, csv.Error) as error:
            raise Malformed("not_csv", f"The body is not CSV in UTF-8: {error}.") from None
        self._columns = [name.strip() for name in lines[0]] if lines else []
        self._errors = list(islice(self._wrong_columns(), MOST_ERRORS))
        self._rows: dict[tuple[str, int], int] = {}
        """Numbers of the rows, by list and index in the document."""
        self.document: dict[str, Any] = {name: [] for name in LISTS.values()}
        cells = sum(map(len, lines))
        if not self._errors and (cells > MOST_CELLS or len(lines) > MOST_CELLS):
            text = f"There are more than {MOST_CELLS} cells or rows; no fleet has as many."
            self._errors = [field_error("/rows", text, code="out_of_range", allowed=Allowed(maximum=MOST_CELLS))]
        if not self._errors:
            for number, line in enumerate(lines[1:], start=2):
                if any(line):
                    self._add(line, number)
                if len(self._errors) >= MOST_ERRORS:
                    break
        if self._errors:
            raise Refused(self._errors[:MOST_ERRORS])

    def located(self, errors: Iterable[FieldError]) -> Refused:
        """Errors of the document, named by the row and the column that a person sees."""
        return Refused(self._located(error) for error in errors)

    def _wrong_columns(self) -> Iterator[FieldError]:
        if len(self._columns) > MOST_COLUMNS:
            text = f"The heading has {len(self._columns)} columns; {MOST_COLUMNS} are taken."
            yield field_error("/rows/1", text, code="out_of_range", allowed=Allowed(maximum=MOST_COLUMNS))
            return
        if KIND not in self._columns:
            text = f"The heading has no column `{KIND}`. Columns are divided by commas; the first row is the heading."
            yield field_error("/rows/1", text, code="missing", value=", ".join(self._columns)[:100])
        seen: set[str] = set()
        for name in self._columns:
            if name and name in seen:
                yield _error(1, name, "The heading names this column twice.", "repeated")
            if len(name) > LONGEST_NAME or name.count(".") >= MOST_STEPS:
                text = f"A name has at most {LONGEST_NAME} characters and {MOST_STEPS} steps."
                yield _error(1, name, text, "out_of_range")
            seen.add(name)

    def _add(self, line: list[str], number: int) -> None:
        if beyond := [
            cell for at, cell in enumerate(line) if cell and (at >= len(self._columns) or not self._columns[at])
        ]:
            text = f"Row {number} has a cell outside the columns that the heading names."
            self._errors.append(field_error(f"/rows/{number}", text, code="not_csv", value=beyond[0][:100]))
            return
        cells = {name: cell for name, cell in zip(self._columns, line, strict=False) if cell}
        kind = cells.pop(KIND, "").strip()
        if kind not in (*LISTS, FLEET):
            self._errors.append(
                _error(number, KIND, "This is not `machine`, `accessory` or `fleet`.", "not_allowed", kind)
            )
            return
        item = self._nested(cells, number)
        if kind in LISTS:
            rows = self.document[LISTS[kind]]
            self._rows[LISTS[kind], len(rows)] = number
            rows.append(item)
        elif (FLEET, 0) in self._rows:
            self._errors.append(_error(number, KIND, "Another row is the `fleet` already.", "repeated"))
        else:
            self._rows[FLEET, 0] = number
            self.document |= {k: v for k, v in item.items() if k not in LISTS.values()}

    def _nested(self, cells: dict[str, str], number: int) -> dict[str, Any]:
        item: dict[str, Any] = {}
        for name, text in cells.items():
            *path, last = name.split(".")
            place: Any = item
            for step in path:
                place = place.setdefault(step, {}) if isinstance(place, dict) else None
            if not isinstance(place, dict) or last in place:
                self._errors.append(_error(number, name, "Another column gives the whole of this field.", "not_csv"))
                continue
            place[last] = _cell(text)
        return item

    def _located(self, error: FieldError) -> FieldError:
        tokens = [unquote(t).replace("~1", "/").replace("~0", "~") for t in error.pointer.removeprefix("#/").split("/")]
        listed, *rest = tokens
        if listed in LISTS.values():
            if not rest:
                return replace(error, pointer="#/rows")
            number = self._rows[listed, int(rest.pop(0))]
        else:
            number, rest = self._rows.get((FLEET, 0), 1), tokens
        if not rest:
            return replace(error, pointer=f"#/rows/{number}", detail=f"Row {number}: {error.detail}")
        whole = [".".join(rest[: end + 1]) for end in range(len(rest))]
        names = [*whole, f"{whole[-1]}.value"]  # what is wrong with a quantity is reported at its number
        column = next((name for name in names if name in self._columns), whole[-1])
        inside = "/".join(rest[column.count(".") + 1 :])
        where = f"Row {number}, column {column}" + (f", at /{inside} in the cell" if inside else "")
        return replace(error, pointer=_pointer(number, column), detail=f"{where}: {error.detail}")


def _pointer(number: int, column: str) -> str:
    return f"#/rows/{number}/{quote(column[:100].replace('~', '~0').replace('/', '~1'), safe='~._-')}"


def _error(number: int, column: str, text: str, code: str, value: str = "") -> FieldError:
    detail = f"Row {number}, column {column[:100]}: {text}"
    return FieldError(pointer=_pointer(number, column), code=code, detail=detail, value=value[:100])


def _flat(item: dict[str, Any], prefix: str = "") -> dict[str, str]:
    cells: dict[str, str] = {}
    for key, value in item.items():
        name = f"{prefix}{key}"
        if isinstance(value, dict) and value:
            cells |= _flat(value, f"{name}.")
        else:
            cells[name] = value if isinstance(value, str) and _is_itself(value) else json.dumps(value)
    return cells


def _is_itself(text: str) -> bool:
    """Whether the reader takes the cell for the same text again, and no spreadsheet takes it for a formula."""
    return text != "" and not text.startswith(('"', "=", "+", "-", "@", "\t", "\r")) and _cell(text) is text


def _cell(text: str) -> Any:
    """JSON where it is JSON, else text."""
    try:
        return decode_any(text.encode())
    except (Malformed, Refused):
        return text
