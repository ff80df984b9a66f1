"""The tables that index the ledger: publishers, subjects, documents and claims."""

from typing import Final

import sqlalchemy as sa
from alembic import op

revision: Final = "index"
down_revision: Final = "ledger"
branch_labels: Final = None
depends_on: Final = None

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")

_TABLES: Final = (
    "settlement",
    "dispute",
    "decision",
    "reading",
    "citation",
    "claim",
    "subject_confirmation",
    "document",
    "fitment",
    "gear",
    "fixing",
    "carrier",
    "vehicle",
    "publisher",
)


def upgrade() -> None:
    """Make the tables that the ledger gives."""
    _create_subjects()
    _create_claims()


def downgrade() -> None:
    """Drop them: the ledger has it all, and `rebuild` makes them again."""
    for table in _TABLES:
        op.drop_table(table)


def _words(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, WORDS, nullable=null)


def _packed(name: str, *, null: bool = False) -> sa.Column[str]:
    return sa.Column(name, sa.Text(), nullable=null)


def _number(name: str, *, null: bool = False) -> sa.Column[int]:
    return sa.Column(name, sa.Integer(), autoincrement=False, nullable=null)


def _flag(name: str) -> sa.Column[bool]:
    return sa.Column(name, sa.Boolean(), nullable=False)


def _create_subjects() -> None:
    op.create_table(
        "publisher",
        _words("slug"),
        _number("seq"),
        _words("kind"),
        _words("name", null=True),
        _words("name_sha256", null=True),
        _packed("importer_of"),
        sa.PrimaryKeyConstraint("slug", name="pk_publisher"),
        sa.CheckConstraint("name IS NULL OR name_sha256 IS NULL", name=op.f("ck_publisher_one_name")),
        sa.UniqueConstraint("seq", name="uq_publisher_seq"),
    )
    op.create_table(
        "vehicle",
        _words("slug"),
        _number("seq"),
        _words("maker"),
        _words("model"),
        _words("series", null=True),
        _number("first_year"),
        _number("last_year", null=True),
        _packed("bodies", null=True),
        _packed("roofs", null=True),
        _packed("markets", null=True),
        _flag("confirmed"),
        sa.PrimaryKeyConstraint("slug", name="pk_vehicle"),
        sa.CheckConstraint("last_year IS NULL OR last_year >= first_year", name=op.f("ck_vehicle_years_in_order")),
        sa.ForeignKeyConstraint(["maker"], ["publisher.slug"], name="fk_vehicle_maker"),
        sa.UniqueConstraint("seq", name="uq_vehicle_seq"),
    )
    op.create_index("ix_vehicle_maker", "vehicle", ["maker"])
    op.create_table(
        "carrier",
        _words("slug"),
        _number("seq"),
        _words("maker"),
        _words("model"),
        _words("series", null=True),
        _words("kind"),
        _number("first_year", null=True),
        _number("bars", null=True),
        _words("fixing", null=True),
        _flag("confirmed"),
        sa.PrimaryKeyConstraint("slug", name="pk_carrier"),
        sa.CheckConstraint("bars IS NULL OR bars > 0", name=op.f("ck_carrier_bars_positive")),
        sa.ForeignKeyConstraint(["maker"], ["publisher.slug"], name="fk_carrier_maker"),
        sa.UniqueConstraint("seq", name="uq_carrier_seq"),
    )
    op.create_index("ix_carrier_maker", "carrier", ["maker"])
    op.create_table(
        "fixing",
        _words("slug"),
        _number("seq"),
        _words("maker"),
        _words("model"),
        _words("series", null=True),
        _number("first_year", null=True),
        _number("feet", null=True),
        _packed("holds"),
        _flag("confirmed"),
        sa.PrimaryKeyConstraint("slug", name="pk_fixing"),
        sa.CheckConstraint("feet IS NULL OR feet > 0", name=op.f("ck_fixing_feet_positive")),
        sa.ForeignKeyConstraint(["maker"], ["publisher.slug"], name="fk_fixing_maker"),
        sa.UniqueConstraint("seq", name="uq_fixing_seq"),
    )
    op.create_index("ix_fixing_maker", "fixing", ["maker"])
    op.create_table(
        "gear",
        _words("slug"),
        _number("seq"),
        _words("maker"),
        _words("model"),
        _words("series", null=True),
        _number("first_year", null=True),
        _words("category"),
        _flag("confirmed"),
        sa.PrimaryKeyConstraint("slug", name="pk_gear"),
        sa.ForeignKeyConstraint(["maker"], ["publisher.slug"], name="fk_gear_maker"),
        sa.UniqueConstraint("seq", name="uq_gear_seq"),
    )
    op.create_index("ix_gear_category", "gear", ["category"])
    op.create_index("ix_gear_maker", "gear", ["maker"])
    op.create_table(
        "fitment",
        _words("id"),
        _number("seq"),
        _words("vehicle"),
        _words("carrier"),
        _words("fixing", null=True),
        _packed("roofs", null=True),
        _flag("confirmed"),
        sa.PrimaryKeyConstraint("id", name="pk_fitment"),
        sa.ForeignKeyConstraint(["carrier"], ["carrier.slug"], name="fk_fitment_carrier"),
        sa.ForeignKeyConstraint(["fixing"], ["fixing.slug"], name="fk_fitment_fixing"),
        sa.ForeignKeyConstraint(["vehicle"], ["vehicle.slug"], name="fk_fitment_vehicle"),
        sa.UniqueConstraint("seq", name="uq_fitment_seq"),
    )
    op.create_index("ix_fitment_carrier", "fitment", ["carrier"])
    op.create_index("ix_fitment_fixing", "fitment", ["fixing"])
    op.create_index("ix_fitment_vehicle", "fitment", ["vehicle"])
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


