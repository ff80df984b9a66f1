"""Documents that have an address, that are read and that are copies of each other; the outbox; what is worked back.

A table that others point at cannot be changed in place on SQLite. These are the ledger's index: they are dropped and made
anew, empty, and `init` replays the ledger into them.
"""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "evidence"
down_revision: Final = "index"
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

_NEW: Final = ("outbox_job", "taken_input", "sketch", "copy_judgement", "snapshot")
_MADE_ANEW: Final = ("settlement", "dispute", "citation", "subject_confirmation", "document")


def upgrade() -> None:
    """Make the tables of documents anew, and those that are new."""
    _drop(_MADE_ANEW)
    _create_documents()
    _create_beside_documents()
    _create_what_is_new()


def downgrade() -> None:
    """Make the tables as they were."""
    _drop(_NEW)
    _drop(_MADE_ANEW)
    _create_documents_as_they_were()
    _create_beside_documents()


def _drop(tables: tuple[str, ...]) -> None:
    for table in tables:
        op.drop_table(table)


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)


def _packed(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), nullable=null)


def _number(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), autoincrement=False, nullable=null)


def _create_documents() -> None:
    op.create_table(
        "document",
        _words("id"),
        _number("seq"),
        _words("sha256", null=True),
        _number("size", null=True),
        _words("media_type", null=True),
        _words("publisher"),
        _words("kind"),
        _words("title_sha256", null=True),
        _words("address_sha256", null=True),
        _words("edition", null=True),
        _words("published", null=True),
        _words("obtained", null=True),
        _words("language", null=True),
        _words("market", null=True),
        _words("submitted_by"),
        _words("submitted_at"),
        _words("checked", null=True),
        _words("checked_at", null=True),
        _number("pages", null=True),
        _words("text_source", null=True),
        _words("text_sha256", null=True),
        _packed("flags", null=True),
        _words("not_read", null=True),
        _words("taken_down", null=True),
        _words("taken_down_reason_sha256", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_document"),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_document_sha256_is_sha256")),
        sa.CheckConstraint("length(text_sha256) = 64", name=op.f("ck_document_text_sha256_is_sha256")),
        sa.CheckConstraint("(sha256 IS NULL) = (size IS NULL)", name=op.f("ck_document_file_or_none")),
        sa.CheckConstraint(
            "sha256 IS NOT NULL OR address_sha256 IS NOT NULL", name=op.f("ck_document_file_or_address")
        ),
        sa.CheckConstraint("size >= 0", name=op.f("ck_document_size_not_negative")),
        sa.ForeignKeyConstraint(["publisher"], ["publisher.slug"], name="fk_document_publisher"),
        sa.UniqueConstraint("seq", name="uq_document_seq"),
    )
    op.create_index("ix_document_address_sha256", "document", ["address_sha256"])
    op.create_index("ix_document_publisher", "document", ["publisher"])
    op.create_index("ix_document_sha256", "document", ["sha256"])
    op.create_table(
        "citation",
        _words("id"),
        _words("claim"),
        _words("document"),
        _words("page", null=True),
        _words("locator", null=True),
        _words("quote_sha256", null=True),
        _words("by"),
        _words("at"),
        _words("outcome", null=True),
        _number("found_page", null=True),
        _packed("box", null=True),
        _words("read_sha256", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_citation"),
        sa.CheckConstraint(
            "outcome IN ('found', 'apart', 'not_found', 'no_text')", name=op.f("ck_citation_outcome_known")
        ),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_citation_claim"),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_citation_document"),
    )
    op.create_index("ix_citation_claim", "citation", ["claim"])
    op.create_index("ix_citation_document", "citation", ["document"])


def _create_documents_as_they_were() -> None:
    op.create_table(
        "document",
        _words("id"),
        _number("seq"),
        _words("sha256"),
        _number("size"),
        _words("media_type"),
        _words("publisher"),
        _words("kind"),
        _words("title_sha256", null=True),
        _words("edition", null=True),
        _words("published", null=True),
        _words("obtained", null=True),
        _words("language", null=True),
        _words("market", null=True),
        _words("submitted_by"),
        _words("submitted_at"),
        sa.PrimaryKeyConstraint("id", name="pk_document"),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_document_sha256_is_sha256")),
        sa.CheckConstraint("size >= 0", name=op.f("ck_document_size_not_negative")),
        sa.ForeignKeyConstraint(["publisher"], ["publisher.slug"], name="fk_document_publisher"),
        sa.UniqueConstraint("seq", name="uq_document_seq"),
    )
    op.create_index("ix_document_publisher", "document", ["publisher"])
    op.create_index("ix_document_sha256", "document", ["sha256"])
    op.create_table(
        "citation",
        _words("id"),
        _words("claim"),
        _words("document"),
        _words("page", null=True),
        _words("locator", null=True),
        _words("quote_sha256", null=True),
        _words("by"),
        _words("at"),
        sa.PrimaryKeyConstraint("id", name="pk_citation"),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_citation_claim"),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_citation_document"),
    )
    op.create_index("ix_citation_claim", "citation", ["claim"])
    op.create_index("ix_citation_document", "citation", ["document"])


