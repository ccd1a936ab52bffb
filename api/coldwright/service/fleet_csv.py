"""A fleet as CSV: one row a machine type or accessory, one column a field, nested fields joined by dots.

A quantity takes two columns, `rating.capacity.value` and `rating.capacity.unit`. Lists (curves, tables, motors) are JSON
in one cell: a spreadsheet has no better place for them.
"""

import csv
import io
import json
from typing import Any

from coldwright.contract import Malformed, refuse
from coldwright.contract.walk import fields_of, plain

KIND_COLUMN = "row"
LISTS = {"machine": "machines", "accessory": "accessories"}


def fleet_to_csv(fleet: dict[str, Any]) -> bytes:
    """The document as CSV; single fields of the document itself stand in rows of their own."""
    rows: list[dict[str, str]] = []
    for kind, name in LISTS.items():
        rows += [{KIND_COLUMN: kind} | _flat(item) for item in fleet.get(name, ())]
    rest = {k: v for k, v in fleet.items() if k not in LISTS.values()}
    if rest:
        rows.insert(0, {KIND_COLUMN: "fleet"} | _flat(rest))
    columns = list(dict.fromkeys(column for row in rows for column in row))
    out = io.StringIO()
    writer = csv.DictWriter(out, columns or [KIND_COLUMN], lineterminator="\r\n")
    writer.writeheader()
    writer.writerows(rows)
    return out.getvalue().encode()


def fleet_from_csv(body: bytes, expected: Any) -> dict[str, Any]:
    """The document that the CSV describes; raises `Malformed` or `Refused`."""
    try:
        text = body.decode("utf-8-sig")
        rows = list(csv.DictReader(io.StringIO(text), strict=True))
    except (UnicodeDecodeError, csv.Error) as error:
        raise Malformed("not_csv", f"The body is not CSV in UTF-8: {error}.") from None
    known = {f.wire_name for f in fields_of(plain(expected))}
    fleet: dict[str, Any] = {name: [] for name in LISTS.values() if name in known}
    for number, row in enumerate(rows):
        kind = (row.pop(KIND_COLUMN, None) or "").strip()
        cells = {k: v for k, v in row.items() if k is not None and v not in (None, "")}
        if None in row:
            raise refuse(f"/rows/{number}", "This row has more cells than the heading.", code="not_csv")
        if kind in LISTS:
            fleet[LISTS[kind]].append(_nested(cells, number))
        elif kind == "fleet":
            fleet |= _nested(cells, number)
        else:
            raise refuse(
                f"/rows/{number}/{KIND_COLUMN}", "This is not `machine`, `accessory` or `fleet`.", value=kind[:100]
            )
    return fleet


def _flat(item: Any, prefix: str = "") -> dict[str, str]:
    cells: dict[str, str] = {}
    for key, value in item.items():
        name = f"{prefix}{key}"
        if isinstance(value, dict):
            cells |= _flat(value, f"{name}.")
        elif isinstance(value, str):
            cells[name] = value if _plain_text(value) else json.dumps(value)
        else:
            cells[name] = json.dumps(value)
    return cells


def _plain_text(text: str) -> bool:
    """Whether the reader will take the cell for the same text again."""
    try:
        json.loads(text)
    except ValueError:
        return text != "" and not text.startswith(('"', "[", "{"))
    return False


def _nested(cells: dict[str, str], number: int) -> dict[str, Any]:
    item: dict[str, Any] = {}
    for name, text in cells.items():
        *path, last = name.split(".")
        place = item
        for step in path:
            place = place.setdefault(step, {})
            if not isinstance(place, dict):
                raise refuse(
                    f"/rows/{number}/{name[:100]}",
                    "This column is inside another one that has a value.",
                    code="not_csv",
                )
        place[last] = _cell(text)
    return item


def _cell(text: str) -> Any:
    """JSON where it is JSON, else text."""
    try:
        return json.loads(text)
    except ValueError:
        return text
