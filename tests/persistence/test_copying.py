"""What a backup takes along."""

from app.persistence import copying
from app.persistence.base import Row
from app.persistence.projection import PROJECTED
from app.persistence.session import Database


def test_no_table_that_is_copied_points_at_one_that_is_made_again() -> None:
    """Copied rows are put in while the tables that the ledger gives are still empty."""
    given = {str(each.__tablename__) for each in PROJECTED}
    pointing = {
        (table.name, key.column.table.name)
        for table in Row.metadata.tables.values()
        if table.name not in given
        for key in table.foreign_keys
        if key.column.table.name in given
    }
    assert pointing == set()


def test_every_table_is_copied_made_again_or_left_out(database: Database) -> None:
    given = {str(each.__tablename__) for each in PROJECTED}
    with database.read() as session:
        copied = set(copying.tables(session))
        assert set(copying.in_order(session)) == copied
    assert copied | given | copying.LEFT_OUT == {*Row.metadata.tables, "alembic_version"}
    assert not copied & given
