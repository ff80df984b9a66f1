"""Building the tables, and bringing them up to date, by running the migrations.

Every command asks whether the database is up to date, and few bring it there: Alembic, which takes longer to import than
most commands take, is imported for those alone.
"""

from typing import TYPE_CHECKING, Final

from sqlalchemy import inspect, text

from app.core.errors import CantrailError, Kind
from app.persistence.session import Database, WriteSession

if TYPE_CHECKING:
    from alembic.config import Config

NEWEST: Final = "track_records"
"""The revision of the newest migration."""

RESTORING: Final = "restoring"
"""What stands in the place of a revision while a registry is being restored: nothing opens it before it was verified."""

# As a package resource: the installed command finds its migrations wherever it is started.
_SCRIPTS = "migrations:."


def upgrade(database: Database) -> None:
    """Bring a database up to the newest migration, all in one transaction. One that is there already is left alone."""
    with database.write() as session:
        upgrade_to(session, "head")


def upgrade_to(session: WriteSession, revision: str) -> None:
    """Bring a database up to a revision, in a transaction of somebody else's."""
    from alembic import command

    config = _config()
    connection = session.connection()
    if connection.dialect.name == "postgresql":
        # Building an index over a large registry takes longer than a request may.
        connection.execute(text("SET LOCAL statement_timeout = 0"))
    config.attributes["connection"] = connection
    command.upgrade(config, revision)


def knows(revision: str) -> bool:
    """Whether a revision is one of this program's."""
    from alembic.script import ScriptDirectory

    return revision in {each.revision for each in ScriptDirectory.from_config(_config()).walk_revisions()}


def is_unfinished(session: WriteSession) -> bool:
    """Whether a restore into this database has not come to its end."""
    if not inspect(session.connection()).has_table("alembic_version"):
        return False
    return session.connection().scalars(text("SELECT version_num FROM alembic_version")).all() == [RESTORING]


def call(session: WriteSession, revision: str) -> None:
    """Say at which revision a database is, without changing anything else."""
    session.connection().execute(text("UPDATE alembic_version SET version_num = :revision"), {"revision": revision})


def is_current(database: Database) -> bool:
    """Whether a database has had every migration. Raises `storage_unavailable`, and `restore_unfinished`."""
    with database.read() as session:
        connection = session.connection()
        if not inspect(connection).has_table("alembic_version"):
            return False
        found = connection.scalars(text("SELECT version_num FROM alembic_version")).all()
    if found == [RESTORING]:
        raise CantrailError(
            Kind.UNAVAILABLE,
            "restore_unfinished",
            "A restore into this database did not come to its end: restore again.",
        )
    return found == [NEWEST]


def _config() -> "Config":
    from alembic.config import Config

    config = Config()
    config.set_main_option("script_location", _SCRIPTS)
    return config
