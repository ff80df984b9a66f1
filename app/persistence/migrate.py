"""Building the tables, and bringing them up to date, by running the migrations.

Every command asks whether the database is up to date, and few bring it there: Alembic, which takes longer to import than
most commands take, is imported for those alone.
"""

from typing import TYPE_CHECKING, Final

from sqlalchemy import inspect, text

from app.persistence.session import Database

if TYPE_CHECKING:
    from alembic.config import Config

NEWEST: Final = "placements"
"""The revision of the newest migration."""

# As a package resource: the installed command finds its migrations wherever it is started.
_SCRIPTS = "migrations:."


def upgrade(database: Database) -> None:
    """Bring a database up to the newest migration, all in one transaction. One that is there already is left alone."""
    from alembic import command

    config = _config()
    with database.write() as session:
        connection = session.connection()
        if not database.is_sqlite:
            # Building an index over a large registry takes longer than a request may.
            connection.execute(text("SET LOCAL statement_timeout = 0"))
        config.attributes["connection"] = connection
        command.upgrade(config, "head")


def is_current(database: Database) -> bool:
    """Whether a database has had every migration. Raises `storage_unavailable`."""
    with database.read() as session:
        connection = session.connection()
        if not inspect(connection).has_table("alembic_version"):
            return False
        return connection.scalars(text("SELECT version_num FROM alembic_version")).all() == [NEWEST]


def _config() -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", _SCRIPTS)
    return config
