"""What slow work is done with, outside any transaction."""

from typing import NamedTuple

from app.persistence.session import Database
from app.services.ports import EvidenceStore, Fetcher, PageReader


class Tools(NamedTuple):
    """A registry's database and evidence, and what reaches the world outside."""

    database: Database
    store: EvidenceStore
    fetcher: Fetcher
    reader: PageReader
