"""The ledger, kept append-only by triggers, and what is kept beside it: accounts, tokens, keys and texts."""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "ledger"
down_revision: Final = None
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

_APPEND_ONLY: Final = ("ledger_entry", "ledger_stream")

_SQLITE_GUARDS: Final = (
    """
    CREATE TRIGGER {table}_no_update BEFORE UPDATE ON {table}
    BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END
    """,
    """
    CREATE TRIGGER {table}_no_delete BEFORE DELETE ON {table}
    BEGIN SELECT RAISE(ABORT, 'the ledger is append-only'); END
    """,
)

# INSERT OR REPLACE deletes what it replaces without asking the triggers above: only the next number may be inserted.
_SQLITE_NEXT: Final = (
    """
    CREATE TRIGGER ledger_entry_next BEFORE INSERT ON ledger_entry
    WHEN NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM ledger_entry)
    BEGIN SELECT RAISE(ABORT, 'the ledger has no gaps'); END
    """,
)

_POSTGRESQL_NEXT: Final = (
    """
    CREATE FUNCTION ledger_is_append_only() RETURNS trigger LANGUAGE plpgsql AS
    $$ BEGIN RAISE EXCEPTION 'the ledger is append-only'; END $$
    """,
    """
    CREATE FUNCTION ledger_has_no_gaps() RETURNS trigger LANGUAGE plpgsql AS $$
    BEGIN
        IF NEW.seq <> (SELECT coalesce(max(seq), 0) + 1 FROM ledger_entry) THEN
            RAISE EXCEPTION 'the ledger has no gaps';
        END IF;
        RETURN NEW;
    END $$
    """,
    """
    CREATE TRIGGER ledger_entry_next BEFORE INSERT ON ledger_entry
    FOR EACH ROW EXECUTE FUNCTION ledger_has_no_gaps()
    """,
)

# Who may not update a row may not lock it either, which is how PostgreSQL checks a foreign key: none leads here.
_POSTGRESQL_GUARDS: Final = (
    """
    CREATE TRIGGER {table}_no_change BEFORE UPDATE OR DELETE ON {table}
    FOR EACH ROW EXECUTE FUNCTION ledger_is_append_only()
    """,
    """
    CREATE TRIGGER {table}_no_truncate BEFORE TRUNCATE ON {table}
    FOR EACH STATEMENT EXECUTE FUNCTION ledger_is_append_only()
    """,
    "REVOKE UPDATE, DELETE, TRUNCATE ON {table} FROM PUBLIC, CURRENT_USER",
)


def upgrade() -> None:
    """Make the ledger, the guards that keep it append-only, and what is kept beside it."""
    _create_ledger()
    _guard_ledger()
    _create_stores()


def downgrade() -> None:
    """Refuse: dropping a ledger is not a step that a migration takes."""
    raise RuntimeError("the first migration is not taken back: delete the database instead")


def _guard_ledger() -> None:
    sqlite = op.get_bind().dialect.name == "sqlite"
    for statement in _SQLITE_NEXT if sqlite else _POSTGRESQL_NEXT:
        op.execute(statement)
    for table in _APPEND_ONLY:
        for statement in _SQLITE_GUARDS if sqlite else _POSTGRESQL_GUARDS:
            op.execute(statement.format(table=table))


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)


def _packed(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), nullable=null)


def _number(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), autoincrement=False, nullable=null)


def _bytes(name: str) -> sa.Column[bytes]:
    return sa.Column(name, sa.LargeBinary(), nullable=False)


def _create_ledger() -> None:
    op.create_table(
        "ledger_entry",
        _number("seq"),
        _words("at"),
        _words("actor"),
        _words("type"),
        _number("version"),
        _bytes("body"),
        _bytes("leaf_hash"),
        sa.PrimaryKeyConstraint("seq", name="pk_ledger_entry"),
        sa.CheckConstraint("length(body) BETWEEN 1 AND 65535", name=op.f("ck_ledger_entry_body_size")),
        sa.CheckConstraint("length(leaf_hash) = 32", name=op.f("ck_ledger_entry_leaf_hash_size")),
        sa.CheckConstraint("seq > 0", name=op.f("ck_ledger_entry_seq_positive")),
    )
    op.create_index("ix_ledger_entry_actor", "ledger_entry", ["actor"])
    op.create_index("ix_ledger_entry_at", "ledger_entry", ["at"])
    op.create_table(
        "ledger_stream",
        _words("stream"),
        _number("seq"),
        sa.PrimaryKeyConstraint("stream", "seq", name="pk_ledger_stream"),
    )
    op.create_index("ix_ledger_stream_seq", "ledger_stream", ["seq"])
    op.create_table(
        "ledger_head",
        _number("id"),
        _number("seq"),
        _words("at"),
        sa.PrimaryKeyConstraint("id", name="pk_ledger_head"),
        sa.CheckConstraint("id = 1", name=op.f("ck_ledger_head_one_row")),
    )
    op.execute("INSERT INTO ledger_head (id, seq, at) VALUES (1, 0, '')")


def _create_stores() -> None:
    op.create_table(
        "text",
        _words("sha256"),
        _words("content", null=True),
        _words("taken_down", null=True),
        sa.PrimaryKeyConstraint("sha256", name="pk_text"),
        sa.CheckConstraint("(content IS NULL) = (taken_down IS NOT NULL)", name=op.f("ck_text_held_or_taken_down")),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_text_sha256_is_sha256")),
    )
    op.create_table(
        "account",
        _words("id"),
        _words("name"),
        _words("role"),
        _words("created_at"),
        _words("disabled_at", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_account"),
        sa.CheckConstraint("role IN ('contributor', 'reviewer', 'steward')", name=op.f("ck_account_role_known")),
        sa.UniqueConstraint("name", name="uq_account_name"),
    )
    op.create_table(
        "token",
        _words("id"),
        _words("account_id"),
        _words("name"),
        _words("token_sha256"),
        _packed("scopes"),
        _words("created_at"),
        _words("expires_at", null=True),
        _words("revoked_at", null=True),
        _words("last_used_at", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_token"),
        sa.CheckConstraint("length(token_sha256) = 64", name=op.f("ck_token_token_sha256_is_sha256")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name="fk_token_account_id"),
        sa.UniqueConstraint("token_sha256", name="uq_token_token_sha256"),
    )
    op.create_index("ix_token_account_id", "token", ["account_id"])
    op.create_table(
        "idempotency_key",
        _words("account_id"),
        _words("key"),
        _words("request_sha256"),
        _number("status"),
        _bytes("body"),
        _words("created_at"),
        sa.PrimaryKeyConstraint("account_id", "key", name="pk_idempotency_key"),
        sa.CheckConstraint("length(request_sha256) = 64", name=op.f("ck_idempotency_key_request_sha256_is_sha256")),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name="fk_idempotency_key_account_id"),
    )
    op.create_index("ix_idempotency_key_created_at", "idempotency_key", ["created_at"])
