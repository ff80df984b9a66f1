"""Alembic's environment: migrations run over a connection of our own, which takes the writer's turn and commits once."""

from typing import Any, Literal

from alembic import context
from sqlalchemy import Connection

from app.persistence.base import EnumText, Packed, UtcText
from app.persistence.models import Row
from app.persistence.session import Database
from app.settings import Settings


def render_type(kind: str, shown: Any, _autogenerate: object) -> str | Literal[False]:
    """Migrations must not depend on the code of the day: they name the plain types that are stored."""
    if kind != "type":
        return False
    if isinstance(shown, Packed):
        return "sa.Text()"
    if isinstance(shown, EnumText | UtcText) or getattr(shown, "_variant_mapping", None):
        return "WORDS"
    return False


def run(connection: Connection) -> None:
    """Run what is asked for over one connection."""
    context.configure(
        connection=connection,
        target_metadata=Row.metadata,
        render_as_batch=connection.dialect.name == "sqlite",
        render_item=render_type,
        compare_server_default=True,
    )
    with context.begin_transaction():
        context.run_migrations()


given: Connection | None = context.config.attributes.get("connection")
if given is not None:
    run(given)
else:
    with Database(Settings().url).write() as session:
        run(session.connection())
