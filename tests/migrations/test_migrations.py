import subprocess
import sys
from pathlib import Path

import psycopg
import pytest
from alembic import command
from alembic.autogenerate import compare_metadata
from alembic.migration import MigrationContext
from alembic.script import ScriptDirectory
from sqlalchemy import inspect, make_url

from app.bootstrap import prepare
from app.core.errors import CantrailError
from app.persistence import migrate
from app.persistence.models import Row
from app.persistence.session import Database
from app.settings import Settings
from tests.persistence.story import whole_life
from tests.persistence.test_projection import tables
from tests.postgres import Postgres


def test_the_migrations_make_the_tables_that_the_models_describe(database: Database) -> None:
    with database.write() as session:
        context = MigrationContext.configure(session.connection(), opts={"compare_type": True})
        assert compare_metadata(context, Row.metadata) == []


def test_the_migrations_make_every_check(database: Database) -> None:
    """Alembic does not compare these."""
    with database.read() as session:
        inspector = inspect(session.connection())
        for table in Row.metadata.sorted_tables:
            described = {str(each.name): each for each in table.constraints if each.name}
            wanted = {name for name in described if name.startswith("ck_")}
            assert {str(each["name"]) for each in inspector.get_check_constraints(table.name)} == wanted
            keys = {str(each["name"]) for each in inspector.get_foreign_keys(table.name)}
            assert keys == {name for name in described if name.startswith("fk_")}


def test_a_check_says_the_same_in_the_model_and_in_the_database(tmp_path: Path) -> None:
    database = Database(f"sqlite:///{tmp_path / 'made.sqlite3'}")
    migrate.upgrade(database)
    with database.write() as session:
        found = {
            (table.name, str(each["name"])): each["sqltext"]
            for table in Row.metadata.sorted_tables
            for each in inspect(session.connection()).get_check_constraints(table.name)
        }
        for table in Row.metadata.sorted_tables:
            session.connection().exec_driver_sql(f"DROP TABLE IF EXISTS copy_{table.name}")
    modelled = {
        (table.name, str(each.name)): str(getattr(each, "sqltext", ""))
        for table in Row.metadata.sorted_tables
        for each in table.constraints
        if str(each.name).startswith("ck_")
    }
    assert found == modelled
    database.dispose()


def test_a_bare_database_is_not_current_until_it_is_brought_up(bare_url: str) -> None:
    database = Database(bare_url)
    assert not migrate.is_current(database)
    migrate.upgrade(database)
    assert migrate.is_current(database)
    migrate.upgrade(database)
    assert database.probe() == 0
    whole_life(database)
    database.dispose()


def test_the_tables_can_be_taken_back_and_the_ledger_cannot(bare_url: str) -> None:
    database = Database(bare_url)
    migrate.upgrade(database)
    config = migrate._config()
    with database.write() as session:
        config.attributes["connection"] = session.connection()
        command.downgrade(config, "ledger")
        assert "ledger_entry" in inspect(session.connection()).get_table_names()
        assert "claim" not in inspect(session.connection()).get_table_names()
    with pytest.raises(RuntimeError, match="not taken back"), database.write() as session:
        config.attributes["connection"] = session.connection()
        command.downgrade(config, "base")
    migrate.upgrade(database)
    assert migrate.is_current(database)
    database.dispose()


def test_the_line_of_migrations_does_not_fork_and_ends_in_the_newest() -> None:
    assert ScriptDirectory.from_config(migrate._config()).get_heads() == [migrate.NEWEST]


def test_alembic_is_loaded_only_to_bring_a_database_up(database_url: str) -> None:
    look = (
        "import sys; from app.persistence import migrate; from app.persistence.session import Database; "
        f"print(migrate.is_current(Database({database_url!r})), 'alembic' in sys.modules)"
    )
    ran = subprocess.run([sys.executable, "-c", look], capture_output=True, text=True, check=True)
    assert ran.stdout == "True False\n"


def test_a_database_that_stands_at_another_migration_is_not_current(bare_url: str) -> None:
    database = Database(bare_url)
    migrate.upgrade(database)
    with database.write() as session:
        session.connection().exec_driver_sql("UPDATE alembic_version SET version_num = 'evidence'")
    assert not migrate.is_current(database)
    database.dispose()


def test_an_ordinary_role_may_append_and_not_change(postgres: Postgres, worker_id: str) -> None:
    """In production the registry's role owns its tables and is no superuser: rights and foreign keys must both hold."""
    name = f"owned_{worker_id}"
    postgres.create(name)
    admin = postgres.url(name).replace("+psycopg", "")
    with psycopg.connect(admin, autocommit=True) as connection:
        connection.execute(f"DROP ROLE IF EXISTS {name}".encode())
        connection.execute(f"CREATE ROLE {name} LOGIN".encode())
        connection.execute(f"GRANT CREATE ON SCHEMA public TO {name}".encode())
    url = make_url(postgres.url(name)).set(username=name)
    database = Database(url.render_as_string(hide_password=False))
    migrate.upgrade(database)
    whole_life(database)
    for change in ("UPDATE ledger_entry SET actor = 'x'", "DELETE FROM ledger_stream", "TRUNCATE ledger_entry"):
        with pytest.raises(Exception, match="permission denied"), database.write() as session:
            session.connection().exec_driver_sql(change)
    database.dispose()
    postgres.drop(name)


def test_alembic_itself_runs_from_the_checkout(tmp_path: Path) -> None:
    ran = subprocess.run(
        [sys.executable, "-m", "alembic", "upgrade", "head"],
        env={"CANTRAIL_DATABASE_URL": f"sqlite:///{tmp_path / 'made.sqlite3'}", "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
    )
    assert ran.returncode == 0, ran.stderr
    database = Database(f"sqlite:///{tmp_path / 'made.sqlite3'}")
    assert migrate.is_current(database)
    database.dispose()


def test_a_database_that_cannot_be_reached_is_told(tmp_path: Path) -> None:
    with pytest.raises(CantrailError, match="cannot be used now"):
        migrate.is_current(Database(f"sqlite:///{tmp_path}"))


def test_a_registry_from_before_is_brought_up_with_its_ledger_replayed(tmp_path: Path) -> None:
    """Tables that others point at are dropped by a migration: `init` makes them again from the ledger."""
    settings = Settings(data_dir=tmp_path)
    database = prepare(settings)
    story = whole_life(database)
    before = tables(story.database)
    with database.write() as session:
        config = migrate._config()
        config.attributes["connection"] = session.connection()
        command.downgrade(config, "index")
    assert not migrate.is_current(database)
    database.dispose()

    again = prepare(settings)

    assert migrate.is_current(again)
    assert tables(again) == before
    again.dispose()