def _create_claims() -> None:
    op.create_table(
        "claim",
        _words("id"),
        _number("seq"),
        _words("subject_kind"),
        _words("subject_id"),
        _words("quantity"),
        _words("condition", null=True),
        _words("state"),
        _packed("statement"),
        _words("source_type"),
        _words("publisher", null=True),
        _words("author"),
        _words("interest"),
        _words("supersedes", null=True),
        _words("superseded_by", null=True),
        _words("answers_rejection", null=True),
        _words("answer_sha256", null=True),
        _number("approvals"),
        _words("submitted_at"),
        _words("review_by", null=True),
        _number("overdue_years", null=True),
        _words("next_aged", null=True),
        sa.PrimaryKeyConstraint("id", name="pk_claim"),
        sa.CheckConstraint("approvals >= 0", name=op.f("ck_claim_approvals_not_negative")),
        sa.CheckConstraint("condition IN ('on_road', 'off_road', 'parked')", name=op.f("ck_claim_condition_known")),
        sa.CheckConstraint("interest IN ('none', 'employer', 'sells', 'owns')", name=op.f("ck_claim_interest_known")),
        sa.CheckConstraint(
            "quantity IN ('roof_limit', 'load_rating', 'own_mass', 'off_road_factor')",
            name=op.f("ck_claim_quantity_known"),
        ),
        sa.CheckConstraint(
            "source_type IN ('manual_page', 'maker_statement', 'accessory_derived', 'unverified')",
            name=op.f("ck_claim_source_type_known"),
        ),
        sa.CheckConstraint(
            "state IN ('submitted', 'needs_evidence', 'approved', 'disputed', 'superseded', 'rejected', 'withdrawn')",
            name=op.f("ck_claim_state_known"),
        ),
        sa.CheckConstraint(
            "subject_kind IN ('vehicle', 'carrier', 'fixing', 'fitment', 'gear')",
            name=op.f("ck_claim_subject_kind_known"),
        ),
        sa.ForeignKeyConstraint(["answers_rejection"], ["claim.id"], name="fk_claim_answers_rejection"),
        sa.ForeignKeyConstraint(["publisher"], ["publisher.slug"], name="fk_claim_publisher"),
        sa.ForeignKeyConstraint(["supersedes"], ["claim.id"], name="fk_claim_supersedes"),
        sa.UniqueConstraint("seq", name="uq_claim_seq"),
    )
    op.create_index("ix_claim_author", "claim", ["author"])
    op.create_index("ix_claim_next_aged", "claim", ["next_aged"])
    op.create_index("ix_claim_state_seq", "claim", ["state", "seq"])
    op.create_index("ix_claim_subject_kind_subject_id_seq", "claim", ["subject_kind", "subject_id", "seq"])
    op.create_index("ix_claim_superseded_by", "claim", ["superseded_by"])
    op.create_index("ix_claim_supersedes", "claim", ["supersedes"])
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
    op.create_table(
        "reading",
        _words("id"),
        _words("claim"),
        _words("reviewer"),
        _packed("statement"),
        _packed("differences"),
        _words("at"),
        sa.PrimaryKeyConstraint("id", name="pk_reading"),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_reading_claim"),
        sa.UniqueConstraint("claim", "reviewer", name="uq_reading_claim_reviewer"),
    )
    op.create_index("ix_reading_reviewer", "reading", ["reviewer"])
    op.create_table(
        "decision",
        _words("id"),
        _words("claim"),
        _words("reviewer"),
        _words("reading", null=True),
        _words("decision"),
        _words("code", null=True),
        _words("reason_sha256"),
        _words("interest"),
        _words("at"),
        sa.PrimaryKeyConstraint("id", name="pk_decision"),
        sa.CheckConstraint(
            "decision IN ('approve', 'reject', 'ask_evidence')", name=op.f("ck_decision_decision_known")
        ),
        sa.CheckConstraint(
            "interest IN ('none', 'employer', 'sells', 'owns')", name=op.f("ck_decision_interest_known")
        ),
        sa.ForeignKeyConstraint(["claim"], ["claim.id"], name="fk_decision_claim"),
        sa.ForeignKeyConstraint(["reading"], ["reading.id"], name="fk_decision_reading"),
    )
    op.create_index("ix_decision_claim", "decision", ["claim"])
    op.create_index("ix_decision_reviewer", "decision", ["reviewer"])
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