def _create_beside_documents() -> None:
    op.create_table(
        "subject_confirmation",
        _number("seq"),
        _words("subject_kind"),
        _words("subject_id"),
        _words("reviewer"),
        _words("document", null=True),
        _words("at"),
        sa.PrimaryKeyConstraint("seq", name="pk_subject_confirmation"),
        sa.CheckConstraint(
            "subject_kind IN ('vehicle', 'carrier', 'fixing', 'fitment', 'gear')",
            name=op.f("ck_subject_confirmation_subject_kind_known"),
        ),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_subject_confirmation_document"),
    )
    op.create_index(
        "ix_subject_confirmation_subject_kind_subject_id", "subject_confirmation", ["subject_kind", "subject_id"]
    )
    op.create_table(
        "dispute",
        _words("id"),
        _words("claim"),
        _words("by"),
        _words("document", null=True),
        _words("page", null=True),
        _words("reason_sha256"),
        _words("interest"),
        _words("state"),
        _words("at"),
        sa.PrimaryKeyConstraint("id", name="pk_dispute"),
        sa.CheckConstraint("interest IN ('none', 'employer', 'sells', 'owns')", name=op.f("ck_dispute_interest_known")),
        sa.CheckConstraint("state IN ('open', 'upheld', 'refuted', 'lapsed')", name=op.f("ck_dispute_state_known")),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_dispute_claim"),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_dispute_document"),
    )
    op.create_index("ix_dispute_claim", "dispute", ["claim"])
    op.create_index("ix_dispute_state_at", "dispute", ["state", "at"])
    op.create_table(
        "settlement",
        _words("id"),
        _words("dispute"),
        _words("claim"),
        _words("reviewer"),
        _words("settlement"),
        _words("code", null=True),
        _words("reason_sha256"),
        _words("at"),
        sa.PrimaryKeyConstraint("id", name="pk_settlement"),
        sa.CheckConstraint("settlement IN ('uphold', 'refute')", name=op.f("ck_settlement_settlement_known")),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_settlement_claim"),
        sa.ForeignKeyConstraint(["dispute"], ["dispute.id"], name="fk_settlement_dispute"),
    )
    op.create_index("ix_settlement_claim", "settlement", ["claim"])
    op.create_index("ix_settlement_dispute", "settlement", ["dispute"])


def _create_what_is_new() -> None:
    op.create_table(
        "snapshot",
        _number("seq"),
        _words("document"),
        _words("sha256"),
        _number("size"),
        _words("media_type"),
        _words("at"),
        sa.PrimaryKeyConstraint("seq", name="pk_snapshot"),
        sa.CheckConstraint("length(sha256) = 64", name=op.f("ck_snapshot_sha256_is_sha256")),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_snapshot_document"),
    )
    op.create_index("ix_snapshot_document", "snapshot", ["document"])
    op.create_index("ix_snapshot_sha256", "snapshot", ["sha256"])
    op.create_table(
        "copy_judgement",
        _number("seq"),
        _words("document"),
        _words("of"),
        sa.Column("copied", sa.Boolean(), nullable=False),
        sa.Column("reviewer", sa.Boolean(), nullable=False),
        _words("by"),
        _words("at"),
        sa.PrimaryKeyConstraint("seq", name="pk_copy_judgement"),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_copy_judgement_document"),
        sa.ForeignKeyConstraint(["of"], ["document.id"], name="fk_copy_judgement_of"),
    )
    op.create_index("ix_copy_judgement_document", "copy_judgement", ["document"])
    op.create_index("ix_copy_judgement_of", "copy_judgement", ["of"])
    op.create_table(
        "sketch",
        _words("document"),
        sa.Column("number", sa.BigInteger(), autoincrement=False, nullable=False),
        sa.PrimaryKeyConstraint("document", "number", name="pk_sketch"),
        sa.ForeignKeyConstraint(["document"], ["document.id"], name="fk_sketch_document"),
    )
    op.create_index("ix_sketch_number", "sketch", ["number"])
    op.create_table(
        "taken_input",
        _words("claim"),
        _words("subject_kind"),
        _words("subject_id"),
        sa.PrimaryKeyConstraint("claim", "subject_kind", "subject_id", name="pk_taken_input"),
        sa.CheckConstraint(
            "subject_kind IN ('vehicle', 'carrier', 'fixing', 'fitment', 'gear')",
            name=op.f("ck_taken_input_subject_kind_known"),
        ),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_taken_input_claim"),
    )
    op.create_index("ix_taken_input_subject_kind_subject_id", "taken_input", ["subject_kind", "subject_id"])
    op.create_table(
        "outbox_job",
        _words("kind"),
        _words("about"),
        _words("due_at"),
        _number("attempts"),
        _words("lease", null=True),
        _words("leased_until", null=True),
        _words("failure", null=True),
        sa.PrimaryKeyConstraint("kind", "about", name="pk_outbox_job"),
        sa.CheckConstraint("attempts >= 0", name=op.f("ck_outbox_job_attempts_not_negative")),
    )
    op.create_index("ix_outbox_job_due_at", "outbox_job", ["due_at"])
