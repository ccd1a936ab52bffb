"""Open connections: how many there may be, and how long one may stay open with no request under way.

A connection costs a file and some memory, and anybody can open one without a key. So when there are as many as may be,
the one that has been longest without a request under way is closed for the newcomer, and none may wait forever: neither
between two requests, nor in the middle of a head, nor with an answer that it leaves unread. Requests under way are the
guard's to limit.
"""

import asyncio
import time
from collections import OrderedDict
from collections.abc import Callable
from typing import Any, cast

Peer = tuple[str, int]


class Connections:
    """Lives in one event loop, so it needs no lock."""

    def __init__(
        self,
        most: int,
        idle_seconds: float,
        head_seconds: float,
        send_seconds: float,
        clock: Callable[[], float] = time.monotonic,
    ) -> None:
        self.most = most
        self._idle_seconds, self._head_seconds, self._send_seconds = idle_seconds, head_seconds, send_seconds
        self._clock = clock
        self._open: dict[Peer, _Connection] = {}
        self._unread: dict[Peer, float] = {}
        """Those whose other side leaves its answer unread, so that no more can be sent, with since when."""
        self._idle: OrderedDict[Peer, _Connection] = OrderedDict()
        """Those with no whole request under way, the one that has been so for longest first."""

    def __len__(self) -> int:
        return len(self._open)

    def opened(self, peer: Peer, transport: asyncio.Transport) -> None:
        """Somebody has come; when that is one too many, the connection longest idle goes, else the one whose answer has
        lain unread for longest, else the newcomer.
        """
        self._open[peer] = self._idle[peer] = _Connection(transport, self._clock())
        if len(self._open) > self.most:
            self.drop(self._one_to_close())

    def _one_to_close(self) -> Peer:
        """The newcomer is the last of those that are idle."""
        return next(iter(self._unread if self._unread and len(self._idle) == 1 else self._idle))

    def heard(self, peer: Peer) -> None:
        """Bytes have come: of a request, if none is under way."""
        connection = self._idle.get(peer)
        if connection is not None and connection.head_since is None and not connection.receiving:
            connection.head_since = self._clock()

    def closed(self, peer: Peer) -> None:
        """It is gone."""
        self._open.pop(peer, None)
        self._idle.pop(peer, None)
        self._unread.pop(peer, None)

    def full(self, peer: Peer) -> None:
        """No more of its answer can be sent until the other side has read some. Pair with `emptied`."""
        self._unread[peer] = self._clock()

    def emptied(self, peer: Peer) -> None:
        """The other side has read what was sent, but for a little."""
        self._unread.pop(peer, None)

    def begin(self, peer: Peer | None) -> None:
        """A request of this connection is under way. Pair with `end`."""
        connection = self._open.get(peer) if peer else None
        if peer and connection is not None:
            connection.requests += 1
            self._idle.pop(peer, None)

    def end(self, peer: Peer | None) -> None:
        """It is answered."""
        connection = self._open.get(peer) if peer else None
        if peer and connection is not None:
            connection.requests -= 1
            if not connection.requests:
                connection.idle_since, connection.head_since = self._clock(), None
                self._idle[peer] = connection

    def receive(self, peer: Peer | None) -> None:
        """Its body is awaited: until that has come, it may be closed for a newcomer. Pair with `received`."""
        connection = self._open.get(peer) if peer else None
        if peer and connection is not None:
            connection.receiving, connection.idle_since = True, self._clock()
            self._idle[peer] = connection

    def received(self, peer: Peer | None) -> None:
        """The body has come, or has not come in time."""
        connection = self._open.get(peer) if peer else None
        if peer and connection is not None:
            connection.receiving = False
            self._idle.pop(peer, None)

    def drop(self, peer: Peer | None) -> None:
        """Close it now, whatever is still to be sent."""
        connection = self._open.get(peer) if peer else None
        if peer and connection is not None:
            self.closed(peer)
            connection.transport.abort()

    def sweep(self) -> None:
        """Close those whose time is over."""
        now = self._clock()
        for peer, connection in list(self._idle.items()):
            if connection.receiving:  # the guard gives up on a body that does not come
                continue
            if connection.still_reads():
                connection.idle_since = now
            head = connection.head_since
            if now - connection.idle_since > self._idle_seconds or (head and now - head > self._head_seconds):
                self.drop(peer)
        for peer in [peer for peer, since in self._unread.items() if now - since > self._send_seconds]:
            self.drop(peer)  # whoever does not read its answer must not keep it in memory

    async def watch(self) -> None:
        """Sweep every second until cancelled."""
        while True:
            await asyncio.sleep(1.0)
            self.sweep()


class _Connection:
    __slots__ = ("_unsent", "head_since", "idle_since", "receiving", "requests", "transport")

    def __init__(self, transport: asyncio.Transport, now: float) -> None:
        self.transport, self.idle_since = transport, now
        self.head_since: float | None = None
        self.requests, self.receiving = 0, False
        self._unsent = 0

    def still_reads(self) -> bool:
        """Whether the other side has taken some of a long answer since the last look."""
        before, self._unsent = self._unsent, self.transport.get_write_buffer_size()
        return 0 < self._unsent != before


def watched(protocol: type[asyncio.Protocol], connections: Connections) -> type[asyncio.Protocol]:
    """The server's own protocol, which goes on doing all the work, with its connections counted."""

    class Watched(asyncio.Protocol):
        def __init__(self, **settings: Any) -> None:
            self._inner = protocol(**settings)
            self._peer: Peer = ("", 0)

        def connection_made(self, transport: asyncio.BaseTransport) -> None:
            self._inner.connection_made(transport)
            host, port, *_ = transport.get_extra_info("peername") or ("", 0)
            self._peer = (str(host), int(port))
            connections.opened(self._peer, cast(asyncio.Transport, transport))

        def data_received(self, data: bytes) -> None:
            connections.heard(self._peer)
            self._inner.data_received(data)

        def eof_received(self) -> bool | None:
            return self._inner.eof_received()

        def connection_lost(self, error: Exception | None) -> None:
            connections.closed(self._peer)
            self._inner.connection_lost(error)

        def pause_writing(self) -> None:
            connections.full(self._peer)
            self._inner.pause_writing()

        def resume_writing(self) -> None:
            connections.emptied(self._peer)
            self._inner.resume_writing()

    return Watched
