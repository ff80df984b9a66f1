"""One dialect and one store of compiled statements for each kind of database in a process.

A registry keeps one engine for as long as it is served, and compiles a statement once. Tests open hundreds of registries
one after the other, and would compile every statement again for each.
"""

from typing import Final

from sqlalchemy import Dialect, Engine
from sqlalchemy.dialects.postgresql.psycopg import PGDialect_psycopg
from sqlalchemy.dialects.sqlite.pysqlite import SQLiteDialect_pysqlite
from sqlalchemy.util import LRUCache

_ENOUGH: Final = 5000

_first: Final[dict[type[Dialect], Engine]] = {}


def share_compiled_statements() -> None:
    """From now on an engine takes its dialect and its compiled statements from the first of its kind."""
    for dialect in (SQLiteDialect_pysqlite, PGDialect_psycopg):
        dialect.engine_created = classmethod(_share)  # type: ignore[assignment]


def _share(kind: type[Dialect], engine: Engine) -> None:
    first = _first.setdefault(kind, engine)
    if first is engine:
        engine._compiled_cache = LRUCache(_ENOUGH)
        return
    engine.dialect = engine.pool._dialect = first.dialect
    engine._compiled_cache = first._compiled_cache
