"""The desk: work that waits and that a reviewer has taken in hand, and how often what is asked for.

What waits follows from the ledger: `init` replays it. The rest begins empty.
"""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "desk"
down_revision: Final = "people"
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")
KINDS: Final = (
    "kind IN ('first_reading', 'evidence_brought', 'second_reading', 'review_due', 'settlement', 'mismatch', "
    "'derived_again', 'record', 'near_copy', 'find_evidence', 'evidence_wanted')"
)
SUBJECTS: Final = "subject_kind IN ('vehicle', 'carrier', 'fixing', 'fitment', 'gear')"
QUANTITIES: Final = "quantity IN ('roof_limit', 'load_rating', 'own_mass', 'off_road_factor')"


def upgrade() -> None:
    """Make the tables."""
    _make_work()
    op.create_table(
        "desk_hold",
        _words("kind"),
        _words("about"),
        _words("account"),
        _words("until"),
        sa.PrimaryKeyConstraint("kind", "about", name="pk_desk_hold"),
    )
    op.create_index("ix_desk_hold_account", "desk_hold", ["account"])
    op.create_index("ix_desk_hold_until", "desk_hold", ["until"])
    op.create_table(
        "asked_count",
        _words("subject_kind"),
        _words("subject_id"),
        _words("quantity"),
        _words("condition"),
        sa.Column("asked", sa.Integer(), nullable=False),
        sa.Column("unmet", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("subject_kind", "subject_id", "quantity", "condition", name="pk_asked_count"),
        sa.CheckConstraint(SUBJECTS, name=op.f("ck_asked_count_subject_kind_known")),
        sa.CheckConstraint(QUANTITIES, name=op.f("ck_asked_count_quantity_known")),
        sa.CheckConstraint("asked >= 0 AND unmet >= 0", name=op.f("ck_asked_count_counts_not_negative")),
    )
    op.create_index(
        "ix_asked_count_in_order",
        "asked_count",
        ["subject_kind", "quantity", "unmet", "asked", "subject_id", "condition"],
    )
    op.create_table(
        "day_tally",
        _words("account"),
        _words("day"),
        _words("what"),
        sa.Column("submitted", sa.Integer(), nullable=False),
        sa.PrimaryKeyConstraint("account", "day", "what", name="pk_day_tally"),
        sa.CheckConstraint("submitted >= 0", name=op.f("ck_day_tally_submitted_not_negative")),
    )
    op.create_table(
        "mismatch_judgement",
        _words("id"),
        _words("claim"),
        _words("reading"),
        _words("steward"),
        _words("finding"),
        _words("reason_sha256"),
        _words("at"),
        sa.PrimaryKeyConstraint("id", name="pk_mismatch_judgement"),
        sa.CheckConstraint(
            "finding IN ('claim_goes_beyond', 'reading_mistaken', 'page_unclear')",
            name=op.f("ck_mismatch_judgement_finding_known"),
        ),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_mismatch_judgement_claim"),
        sa.ForeignKeyConstraint(["reading"], ["reading.id"], name="fk_mismatch_judgement_reading"),
    )
    op.create_index("ix_mismatch_judgement_claim", "mismatch_judgement", ["claim"])


def downgrade() -> None:
    """Take the tables away."""
    for table in ("mismatch_judgement", "day_tally", "asked_count", "desk_hold", "desk_work"):
        op.drop_table(table)


def _make_work() -> None:
    op.create_table(
        "desk_work",
        _words("kind"),
        _words("about"),
        _words("claim", null=True),
        _words("subject_kind", null=True),
        _words("subject_id", null=True),
        _words("quantity", null=True),
        _words("maker", null=True),
        _words("publisher", null=True),
        _words("author", null=True),
        _words("since"),
        sa.Column("lowers", sa.Boolean(), nullable=False),
        sa.Column("asked", sa.Integer(), nullable=False),
        sa.Column("newcomer", sa.Boolean(), nullable=False),
        sa.Column("turn", sa.Integer(), nullable=False),
        _words("stands_at"),
        sa.PrimaryKeyConstraint("kind", "about", name="pk_desk_work"),
        sa.CheckConstraint(KINDS, name=op.f("ck_desk_work_kind_known")),
        sa.CheckConstraint(SUBJECTS, name=op.f("ck_desk_work_subject_kind_known")),
        sa.CheckConstraint(QUANTITIES, name=op.f("ck_desk_work_quantity_known")),
        sa.CheckConstraint("asked >= 0", name=op.f("ck_desk_work_asked_not_negative")),
    )
    op.create_index("ix_desk_work_author", "desk_work", ["author"])
    op.create_index("ix_desk_work_claim", "desk_work", ["claim"])
    op.create_index("ix_desk_work_kind_since", "desk_work", ["kind", "since"])
    op.create_index("ix_desk_work_kind_turn_stands_at_about", "desk_work", ["kind", "turn", "stands_at", "about"])
    op.create_index("ix_desk_work_subject_kind_subject_id", "desk_work", ["subject_kind", "subject_id"])
    op.create_index("ix_desk_work_turn_stands_at_kind_about", "desk_work", ["turn", "stands_at", "kind", "about"])


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)
