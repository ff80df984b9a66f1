"""Building the tables, and bringing them up to date, by running the migrations."""

from alembic import command
from alembic.config import Config
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import text

from app.persistence.session import Database

# As a package resource: the installed command finds its migrations wherever it is started.
_SCRIPTS = "migrations:."


def upgrade(database: Database) -> None:
    """Bring a database up to the newest migration, all in one transaction. One that is there already is left alone."""
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
    newest = ScriptDirectory.from_config(_config()).get_current_head()
    with database.read() as session:
        return MigrationContext.configure(session.connection()).get_current_revision() == newest


def _config() -> Config:
    config = Config()
    config.set_main_option("script_location", _SCRIPTS)
    return config
