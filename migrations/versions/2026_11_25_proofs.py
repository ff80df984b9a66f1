"""Proofs: the inner nodes of the ledger's Merkle tree, worked out for the entries that are there already."""

from collections.abc import Iterator
from hashlib import sha256
from typing import Any, Final

import sqlalchemy as sa
from alembic import op

revision: Final = "proofs"
down_revision: Final = "enquiries"
branch_labels: Final = None
depends_on: Final = None

_AT_ONCE: Final = 1000

_SQLITE_GUARDS: Final = (
    """
    CREATE TRIGGER ledger_node_no_update BEFORE UPDATE ON ledger_node
    BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END
    """,
    """
    CREATE TRIGGER ledger_node_no_delete BEFORE DELETE ON ledger_node
    BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END
    """,
    # INSERT OR REPLACE deletes what it replaces without asking the triggers above.
    """
    CREATE TRIGGER ledger_node_once BEFORE INSERT ON ledger_node
    WHEN EXISTS (SELECT 1 FROM ledger_node WHERE seq = NEW.seq AND level = NEW.level)
    BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END
    """,
)

_POSTGRESQL_GUARDS: Final = (
    """
    CREATE TRIGGER ledger_node_no_change BEFORE UPDATE OR DELETE ON ledger_node
    FOR EACH ROW EXECUTE FUNCTION ledger_is_append_only()
    """,
    """
    CREATE TRIGGER ledger_node_no_truncate BEFORE TRUNCATE ON ledger_node
    FOR EACH STATEMENT EXECUTE FUNCTION ledger_is_append_only()
    """,
    "REVOKE UPDATE, DELETE, TRUNCATE ON ledger_node FROM PUBLIC, CURRENT_USER",
)


def upgrade() -> None:
    """Make the table of nodes, fill it, and guard it."""
    op.create_table(
        "ledger_node",
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("level", sa.Integer(), autoincrement=False, nullable=False),
        sa.Column("hash", sa.LargeBinary(), nullable=False),
        sa.PrimaryKeyConstraint("seq", "level", name="pk_ledger_node"),
        sa.CheckConstraint("length(hash) = 32", name=op.f("ck_ledger_node_hash_size")),
        sa.CheckConstraint("level BETWEEN 1 AND 31", name=op.f("ck_ledger_node_level_known")),
    )
    op.add_column("ledger_head", sa.Column("tops", sa.LargeBinary(), nullable=True))
    _fill()
    for statement in _SQLITE_GUARDS if op.get_bind().dialect.name == "sqlite" else _POSTGRESQL_GUARDS:
        op.execute(statement)


def downgrade() -> None:
    """Take the table of nodes away: it can be worked out again from the entries."""
    op.drop_table("ledger_node")
    op.drop_column("ledger_head", "tops")


def _fill() -> None:
    """The nodes of the entries that are there already."""
    connection = op.get_bind()
    add = sa.text("INSERT INTO ledger_node (seq, level, hash) VALUES (:seq, :level, :hash)")
    tops: list[bytes] = []
    rows: list[dict[str, Any]] = []
    for seq, leaf in _leaves(connection):
        top = leaf
        # An entry completes one node for each time that 2 divides its number.
        for level in range(1, (seq & -seq).bit_length()):
            top = sha256(b"\x01" + tops.pop() + top).digest()
            rows.append({"seq": seq, "level": level, "hash": top})
        tops.append(top)
        if len(rows) >= _AT_ONCE:
            connection.execute(add, rows)
            rows = []
    if rows:
        connection.execute(add, rows)
    connection.execute(sa.text("UPDATE ledger_head SET tops = :tops"), {"tops": b"".join(tops)})


def _leaves(connection: sa.Connection) -> Iterator[tuple[int, bytes]]:
    """Every entry's number and hash, in order."""
    some = sa.text("SELECT seq, leaf_hash FROM ledger_entry WHERE seq > :after ORDER BY seq LIMIT :most")
    after = 0
    while found := connection.execute(some, {"after": after, "most": _AT_ONCE}).all():
        for seq, leaf in found:
            yield seq, bytes(leaf)
        after = found[-1].seq
