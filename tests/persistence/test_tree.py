from collections.abc import Iterator
from contextlib import contextmanager

import pytest
from alembic import command
from sqlalchemy import delete, event, text, update
from sqlalchemy.exc import DatabaseError
from sqlmodel import col, select

from app.core.errors import CantrailError
from app.core.merkle import Tree, consistency_holds, inclusion_holds
from app.persistence import ledger, migrate, tree
from app.persistence.models import LedgerEntry, LedgerHead, LedgerNode
from app.persistence.session import Database
from tests.persistence.tampering import unguard
from tests.persistence.test_ledger import add, append

SIZE = 21


def fill(database: Database, size: int = SIZE) -> list[bytes]:
    """A ledger of some entries; gives their leaf hashes."""
    with database.write() as session:
        for number in range(size):
            append(session, f"p{number}")
    with database.read() as session:
        return list(session.exec(select(LedgerEntry.leaf_hash).order_by(col(LedgerEntry.seq))))


def stored(database: Database) -> dict[tuple[int, int], bytes]:
    with database.read() as session:
        return {(each.seq, each.level): each.hash for each in session.exec(select(LedgerNode))}


def worked_out(leaves: list[bytes]) -> dict[tuple[int, int], bytes]:
    grown = Tree()
    return {(seq, level): hash for seq, leaf in enumerate(leaves, start=1) for level, hash in grown.add(leaf)}


def roots(leaves: list[bytes]) -> list[bytes]:
    grown = Tree()
    found = [grown.root()]
    for leaf in leaves:
        grown.add(leaf)
        found.append(grown.root())
    return found


def test_every_complete_subtree_is_stored_and_no_other(database: Database) -> None:
    assert stored(database) == {}
    leaves = fill(database)
    assert stored(database) == worked_out(leaves)
    add(database, "one")
    with database.write() as session:
        append(session, "two")
        append(session, "three")
    with database.read() as session:
        leaves = list(session.exec(select(LedgerEntry.leaf_hash).order_by(col(LedgerEntry.seq))))
    assert stored(database) == worked_out(leaves)


def test_roots_and_proofs_of_every_size(database: Database) -> None:
    leaves = fill(database)
    expected = roots(leaves)
    with database.read() as session:
        assert [tree.root(session, size=size) for size in range(SIZE + 1)] == expected
        for size in range(1, SIZE + 1):
            for seq in range(1, size + 1):
                proof = tree.inclusion_proof(session, seq=seq, size=size)
                assert inclusion_holds(index=seq - 1, size=size, leaf=leaves[seq - 1], proof=proof, root=expected[size])
                shown = tree.consistency_proof(session, earlier=seq, size=size)
                assert consistency_holds(
                    earlier=seq, earlier_root=expected[seq], size=size, root=expected[size], proof=shown
                )
        assert tree.leaf(session, seq=3) == leaves[2]


@contextmanager
def counted(database: Database) -> Iterator[list[str]]:
    """The statements that readers run."""
    ran: list[str] = []

    def note(_c: object, _k: object, statement: str, *_: object) -> None:
        if statement.startswith("SELECT"):
            ran.append(statement)

    event.listen(database._reader, "before_cursor_execute", note)
    yield ran
    event.remove(database._reader, "before_cursor_execute", note)


def test_a_root_or_a_proof_of_a_large_ledger_takes_few_reads(database: Database) -> None:
    fill(database, 1023)
    with counted(database) as ran, database.read() as session:
        tree.root(session, size=1023)
        assert len(ran) <= 10
        ran.clear()
        tree.inclusion_proof(session, seq=500, size=1023)
        assert len(ran) <= 2 * 10
        ran.clear()
        tree.consistency_proof(session, earlier=341, size=1023)
        assert len(ran) <= 3 * 10


def test_what_a_block_wrote_of_the_tree_is_gone_when_it_raises(database: Database) -> None:
    fill(database, 3)
    with pytest.raises(KeyError), database.write() as session:
        append(session, "lost")
        raise KeyError
    assert stored(database).keys() == {(2, 1)}


@pytest.mark.parametrize(
    "change", [update(LedgerNode).values(hash=b"x" * 32), delete(LedgerNode)], ids=["update", "delete"]
)
def test_the_database_itself_refuses_to_change_the_tree(database: Database, change: object) -> None:
    fill(database, 4)
    before = stored(database)
    with pytest.raises(DatabaseError, match="append-only"), database.write() as session:
        session.exec(change)  # type: ignore[call-overload]
    assert stored(database) == before


def test_replacing_a_node_is_refused_too(database: Database) -> None:
    fill(database, 4)
    before = stored(database)
    statement = (
        "INSERT OR REPLACE INTO ledger_node (seq, level, hash) VALUES (4, 2, :hash)"
        if database.is_sqlite
        else "INSERT INTO ledger_node (seq, level, hash) VALUES (4, 2, :hash) ON CONFLICT (seq, level) DO UPDATE "
        "SET hash = :hash"
    )
    with pytest.raises(DatabaseError, match="append-only"), database.write() as session:
        session.connection().execute(text(statement), {"hash": b"x" * 32})
    assert stored(database) == before


def test_nothing_is_appended_to_a_tree_that_lacks_a_node(database: Database) -> None:
    fill(database, 3)
    unguard(database)
    with database.write() as session:
        session.exec(delete(LedgerNode))
        session.exec(update(LedgerHead).values(tops=None))
    with pytest.raises(CantrailError, match="damaged at entry 2") as refused, database.write() as session:
        append(session, "four")
    assert refused.value.code == "ledger_damaged"
    assert database.probe() == 3
    with pytest.raises(CantrailError, match="damaged at entry 2"), database.read() as session:
        tree.root(session, size=3)


@pytest.mark.parametrize("tops", [None, b"", b"x" * 31])
def test_a_head_without_what_the_next_entry_is_joined_to_is_mended(database: Database, tops: bytes | None) -> None:
    leaves = fill(database, 11)
    with database.write() as session:
        session.exec(update(LedgerHead).values(tops=tops))
    for number in range(5):
        leaves.append(_next_leaf(database, f"next-{number}"))
    assert stored(database) == worked_out(leaves)
    with database.read() as session:
        grown = Tree()
        for leaf in leaves:
            grown.add(leaf)
        assert session.exec(select(LedgerHead.tops)).one() == grown.tops() == grown.root()


@pytest.mark.parametrize("size", [0, 1, 13, 2100])
def test_a_ledger_from_before_gets_its_tree_by_the_migration(database: Database, size: int) -> None:
    leaves = fill(database, size)
    config = migrate._config()
    with database.write() as session:
        config.attributes["connection"] = session.connection()
        command.downgrade(config, "enquiries")
    with database.write() as session:
        config.attributes["connection"] = session.connection()
        command.upgrade(config, "proofs")
    assert stored(database) == worked_out(leaves)
    if size > 1:
        with pytest.raises(DatabaseError, match="append-only"), database.write() as session:
            session.connection().exec_driver_sql("DELETE FROM ledger_node")
    migrate.upgrade(database)
    leaves.append(_next_leaf(database))
    assert stored(database) == worked_out(leaves)


def _next_leaf(database: Database, name: str = "next") -> bytes:
    add(database, name)
    with database.read() as session:
        return tree.leaf(session, seq=ledger.head(session))
