"""`POST /v1/jobs` with lines (NDJSON): any number of items, kept as they come, in bounded memory."""

import hashlib
from codecs import BOM_UTF8
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from coldwright.contract import Refused, field_error
from coldwright.contract.answer import Units
from coldwright.contract.reading import read
from coldwright.service.exploration.asking import find_calculator
from coldwright.service.http.body import encoding_of, pieces
from coldwright.service.http.endpoint import Asked
from coldwright.service.http.problems import ProblemRaised
from coldwright.service.http.unpacking import unpacker
from coldwright.service.jobs.lines import Lines, item_of
from coldwright.service.jobs.making import Making
from coldwright.service.jobs.request import Wanted, kept_of
from coldwright.store.jobs import Item, Job
from coldwright.store.jobs.staging import NotReceived

MOST_UPLOADS, MOST_OF_A_TENANT = 8, 2
"""Such bodies that a process reads at a time: each holds some megabytes, and may take an hour to come."""
AT_A_TIME = 256 * 1024
"""Bytes that are gathered before they are looked at."""


@asynccontextmanager
async def place_of(asked: Asked) -> AsyncIterator[None]:
    """A place among those that are read; raises a problem where all are taken."""
    uploads, tenant = asked.services.uploads, asked.caller.tenant
    ours = uploads.get(tenant, 0)
    if ours >= MOST_OF_A_TENANT or sum(uploads.values()) >= MOST_UPLOADS:
        raise ProblemRaised("overloaded", f"{ours} jobs of this tenant are arriving as lines.", retry_after=5)
    uploads[tenant] = ours + 1
    try:
        yield
    finally:
        uploads[tenant] -= 1
        if not uploads[tenant]:
            del uploads[tenant]


async def received(asked: Asked, units: Units, key: str | None) -> tuple[Job, bool]:
    """The job of a body of lines; whether it is new. Raises a problem, and then nothing of it is left."""
    upload = _Upload(asked, units, key)
    async with place_of(asked):
        try:
            return await upload.whole()
        except NotReceived:
            raise ProblemRaised("too-slow", "For two hours nothing came of the body.") from None
        finally:
            if upload.making is not None:
                await upload.making.leave()


class _Upload:
    """One body of lines."""

    def __init__(self, asked: Asked, units: Units, key: str | None) -> None:
        self._asked, self._units, self._key = asked, units, key
        self._longest = asked.services.settings.largest_body
        self._lines, self._packed = Lines(self._longest), unpacker(encoding_of(asked))
        self._hash = hashlib.sha256(units.encode())
        self._length = 0
        self._head: bytes | int | None = None
        self.making: Making | None = None

    async def whole(self) -> tuple[Job, bool]:
        gathered: list[bytes] = []
        size = 0
        async for piece in pieces(self._asked):
            gathered.append(piece)
            size += len(piece)
            if size >= AT_A_TIME:
                await self._take(b"".join(gathered))
                gathered, size = [], 0
        await self._take(b"".join(gathered))
        self._packed.end()
        await self._take_lines(self._lines.end)
        if self.making is None or not self.making.count:
            text = "The first line says `calculator`, each further line is an item; there is none."
            raise Refused([field_error("/items", text, code="missing")])
        return await self.making.complete(self._key, self._hash.hexdigest())

    async def _take(self, data: bytes) -> None:
        unpacked = self._packed.take(data)
        while (piece := await self._asked.services.apart(next, unpacked, None, long=True)) is not None:
            self._length += len(piece)
            most = self._asked.services.settings.largest_upload
            if self._length > most:
                raise ProblemRaised(
                    "too-large", f"Unpacked the body has more than the {most} bytes that are taken here."
                )
            self._hash.update(piece)
            await self._take_lines(lambda found, piece=piece: self._lines.take(piece, found))

    async def _take_lines(self, cut: Any) -> None:
        items = await self._asked.services.apart(self._items, cut, long=True)
        if self.making is None and self._head is not None:
            self.making = self._begun(self._head)
            await self.making.begin(self._key)
        if self.making is not None and items:
            await self.making.take(items)

    def _items(self, cut: Any) -> list[Item]:
        """The items of the lines that end in a piece; the first line of all is the head."""
        items: list[Item] = []
        count = 0 if self.making is None else self.making.count

        def found(number: int, line: bytes | int) -> None:
            if self._head is None:
                self._head = line
            else:
                items.append(item_of(count + len(items), number, line, self._longest))

        cut(found)
        return items

    def _begun(self, head: bytes | int) -> Making:
        if isinstance(head, int):
            raise ProblemRaised("too-large", f"The first line has {head} bytes; {self._longest} are taken in a line.")
        wanted = read(Wanted, head.removeprefix(BOM_UTF8))  # as some programs begin every text
        served = find_calculator(self._asked.services, wanted.calculator)
        return Making(self._asked, wanted.calculator, served, self._units, kept_of(wanted.keep, of_orders=False))
