"""People: passwords, sessions, one-time passwords, recovery codes, interests and attempts to sign in."""

from typing import Final

revision: Final = "people"
down_revision: Final = "proofs"
branch_labels: Final = None
depends_on: Final = None


def upgrade() -> None:
    """Make the tables."""


def downgrade() -> None:
    """Take the tables away."""
