"""Placements: subjects that are one, and claims that were placed on another subject."""

from typing import Final

revision: Final = "placements"
down_revision: Final = "kept"
branch_labels: Final = None
depends_on: Final = None


def upgrade() -> None:
    """Make the tables."""


def downgrade() -> None:
    """Take the tables away."""
