"""Enquiries: what was asked of whom about a figure, and what became of it.

It begins empty: where the ledger tells of enquiries already, `init` replays it.
"""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "enquiries"
down_revision: Final = "evidence"
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Make the table of enquiries."""
    op.create_table(
        "enquiry",
        _words("id"),
        sa.Column("seq", sa.Integer(), autoincrement=False, nullable=False),
        _words("subject_kind"),
        _words("subject_id"),
        _words("asked"),
        _words("quantity"),
        sa.Column("conditions", sa.Text(), nullable=False),
        _words("channel"),
        _words("questions_sha256"),
        _words("asked_on"),
        _words("answer_by"),
        _words("language", null=True),
        _words("by"),
        _words("at"),
        _words("outcome", null=True),
        _words("closed_on", null=True),
        _words("closed_by", null=True),
        _words("document", null=True),
        _words("note_sha256", null=True),
        _words("ask_again", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_enquiry"),
        sa.CheckConstraint(
            "subject_kind IN ('vehicle', 'carrier', 'fixing', 'fitment', 'gear')",
            name=op.f("ck_enquiry_subject_kind_known"),
        ),
        sa.CheckConstraint(
            "quantity IN ('roof_limit', 'load_rating', 'own_mass', 'off_road_factor')",
            name=op.f("ck_enquiry_quantity_known"),
        ),
        sa.CheckConstraint(
            "channel IN ('letter', 'email', 'telephone', 'form', 'counter')", name=op.f("ck_enquiry_channel_known")
        ),
        sa.CheckConstraint(
            "outcome IN ('answered', 'quoted_carrier_rating', 'did_not_know', 'declined', 'not_rated', 'no_answer')",
            name=op.f("ck_enquiry_outcome_known"),
        ),
        sa.CheckConstraint("length(questions_sha256) = 64", name=op.f("ck_enquiry_questions_sha256_is_sha256")),
        sa.ForeignKeyConstraint(["asked"], ["publisher.slug"], name="fk_enquiry_asked"),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_enquiry_document"),
        sa.UniqueConstraint("seq", name="uq_enquiry_seq"),
    )
    op.create_index("ix_enquiry_ask_again", "enquiry", ["ask_again"])
    op.create_index("ix_enquiry_asked", "enquiry", ["asked"])
    op.create_index("ix_enquiry_document", "enquiry", ["document"])
    op.create_index("ix_enquiry_outcome_answer_by", "enquiry", ["outcome", "answer_by"])
    op.create_index("ix_enquiry_subject_kind_subject_id_seq", "enquiry", ["subject_kind", "subject_id", "seq"])


def downgrade() -> None:
    """Take the table of enquiries away."""
    op.drop_table("enquiry")


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)
