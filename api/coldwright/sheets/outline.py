"""Any results as facts and tables, by the names of their fields: for pages of calculators that have none of their own."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

import msgspec

from coldwright.contract.files import File, Picture
from coldwright.contract.page import (
    MOST_ROWS,
    Block,
    Column,
    Drawing,
    Facts,
    Heading,
    Lines,
    Prose,
    Table,
    image,
    plots,
    shortened,
)
from coldwright.contract.people import is_quantity, label, listed, plain_text, value_text
from coldwright.contract.series import Series

MOST_ITEMS = 40
SERIES, PICTURE, FILE = {"along", "columns"}, {"title", "media_type", "content"}, {"name", "media_type", "content"}
"""Members by which they are known in an answer."""
WIDEST = 6
"""Columns that a table may have before its rows become lists of facts."""


def is_plain(value: Any) -> bool:
    """Whether it fits on one line: a word, number, quantity or sum of money."""
    if isinstance(value, Mapping):
        return is_quantity(value) or set(value) == {"value", "currency"}
    return not isinstance(value, list)


def outline(results: Mapping[str, Any], above: str = "") -> Iterator[Block]:
    """Plain members first, then each deeper part under its own heading."""
    results = without_templates(results)
    special = {name: made for name, value in results.items() if (made := _special(value, label(name)))}
    results = {name: value for name, value in results.items() if name not in special}
    drawings = [name for name, value in results.items() if isinstance(value, str) and value.lstrip().startswith("<svg")]
    rows = [
        (label(name), value_text(value, name))
        for name, value in results.items()
        if is_plain(value) and name not in drawings
    ]
    rows += [
        (label(name), listed([value_text(v, name) for v in value]) or "none")
        for name, value in results.items()
        if isinstance(value, list) and all(map(is_plain, value)) and not _is_prose(value)
    ]
    if rows := [(name, text) for name, text in rows if text]:
        yield Facts(tuple(rows))
    for name, blocks in special.items():
        if not isinstance(blocks[0], Facts):
            yield Heading(f"{above}: {label(name).lower()}" if above else label(name))
        yield from blocks
    yield from (Drawing(label(name.removesuffix("_svg")), results[name]) for name in drawings)
    for name, value in results.items():
        title = f"{above}: {label(name).lower()}" if above else label(name)
        if isinstance(value, Mapping) and not is_plain(value):
            yield Heading(title)
            yield from outline(value, title)
        elif isinstance(value, list) and value and not all(map(is_plain, value)):
            yield from _several(value, title)
        elif isinstance(value, list) and value and _is_prose(value):
            yield Heading(title)
            yield Lines(tuple(value_text(v) for v in value[:MOST_ROWS]))


def without_templates(value: Any) -> Any:
    """A part of an answer without the templates of its sentences, which stand beside them for other units."""
    if isinstance(value, Mapping) and isinstance(value.get("said"), Mapping):
        return {name: member for name, member in value.items() if name != "said"}
    return value


def _special(value: Any, title: str) -> tuple[Block, ...]:
    """What a series, a picture or a file is shown as; nothing for anything else."""
    if not isinstance(value, Mapping) or value.keys() not in (SERIES, PICTURE, FILE):
        return ()
    try:
        if value.keys() == SERIES:
            return plots(title, msgspec.convert(value, Series))
        if value.keys() == PICTURE:
            return (image(msgspec.convert(value, Picture)),)
        file = msgspec.convert(value, File)
    except msgspec.ValidationError:
        return ()
    text = f"{file.name}: {file.media_type}, {len(file.content):,} bytes, in the JSON answer"
    return (Facts(((title, plain_text(text)),)),)


def _is_prose(value: Sequence[Any]) -> bool:
    return any(isinstance(v, str) and len(v) > 40 for v in value)


def _several(items: Sequence[Any], title: str) -> Iterator[Block]:
    """A table where every item is a row of plain values; else the items one by one."""
    items = [without_templates(item) for item in items]
    if table := _table(items):
        yield from (Heading(title), *shortened(table))
        return
    for place, item in enumerate(items[:MOST_ITEMS], 1):
        if isinstance(item, Mapping) and not is_plain(item):
            name = next((str(item[k]) for k in ("id", "name", "title", "type") if isinstance(item.get(k), str)), "")
            deeper = f"{title} {place}" + (f", {plain_text(name)}" if name else "")
            yield Heading(deeper)
            yield from outline(item, deeper)
        else:
            yield Heading(f"{title} {place}")
            yield Lines((value_text(item) if is_plain(item) else listed([value_text(v) for v in item]),))
    if len(items) > MOST_ITEMS:
        yield Prose(f"{len(items) - MOST_ITEMS:,} more of {title.lower()} are in the JSON answer.")


def _table(items: Sequence[Any]) -> Table | None:
    if not all(isinstance(item, Mapping) for item in items):
        return None
    names = list(dict.fromkeys(name for item in items for name in item))
    if not 0 < len(names) <= WIDEST or not all(_fits(v) for item in items for v in item.values()):
        return None
    rows = tuple(tuple(_cell(item.get(name, ""), name) for name in names) for item in items)
    columns = tuple(
        Column(label(name), 4 + min(36, max(len(row[i]) for row in rows)), _numeric(items, name))
        for i, name in enumerate(names)
    )
    return Table(columns, rows)


def _fits(value: Any) -> bool:
    return is_plain(value) or (isinstance(value, list) and all(map(is_plain, value)))


def _cell(value: Any, name: str) -> str:
    return value_text(value, name) if is_plain(value) else listed([value_text(v, name) for v in value])


def _numeric(items: Sequence[Mapping[str, Any]], name: str) -> bool:
    values = [item[name] for item in items if name in item]
    return all(is_quantity(v) or (isinstance(v, int | float) and not isinstance(v, bool)) for v in values)
