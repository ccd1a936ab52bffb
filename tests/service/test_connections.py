"""Head and body of an answer leave together, nothing is held back, and nothing is lost at the end."""

import asyncio
import socket
from pathlib import Path
from typing import Any

import pytest
from running import running

from coldwright.service.connections import Joining


class Written(asyncio.Transport):
    """A transport that keeps what it was given."""

    def __init__(self) -> None:
        super().__init__()
        self.packets: list[bytes] = []
        self.closed = False

    def write(self, data: Any) -> None:
        assert not self.closed
        self.packets.append(data)

    def close(self) -> None:
        self.closed = True

    def is_closing(self) -> bool:
        return self.closed

    def get_extra_info(self, name: str, default: Any = None) -> Any:
        return f"the {name}" if name else default


@pytest.fixture
def written() -> Written:
    return Written()


def test_what_is_written_at_once_is_one_packet(written: Written) -> None:
    async def writes() -> None:
        transport = Joining(written, asyncio.get_running_loop())
        transport.write(b"head, ")
        transport.write(b"body")
        assert written.packets == []
        await asyncio.sleep(0)
        assert written.packets == [b"head, body"]
        transport.write(b"event")
        await asyncio.sleep(0)
        assert written.packets == [b"head, body", b"event"]
        assert transport.get_extra_info("peername") == "the peername"

    asyncio.run(writes())


def test_closing_sends_what_waits(written: Written) -> None:
    async def writes() -> None:
        transport = Joining(written, asyncio.get_running_loop())
        transport.write(b"last words")
        transport.close()
        assert (written.packets, written.closed) == ([b"last words"], True)
        transport.write(b"too late")
        await asyncio.sleep(0)
        assert written.packets == [b"last words"]

    asyncio.run(writes())


def test_several_questions_sent_at_once_are_answered_one_by_one(tmp_path: Path) -> None:
    question = b"GET /health/live HTTP/1.1\r\nHost: x\r\n\r\n"
    last = question.replace(b"\r\n\r\n", b"\r\nConnection: close\r\n\r\n")
    with (
        running(tmp_path, {"engine": "inline"}) as service,
        socket.create_connection(("127.0.0.1", service.port), timeout=20) as connection,
    ):
        connection.sendall(question * 3 + last)
        answers = b"".join(iter(lambda: connection.recv(65536), b""))
    assert answers.count(b"HTTP/1.1 200 OK") == 4
    assert answers.count(b'"live"') == answers.count(b'"status"') == 4
