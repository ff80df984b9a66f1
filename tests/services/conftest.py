"""A trade on each database."""

from pathlib import Path

import pytest

from app.persistence.session import Database
from tests.services.outdoors import Outdoors
from tests.services.trade import Trade, furnished_like


@pytest.fixture
def trade(database: Database, tmp_path: Path, furnished: Trade) -> Trade:
    """People, makers, a vehicle and a carrier."""
    if furnished_like(furnished, database):
        return Trade(database, tmp_path / "evidence", like=furnished)
    trade = Trade(database, tmp_path / "evidence")
    trade.furnish()
    return trade


@pytest.fixture
def outdoors(database: Database, tmp_path: Path, furnished: Trade) -> Outdoors:
    """The same, with a worker, papers with words and addresses."""
    if furnished_like(furnished, database):
        return Outdoors(database, tmp_path / "evidence", like=furnished)
    outdoors = Outdoors(database, tmp_path / "evidence")
    outdoors.furnish()
    return outdoors
