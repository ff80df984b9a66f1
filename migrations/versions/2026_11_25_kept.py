"""Kept answers: the requests whose receipts somebody wants to look up again."""

from typing import Final

revision: Final = "kept"
down_revision: Final = "desk"
branch_labels: Final = None
depends_on: Final = None


def upgrade() -> None:
    """Make the tables."""


def downgrade() -> None:
    """Take the tables away."""
