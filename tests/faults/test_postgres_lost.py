"""A server process killed, and a connection cut around a commit: whoever sends again with the same key is answered, and
what was done is done once."""

import os
import random
import socket
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from hashlib import sha256
from pathlib import Path
from threading import Event, Thread
from typing import Any, Final

import psycopg
from sqlalchemy import make_url

from tests.faults.nothing_lost import assert_each_once, assert_nothing_lost
from tests.faults.paths import Step
from tests.faults.standing import Standing, begun, settled
from tests.web.story import API

KILLS: Final = int(os.environ.get("CANTRAIL_FAULT_KILLS", "50"))
CUTS: Final = int(os.environ.get("CANTRAIL_FAULT_CUTS", "100"))
MOST_TRIES: Final = 20

_KILL: Final = """
SELECT pg_terminate_backend(pid) FROM pg_stat_activity WHERE datname = current_database() AND pid <> pg_backend_pid()
"""


def name_of(number: int) -> str:
    """A name that resembles no other."""
    return sha256(str(number).encode()).hexdigest()[:16]


def publisher(name: str) -> Step:
    return Step("", "contributor", f"{API}/publishers", {"name": name, "kind": "vehicle_maker"})


def sent_until_answered(standing: Standing, name: str) -> int:
    """Send a request with one key until it is answered. Gives how often it came to nothing."""
    for tries in range(MOST_TRIES):
        status, body = standing.do(publisher(name), f"key-{name}")
        if status == 201:
            assert body["name"] == name
            return tries
        assert (status, body["code"]) == (503, "storage_unavailable"), body
    raise AssertionError(f"{name} was never answered")


def test_backends_that_are_killed_lose_nothing(postgresql_url: str, tmp_path: Path) -> None:
    settings = settled(postgresql_url, tmp_path / "data")
    standing = Standing(settings, begun(settings))
    chance = random.Random(5)
    names: list[str] = []
    killed = 0
    with psycopg.connect(postgresql_url.replace("+psycopg", ""), autocommit=True) as admin:
        while killed < KILLS:
            name = name_of(len(names))
            sender = Thread(target=sent_until_answered, args=(standing, name))
            sender.start()
            sender.join(chance.random() * 0.02)
            killed += len(admin.execute(_KILL).fetchall())
            sender.join(30)
            assert not sender.is_alive()
            names.append(name)
    standing.registry.close()
    assert_each_once(settings, names)
    assert_nothing_lost(settings)


class Cutter:
    """Stands between, and cuts the connection around a COMMIT: before it arrives, or before its answer does."""

    def __init__(self, upstream: str) -> None:
        self._upstream = upstream
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port = int(self._listener.getsockname()[1])
        self.mode: str | None = None
        self.cut = 0
        Thread(target=self._accept, daemon=True).start()

    def close(self) -> None:
        self._listener.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                client, _ = self._listener.accept()
                server = socket.socket(socket.AF_UNIX)
                server.connect(self._upstream)
                gone = Event()
                Thread(target=self._forward, args=(client, server, gone), daemon=True).start()
                Thread(target=self._back, args=(client, server, gone), daemon=True).start()

    def _forward(self, client: socket.socket, server: socket.socket, gone: Event) -> None:
        with suppress(OSError):
            while said := client.recv(65_536):
                if self.mode is not None and b"COMMIT" in said:
                    mode, self.mode = self.mode, None
                    self.cut += 1
                    gone.set()
                    if mode == "after":
                        server.sendall(said)
                    break
                server.sendall(said)
        _end(client, server)

    def _back(self, client: socket.socket, server: socket.socket, gone: Event) -> None:
        with suppress(OSError):
            while (said := server.recv(65_536)) and not gone.is_set():
                client.sendall(said)
        _end(client, server)


def _end(*sockets: socket.socket) -> None:
    for each in sockets:
        with suppress(OSError):
            each.shutdown(socket.SHUT_RDWR)
        each.close()


@contextmanager
def cutting(url: str) -> Iterator[tuple[Cutter, str]]:
    """A cutter before a server, and the address of the database by way of it."""
    address = make_url(url)
    folder: Any = address.query.get("host") or address.host
    cutter = Cutter(f"{folder}/.s.PGSQL.{address.port or 5432}")
    through = address.set(host="127.0.0.1", port=cutter.port, query={"sslmode": "disable", "gssencmode": "disable"})
    with closing(cutter):
        yield cutter, through.render_as_string(hide_password=False)


def test_a_connection_cut_around_a_commit_is_resolved_by_the_key(postgresql_url: str, tmp_path: Path) -> None:
    people = begun(settled(postgresql_url, tmp_path / "data"))
    with cutting(postgresql_url) as (cutter, through):
        settings = settled(through, tmp_path / "data")
        standing = Standing(settings, people)
        names, failed = [], 0
        for number in range(CUTS):
            cutter.mode = ("before", "after")[number % 2]
            names.append(name_of(number))
            failed += sent_until_answered(standing, names[-1])
        standing.registry.close()
        assert cutter.cut == CUTS
    assert failed >= CUTS * 0.9
    assert_each_once(settled(postgresql_url, tmp_path / "data"), names)
    assert_nothing_lost(settled(postgresql_url, tmp_path / "data"))
