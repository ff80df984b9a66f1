"""Proofs: the inner nodes of the ledger's Merkle tree."""

from typing import Final

revision: Final = "proofs"
down_revision: Final = "enquiries"
branch_labels: Final = None
depends_on: Final = None


def upgrade() -> None:
    """Make the tables."""


def downgrade() -> None:
    """Take the tables away."""
