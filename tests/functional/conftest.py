"""The demo registry as it is after the worker has read its papers, and as the oracle takes it."""

import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from app.bootstrap import Registry, open_registry
from app.core.claim import Subject, SubjectKind
from app.core.dossier import Facts, fold
from app.persistence import ledger
from app.services.facts import load
from app.settings import Settings
from app.worker.draining import drain
from seed_demo.carriers import CARRIERS
from seed_demo.fixings import FIXINGS
from seed_demo.gear import GEAR
from seed_demo.shapes import Record
from seed_demo.vehicles import VEHICLES
from tests.functional.reading import NoFetcher, PlainReader
from tests.functional.told import Known, registry_of, scored


@pytest.fixture(scope="package")
def registry(demo_folder: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Registry]:
    """The demo, its papers read."""
    folder = shutil.copytree(demo_folder, tmp_path_factory.mktemp("read") / "demo")
    settings = Settings(data_dir=folder, database_url=None)
    registry = open_registry(settings, fetcher=NoFetcher(), reader=PlainReader())
    drain(registry)
    yield registry
    registry.close()


@pytest.fixture(scope="package")
def facts(registry: Registry) -> Facts:
    """All that the ledger says."""
    with registry.database.read() as session:
        return fold(ledger.every_entry(session))


@pytest.fixture(scope="package")
def known(registry: Registry, facts: Facts) -> Known:
    """The dossiers of everything on the demo's lists, and every claim as the oracle scores it."""
    kinds: list[tuple[SubjectKind, tuple[Record[Any], ...]]] = [
        (SubjectKind.VEHICLE, VEHICLES),
        (SubjectKind.CARRIER, CARRIERS),
        (SubjectKind.FIXING, FIXINGS),
        (SubjectKind.GEAR, GEAR),
    ]
    found = {}
    with registry.database.read() as session:
        for kind, records in kinds:
            for record in records:
                subject = Subject(kind, record.key)
                loaded = load(session, subject)
                assert loaded is not None
                found[subject] = loaded.dossier
    return Known(found, scored(registry_of(facts)))
