"""People: passwords, sessions, one-time passwords, recovery codes, interests and attempts to sign in."""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "people"
down_revision: Final = "proofs"
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Make the tables."""
    for name in ("password_hash", "forgotten_at"):
        op.add_column("account", _words(name, null=True))
    op.create_table(
        "web_session",
        _words("token_sha256"),
        _words("account_id"),
        sa.Column("second_factor", sa.Boolean(), nullable=False),
        _words("created_at"),
        _words("last_seen_at"),
        _words("expires_at"),
        sa.PrimaryKeyConstraint("token_sha256", name="pk_web_session"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name="fk_web_session_account_id"),
        sa.CheckConstraint("length(token_sha256) = 64", name=op.f("ck_web_session_token_sha256_is_sha256")),
    )
    op.create_index("ix_web_session_account_id", "web_session", ["account_id"])
    op.create_index("ix_web_session_expires_at", "web_session", ["expires_at"])
    op.create_table(
        "one_time_password",
        _words("account_id"),
        _words("sealed"),
        _words("created_at"),
        _words("confirmed_at", null=True),
        sa.Column("last_step", sa.Integer(), nullable=True),
        sa.PrimaryKeyConstraint("account_id", name="pk_one_time_password"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name="fk_one_time_password_account_id"),
    )
    op.create_table(
        "single_use_code",
        _words("code_sha256"),
        _words("account_id"),
        _words("purpose"),
        _words("created_at"),
        _words("expires_at", null=True),
        sa.PrimaryKeyConstraint("code_sha256", name="pk_single_use_code"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name="fk_single_use_code_account_id"),
        sa.CheckConstraint("purpose IN ('recovery', 'reset')", name=op.f("ck_single_use_code_purpose_known")),
        sa.CheckConstraint("length(code_sha256) = 64", name=op.f("ck_single_use_code_code_sha256_is_sha256")),
    )
    op.create_index("ix_single_use_code_account_id", "single_use_code", ["account_id"])
    _make_counts()
    op.create_table(
        "declared_interest",
        _words("account_id"),
        _words("publisher"),
        _words("kind"),
        _words("declared_at"),
        _words("dropped_at", null=True),
        sa.PrimaryKeyConstraint("account_id", "publisher", "kind", name="pk_declared_interest"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name="fk_declared_interest_account_id"),
        sa.CheckConstraint("kind IN ('employer', 'sells')", name=op.f("ck_declared_interest_kind_known")),
    )


def _make_counts() -> None:
    op.create_table(
        "sign_in_count",
        _words("bucket"),
        sa.Column("tries", sa.Integer(), nullable=False),
        _words("since"),
        sa.PrimaryKeyConstraint("bucket", name="pk_sign_in_count"),
        sa.CheckConstraint("tries >= 0", name=op.f("ck_sign_in_count_tries_not_negative")),
    )
    op.create_index("ix_sign_in_count_since", "sign_in_count", ["since"])
    op.create_table(
        "known_address",
        _words("account_id"),
        _words("address"),
        _words("last_at"),
        sa.PrimaryKeyConstraint("account_id", "address", name="pk_known_address"),
        sa.ForeignKeyConstraint(["account_id"], ["account.id"], name="fk_known_address_account_id"),
    )
    op.create_index("ix_known_address_last_at", "known_address", ["last_at"])


def downgrade() -> None:
    """Take the tables away."""
    for table in (
        "declared_interest",
        "known_address",
        "sign_in_count",
        "single_use_code",
        "one_time_password",
        "web_session",
    ):
        op.drop_table(table)
    for name in ("forgotten_at", "password_hash"):
        op.drop_column("account", name)


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)
