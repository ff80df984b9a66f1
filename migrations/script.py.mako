"""${message}"""

from typing import Final

import sqlalchemy as sa
from alembic import op
${imports if imports else ""}
revision: Final = ${repr(up_revision)}
down_revision: Final = ${repr(down_revision)}
branch_labels: Final = ${repr(branch_labels)}
depends_on: Final = ${repr(depends_on)}

WORDS: Final = sa.Text().with_variant(sa.Text(collation="C"), "postgresql")


def upgrade() -> None:
    """Bring the tables forward."""
    ${upgrades if upgrades else "pass"}


def downgrade() -> None:
    """Take the step back."""
    ${downgrades if downgrades else "pass"}
