"""Indexes that count what an account has done without reading every claim and decision of it: its claims by what became of
them, a reviewer's decisions by what was decided, and which claim answers a rejection."""

from typing import Final

from alembic import op

revision: Final = "track_records"
down_revision: Final = "in_order"
branch_labels: Final = None
depends_on: Final = None

ADDED: Final[dict[str, tuple[str, ...]]] = {
    "claim": ("author", "state", "id"),
    "decision": ("reviewer", "decision", "claim"),
}
"""The columns of a new index on each of these tables."""


def upgrade() -> None:
    """Add them. The one on a decision's reviewer alone has nothing left to do."""
    for table, columns in ADDED.items():
        op.create_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table, list(columns))
    op.create_index(op.f("ix_claim_answers_rejection"), "claim", ["answers_rejection"])
    op.drop_index(op.f("ix_decision_reviewer"), table_name="decision")


def downgrade() -> None:
    """Take them away again."""
    op.create_index(op.f("ix_decision_reviewer"), "decision", ["reviewer"])
    op.drop_index(op.f("ix_claim_answers_rejection"), table_name="claim")
    for table, columns in ADDED.items():
        op.drop_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table_name=table)
