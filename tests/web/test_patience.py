"""The server waits for a request's head, but not for ever, and not for one without an end."""

import asyncio
from collections.abc import Awaitable, Callable
from contextlib import suppress
from typing import Any, Final

import pytest
import uvicorn
from uvicorn.server import ServerState

from app.web import wire

Talk = Callable[[asyncio.StreamReader, asyncio.StreamWriter], Awaitable[bytes]]
HEAD: Final = b"GET / HTTP/1.1\r\nHost: registry.example\r\n"


async def answering(scope: Any, receive: Any, send: Any) -> None:
    body = b""
    while (message := await receive())["type"] == "http.request":
        body += message.get("body", b"")
        if not message.get("more_body"):
            break
    told = str(len(body)).encode()
    headers = [(b"content-length", str(len(told)).encode())]
    await send({"type": "http.response.start", "status": 200, "headers": headers})
    await send({"type": "http.response.body", "body": told})


async def refusing(scope: Any, receive: Any, send: Any) -> None:
    await send({"type": "http.response.start", "status": 401, "headers": [(b"content-length", b"2")]})
    await send({"type": "http.response.body", "body": b"no"})


def talked(talk: Talk) -> bytes:
    """What a server says to somebody who talks to it over a socket, until it hangs up or they have done."""

    async def run() -> bytes:
        config = uvicorn.Config(answering, http=wire.PatientProtocol, ws="none", lifespan="off", log_config=None)
        config.load()
        state = ServerState()
        loop = asyncio.get_running_loop()
        server = await loop.create_server(lambda: wire.PatientProtocol(config, state, {}), "127.0.0.1", 0)
        host, port = server.sockets[0].getsockname()
        reader, writer = await asyncio.open_connection(host, port)
        try:
            return await asyncio.wait_for(talk(reader, writer), 60)
        finally:
            writer.close()
            server.close()
            for task in list(state.tasks):
                task.cancel()

    return asyncio.run(run())


async def till_the_end(reader: asyncio.StreamReader) -> bytes:
    try:
        return await reader.read()
    except ConnectionResetError:
        return b""


def test_requests_are_answered_one_after_another_and_many_at_once() -> None:
    many = 200

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        writer.write((HEAD + b"X: " + b"x" * 500 + b"\r\n\r\n") * many)
        told = b""
        while told.count(b"HTTP/1.1 200") < many:
            told += await reader.read(65536)
        writer.write(HEAD + b"Content-Length: 300000\r\nConnection: close\r\n\r\n" + b"x" * 300_000)
        return told + await till_the_end(reader)

    told = talked(talk)
    assert told.count(b"HTTP/1.1 200 OK") == many + 1
    assert told.endswith(b"300000")


def test_a_head_without_an_end_is_not_listened_to() -> None:
    sent = 0

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        nonlocal sent
        writer.write(HEAD)
        try:
            while sent < 100 * wire.LONGEST_HEAD and not reader.at_eof():
                writer.write(b"X-%d: %s\r\n" % (sent, b"x" * 1000))
                sent += 1000
                await writer.drain()
                await asyncio.sleep(0)
        except ConnectionError:
            return b""
        return await till_the_end(reader)

    assert talked(talk) == b""
    assert sent < 100 * wire.LONGEST_HEAD


@pytest.mark.parametrize("begun", [b"", HEAD, b"G"])
def test_a_head_that_drips_is_not_waited_for(begun: bytes, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wire, "HEAD_WITHIN_S", 0.3)

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        writer.write(begun)
        return await till_the_end(reader)

    assert talked(talk) == b""


def test_the_second_head_on_a_line_is_not_waited_for_either(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wire, "HEAD_WITHIN_S", 0.3)

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        writer.write(HEAD + b"\r\n")
        first = await reader.readuntil(b"\r\n\r\n0")
        writer.write(HEAD)
        return first + await till_the_end(reader)

    assert talked(talk).count(b"HTTP/1.1") == 1


def test_what_begins_no_request_keeps_no_connection_open(monkeypatch: pytest.MonkeyPatch) -> None:
    """An empty line after an answer stops the time that uvicorn keeps a connection for; nothing else would end it."""
    monkeypatch.setattr(wire, "HEAD_WITHIN_S", 0.3)

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        writer.write(HEAD + b"\r\n")
        first = await reader.readuntil(b"\r\n\r\n0")
        writer.write(b"\r\n")
        return first + await till_the_end(reader)

    assert talked(talk).count(b"HTTP/1.1") == 1


def test_a_body_that_nobody_reads_keeps_no_connection_open(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wire, "HEAD_WITHIN_S", 0.3)
    monkeypatch.setitem(globals(), "answering", refusing)

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        writer.write(HEAD + b"Content-Length: 1000\r\n\r\n")
        first = await reader.readuntil(b"no")
        with suppress(ConnectionError):
            while not reader.at_eof():
                writer.write(b"x")
                await asyncio.sleep(0.05)
        return first

    assert talked(talk).endswith(b"no")


def test_a_line_that_was_idle_is_still_good_for_a_request(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(wire, "HEAD_WITHIN_S", 0.3)

    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        writer.write(HEAD + b"\r\n")
        first = await reader.readuntil(b"\r\n\r\n0")
        writer.write(b"\r\n" + HEAD + b"\r\n")
        second = await reader.readuntil(b"\r\n\r\n0")
        await asyncio.sleep(0.6)
        writer.write(HEAD + b"Connection: close\r\n\r\n")
        return first + second + await till_the_end(reader)

    assert talked(talk).count(b"HTTP/1.1 200") == 3


def test_a_head_in_pieces_is_answered() -> None:
    async def talk(reader: asyncio.StreamReader, writer: asyncio.StreamWriter) -> bytes:
        for letter in HEAD + b"Connection: close\r\n\r\n":
            writer.write(bytes([letter]))
            await writer.drain()
        return await till_the_end(reader)

    assert b"200 OK" in talked(talk)
