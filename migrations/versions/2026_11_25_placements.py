"""Placements: corrections, who stands behind a record as it is now, and subjects that are one or are two.

The tables of placements and corrections begin empty: no ledger tells of any yet.
"""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "placements"
down_revision: Final = "kept"
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Make the tables, and enter who stands behind each record."""
    op.create_table(
        "placement",
        _words("id"),
        sa.Column("seq", sa.Integer(), nullable=False),
        _words("kind"),
        _words("subject_kind"),
        _words("subject_id"),
        _words("other_id"),
        sa.Column("claims", sa.Text(), nullable=False),
        sa.Column("fitments", sa.Text(), nullable=False),
        _words("undoes", null=True),
        _words("reason_sha256"),
        _words("by"),
        _words("at"),
        _words("state"),
        sa.Column("decided", sa.Integer(), nullable=True),
        _words("decided_by", null=True),
        _words("decided_at", null=True),
        _words("decided_reason_sha256", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_placement"),
        sa.UniqueConstraint("seq", name="uq_placement_seq"),
        sa.CheckConstraint("kind IN ('merger', 'split', 'undoing')", name=op.f("ck_placement_kind_known")),
        sa.CheckConstraint(
            "state IN ('proposed', 'in_force', 'refused', 'withdrawn', 'undone')",
            name=op.f("ck_placement_state_known"),
        ),
        _subject_kind_known("placement"),
    )
    op.create_index("ix_placement_subject_kind_subject_id", "placement", ["subject_kind", "subject_id"])
    op.create_index("ix_placement_subject_kind_other_id", "placement", ["subject_kind", "other_id"])
    op.create_index("ix_placement_state_seq", "placement", ["state", "seq"])
    op.create_table(
        "correction",
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        _words("subject_kind"),
        _words("subject_id"),
        _words("reason_sha256"),
        _words("by"),
        _words("at"),
        sa.PrimaryKeyConstraint("seq", name="pk_correction"),
        _subject_kind_known("correction"),
    )
    op.create_index("ix_correction_subject_kind_subject_id_seq", "correction", ["subject_kind", "subject_id", "seq"])
    op.create_table(
        "standing_confirmation",
        _words("subject_kind"),
        _words("subject_id"),
        _words("reviewer"),
        sa.PrimaryKeyConstraint("subject_kind", "subject_id", "reviewer", name="pk_standing_confirmation"),
        _subject_kind_known("standing_confirmation"),
    )
    op.execute(
        "INSERT INTO standing_confirmation (subject_kind, subject_id, reviewer) "
        "SELECT DISTINCT subject_kind, subject_id, reviewer FROM subject_confirmation"
    )


def downgrade() -> None:
    """Take the tables away."""
    for table in ("standing_confirmation", "correction", "placement"):
        op.drop_table(table)


def _subject_kind_known(table: str) -> sa.CheckConstraint:
    return sa.CheckConstraint(
        "subject_kind IN ('vehicle', 'carrier', 'fixing', 'fitment', 'gear')",
        name=op.f(f"ck_{table}_subject_kind_known"),
    )


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)
