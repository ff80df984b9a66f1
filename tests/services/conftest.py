"""A trade on each database."""

from pathlib import Path

import pytest

from app.persistence.session import Database
from tests.services.outdoors import Outdoors
from tests.services.trade import Trade


@pytest.fixture
def trade(database: Database, tmp_path: Path) -> Trade:
    """People, makers, a vehicle and a carrier."""
    trade = Trade(database, tmp_path / "evidence")
    trade.furnish()
    return trade


@pytest.fixture
def outdoors(database: Database, tmp_path: Path) -> Outdoors:
    """The same, with a worker, papers with words and addresses."""
    outdoors = Outdoors(database, tmp_path / "evidence")
    outdoors.furnish()
    return outdoors
