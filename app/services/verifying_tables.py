"""The tables held against what the ledger gives, row by row and both ways."""

from collections.abc import Iterator
from typing import Any

from app.persistence import auditing
from app.persistence.base import table_of
from app.persistence.models import Row
from app.persistence.projection import PROJECTED
from app.persistence.session import AnySession
from app.services.findings import Findings, Progress

_Line = tuple[Any, ...]


def compare(found: Findings, session: AnySession, replay: AnySession, progress: Progress) -> None:
    """Compare every table that the ledger gives. Raises `storage_damaged` where one cannot be read."""
    for done, row in enumerate(PROJECTED):
        progress("tables", done, len(PROJECTED))
        _compare_table(found, row, auditing.table_rows(session, row), auditing.table_rows(replay, row))
    progress("tables", len(PROJECTED), len(PROJECTED))


def _compare_table(found: Findings, row: type[Row], stored: Iterator[_Line], given: Iterator[_Line]) -> None:
    """Both come in the order of their keys: whichever is behind has a row that the other has not."""
    table = table_of(row)
    names = list(table.c.keys())
    key_at = [names.index(column.name) for column in table.primary_key.columns]
    has, wants = next(stored, None), next(given, None)
    while has is not None or wants is not None:
        order = _order(has, wants, key_at)
        if order < 0 and has is not None:
            found.looked_at += 1
            found.add(_where(table.name, has, key_at), "the ledger gives no such row")
            has = next(stored, None)
        elif order > 0 and wants is not None:
            found.add(_where(table.name, wants, key_at), "the ledger gives this row, and it is not there")
            wants = next(given, None)
        elif has is not None and wants is not None:
            found.looked_at += 1
            for name, value, right in zip(names, has, wants, strict=True):
                if not _same(value, right):
                    found.add(
                        _where(table.name, has, key_at),
                        f"{name} is {_short(value)}; by the ledger it is {_short(right)}",
                    )
            has, wants = next(stored, None), next(given, None)


def _same(value: Any, right: Any) -> bool:
    """PostgreSQL has truth values where SQLite has numbers; 1 and "1" are different on both."""
    if isinstance(value, bool | int) and isinstance(right, bool | int):
        return value == right
    return type(value) is type(right) and value == right


def _order(has: _Line | None, wants: _Line | None, key_at: list[int]) -> int:
    if has is None or wants is None:
        return 1 if has is None else -1
    left, right = ([_rank(line[place]) for place in key_at] for line in (has, wants))
    return (left > right) - (left < right)


def _rank(value: Any) -> tuple[int, Any]:
    """Values of different types in the order that SQLite has for them."""
    match value:
        case None:
            return (0, 0)
        case bool() | int() | float():
            return (1, value)
        case str():
            return (2, value)
        case _:
            return (3, value)


def _where(table: str, line: _Line, key_at: list[int]) -> str:
    return f"{table} {' '.join(_short(line[place]).strip(chr(39)) for place in key_at)}"


def _short(value: Any) -> str:
    shown = repr(value)
    return shown if len(shown) <= 60 else f"{shown[:59]}…"
