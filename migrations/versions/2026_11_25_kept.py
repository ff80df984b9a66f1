"""Kept answers: the requests whose receipts somebody wants to look up again."""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "kept"
down_revision: Final = "desk"
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Make the table."""
    op.create_table(
        "kept_receipt",
        _words("digest"),
        sa.Column("as_of", sa.Integer(), nullable=False),
        _words("method"),
        _words("request", null=True),
        _words("kept_at"),
        _words("removed_at", null=True),
        _words("removed_by", null=True),
        sa.PrimaryKeyConstraint("digest", name="pk_kept_receipt"),
        sa.CheckConstraint("length(digest) = 64", name=op.f("ck_kept_receipt_digest_is_sha256")),
        sa.CheckConstraint("as_of >= 0", name=op.f("ck_kept_receipt_as_of_not_negative")),
        sa.CheckConstraint(
            "(request IS NULL) = (removed_at IS NOT NULL)", name=op.f("ck_kept_receipt_kept_or_removed")
        ),
        sa.CheckConstraint(
            "(removed_at IS NULL) = (removed_by IS NULL)", name=op.f("ck_kept_receipt_removed_by_somebody")
        ),
    )


def downgrade() -> None:
    """Take the table away."""
    op.drop_table("kept_receipt")


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)
