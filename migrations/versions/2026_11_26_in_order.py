"""Indexes that give what pages ask for in the order in which they show it: an account's claims and readings, what waits
for an author, a publisher's documents, a maker's vehicles; and who decided on a claim."""

from typing import Final

from alembic import op

revision: Final = "in_order"
down_revision: Final = "placements"
branch_labels: Final = None
depends_on: Final = None

WIDENED: Final[dict[tuple[str, str], tuple[str, ...]]] = {
    ("claim", "author"): ("author", "seq"),
    ("decision", "claim"): ("claim", "reviewer"),
    ("desk_work", "author"): ("author", "kind", "turn", "stands_at", "about"),
    ("document", "publisher"): ("publisher", "seq"),
    ("reading", "reviewer"): ("reviewer", "at"),
    ("vehicle", "maker"): ("maker", "slug"),
}
"""The indexes on one column, each with the columns of the one that takes its place."""


def upgrade() -> None:
    """Put the wider ones in the place of the narrow ones."""
    for (table, column), columns in WIDENED.items():
        op.drop_index(op.f(f"ix_{table}_{column}"), table_name=table)
        op.create_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table, list(columns))


def downgrade() -> None:
    """Put the narrow ones back."""
    for (table, column), columns in WIDENED.items():
        op.drop_index(op.f(f"ix_{table}_{'_'.join(columns)}"), table_name=table)
        op.create_index(op.f(f"ix_{table}_{column}"), table, [column])
