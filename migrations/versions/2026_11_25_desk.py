"""The desk: work that a reviewer has taken in hand, and how often what is asked for."""

from typing import Final

revision: Final = "desk"
down_revision: Final = "people"
branch_labels: Final = None
depends_on: Final = None


def upgrade() -> None:
    """Make the tables."""


def downgrade() -> None:
    """Take the tables away."""
