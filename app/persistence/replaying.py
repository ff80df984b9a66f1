"""The tables as the ledger gives them, made in a place of their own: nobody who reads or writes the registry waits."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from tempfile import TemporaryDirectory

from sqlalchemy import insert

from app.persistence import auditing, projection
from app.persistence.base import table_of
from app.persistence.models import LedgerEntry, LedgerHead, LedgerStream, Row
from app.persistence.session import AnySession, Database, ReadSession, WriteSession


@contextmanager
def replayed(
    session: AnySession, streams_of: Callable[[bytes], tuple[str, ...]], progress: Callable[[int, int], None]
) -> Iterator[ReadSession]:
    """A scratch registry in a temporary file, with every entry that a session sees and the tables that follow from them.

    `streams_of` reads an entry's streams from its body: the registry's own index of them may be what is wrong.
    """
    with TemporaryDirectory(prefix="cantrail-verify-") as folder:
        scratch = Database(f"sqlite:///{Path(folder) / 'replay.sqlite3'}")
        try:
            with scratch.write() as made:
                Row.metadata.create_all(made.connection())
                _copy(session, made, streams_of)
                projection.rebuild(made, progress=progress)
            with scratch.read() as reading:
                yield reading
        finally:
            scratch.dispose()


def _copy(session: AnySession, into: WriteSession, streams_of: Callable[[bytes], tuple[str, ...]]) -> None:
    connection = into.connection()
    last, at = 0, ""
    for some in auditing.stored_entries(session, auditing.Strays([], [])):
        rows = [each._asdict() for each in some]
        streams = [
            {"stream": stream, "seq": each.seq} for each in some for stream in dict.fromkeys(streams_of(each.body))
        ]
        connection.execute(insert(table_of(LedgerEntry)), [_columns(row) for row in rows])
        connection.execute(insert(table_of(LedgerStream)), streams)
        last, at = some[-1].seq, some[-1].at
    connection.execute(insert(table_of(LedgerHead)), {"id": 1, "seq": last, "at": at})


def _columns(row: dict[str, object]) -> dict[str, object]:
    return {name: value for name, value in row.items() if name not in {"streams", "nodes"}}
