"""A trade with a worker, on each database."""

from pathlib import Path

import pytest

from app.persistence.session import Database
from tests.services.outdoors import Outdoors


@pytest.fixture
def outdoors(database: Database, tmp_path: Path) -> Outdoors:
    """People, makers, a vehicle and a carrier, a web and a reader of plain texts."""
    outdoors = Outdoors(database, tmp_path / "evidence")
    outdoors.furnish()
    return outdoors
