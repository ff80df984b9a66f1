import psycopg
import pysqlite3
import pytest
from sqlalchemy.exc import DBAPIError
from sqlalchemy.exc import TimeoutError as PoolTimeoutError

from app.core.errors import CantrailError, Kind
from app.persistence.faults import faults_told, sqlstate, told


class SqliteError(pysqlite3.OperationalError):  # type: ignore[misc]
    def __init__(self, code: int) -> None:
        super().__init__("as the library says it")
        self.sqlite_errorcode = code


def reason(error: BaseException, *, writing: bool = True) -> str | None:
    meaning = told(error, writing=writing)
    if meaning is None:
        return None
    assert (meaning.kind, meaning.code) == (Kind.UNAVAILABLE, "storage_unavailable")
    return meaning.message


@pytest.mark.parametrize(
    ("code", "says"),
    [
        (5, "locked"),
        (517, "locked"),
        (778, "disk reports"),
        (11, "damaged"),
        (13, "full"),
        (14, "opened"),
        (26, "damaged"),
    ],
)
def test_what_sqlite_says_of_its_storage_is_told(code: int, says: str) -> None:
    assert says in str(reason(SqliteError(code), writing=False))


@pytest.mark.parametrize(
    ("state", "says"),
    [("53100", "disk"), ("57P01", "shutting down"), ("55P03", "too long"), ("08006", "lost"), ("3D000", "not there")],
)
def test_what_postgresql_says_of_its_storage_is_told(state: str, says: str) -> None:
    error = psycopg.errors.lookup(state)("as the server says it")
    assert says in str(reason(error, writing=False))
    assert says in str(reason(DBAPIError("…", None, error)))
    assert sqlstate(DBAPIError("…", None, error)) == state


@pytest.mark.parametrize("error", [SqliteError(8), psycopg.errors.lookup("25006")("read-only")])
def test_read_only_is_a_fault_for_a_writer_and_a_mistake_of_a_reader(error: Exception) -> None:
    assert "read-only" in str(reason(error))
    assert reason(error, writing=False) is None


@pytest.mark.parametrize(
    "error",
    [
        SqliteError(1),
        SqliteError(19),
        psycopg.errors.lookup("23505")("unique"),
        psycopg.errors.lookup("25P02")("the transaction has failed already"),
        psycopg.errors.lookup("42P01")("no such table"),
        psycopg.ProgrammingError("the cursor is closed"),
        pysqlite3.ProgrammingError("the connection is closed"),
    ],
)
def test_mistakes_look_like_mistakes(error: Exception) -> None:
    assert reason(error) is None
    with pytest.raises(DBAPIError), faults_told(writing=True):
        raise DBAPIError("…", None, error)


def test_a_server_that_was_never_reached_is_told() -> None:
    assert "lost" in str(reason(psycopg.OperationalError("connection refused")))


def test_too_many_at_once_are_told() -> None:
    with pytest.raises(CantrailError, match="too many"), faults_told(writing=False):
        raise PoolTimeoutError
