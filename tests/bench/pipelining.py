"""Load from one connection after another, many requests written at once: what is measured is the server."""

import socket
import time
from typing import Final

AT_ONCE: Final = 64
CONNECTIONS: Final = 4


def request(method: str, path: str, body: bytes = b"", headers: dict[str, str] | None = None) -> bytes:
    """One HTTP/1.1 request as bytes."""
    lines = [f"{method} {path} HTTP/1.1", "Host: 127.0.0.1"]
    if body:
        lines += ["Content-Type: application/json", f"Content-Length: {len(body)}"]
    lines += [f"{name}: {value}" for name, value in (headers or {}).items()]
    return "\r\n".join([*lines, "", ""]).encode() + body


def rate(port: int, requests: list[bytes], seconds: float, expect: int = 200) -> float:
    """Responses a second, over some connections in turn, each with many requests under way."""
    sockets = [socket.create_connection(("127.0.0.1", port)) for _ in range(CONNECTIONS)]
    mark = f"HTTP/1.1 {expect}".encode()
    batch = b"".join(requests[place % len(requests)] for place in range(AT_ONCE))
    done = 0
    try:
        begun = time.perf_counter()
        while (elapsed := time.perf_counter() - begun) < seconds:
            for each in sockets:
                each.sendall(batch)
            for each in sockets:
                _read(each, mark)
                done += AT_ONCE
        return done / elapsed
    finally:
        for each in sockets:
            each.close()


def _read(connection: socket.socket, mark: bytes) -> None:
    """Read as many responses as were asked for, all with the status expected."""
    left, seen = b"", 0
    while seen < AT_ONCE:
        chunk = connection.recv(1 << 20)
        if not chunk:
            raise ConnectionError("the server closed the connection")
        left += chunk
        while (end := left.find(b"\r\n\r\n")) >= 0:
            head = left[:end]
            if not head.startswith(mark):
                raise AssertionError(head[:400] + left[end : end + 400])
            length = _length(head)
            if len(left) < end + 4 + length:
                break
            left = left[end + 4 + length :]
            seen += 1


def _length(head: bytes) -> int:
    for line in head.split(b"\r\n"):
        name, _, value = line.partition(b":")
        if name.lower() == b"content-length":
            return int(value)
    return 0
