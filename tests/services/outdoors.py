"""A trade whose papers are read and whose addresses are fetched."""

from datetime import datetime
from pathlib import Path
from typing import Any

import msgspec

from app.bootstrap import Registry
from app.persistence import ledger
from app.persistence.session import Database
from app.services import copies, documents, taking_down
from app.services.copies import Resemblances
from app.services.inputs import NewCopyJudgement, NewDocument, NewTakedown
from app.services.views.records import DocumentView
from app.settings import Settings
from app.worker.draining import drain
from tests.outside import PlainReader, WrittenWeb
from tests.services.trade import Trade


class _Hands:
    """A clock that a trade sets."""

    def __init__(self, trade: Trade) -> None:
        self._trade = trade

    def now(self) -> datetime:
        return self._trade.now


class Outdoors(Trade):
    """People who file papers with words, and a worker."""

    def __init__(self, database: Database, folder: Path, *, like: Trade | None = None) -> None:
        super().__init__(database, folder, like=like)
        self.web = WrittenWeb()
        self.reader = PlainReader()
        settings = Settings(data_dir=folder.parent, database_url=database.url)
        self.registry = Registry(settings, database, self.store, _Hands(self), fetcher=self.web, reader=self.reader)

    def work(self) -> int:
        """The worker does all that is due. Gives how many jobs."""
        return drain(self.registry)

    def written(
        self, words: str, publisher: str = "orrin", kind: str = "handbook", by: str = "writer", **more: Any
    ) -> str:
        """A document that says some words; a form feed between pages."""
        new = msgspec.convert({"publisher": publisher, "kind": kind, "language": "en", **more}, NewDocument)
        content = f"%PDF-1.4 {words}".encode()
        return self.do(by, lambda work: documents.add_document(work, new, "paper.pdf", content))

    def address(self, address: str, words: str | None = None, kind: str = "maker_page", **more: Any) -> str:
        """A document by its address, at which some words are published."""
        if words is not None:
            self.web.pages[address] = words
        new = msgspec.convert(
            {"publisher": "orrin", "kind": kind, "address": address, "language": "en", **more}, NewDocument
        )
        return self.do("writer", lambda work: documents.add_address(work, new))

    def document(self, id: str) -> DocumentView:
        with self.database.read() as session:
            return documents.document(session, id)

    def judge(self, by: str, document: str, of: str, *, copied: bool = True) -> None:
        self.do(by, lambda work: copies.judge(work, document, NewCopyJudgement(of=of, copied=copied)))

    def resembling(self, document: str) -> Resemblances:
        with self.database.read() as session:
            return copies.resembling(session, self.store, document)

    def take_down(self, by: str, document: str, code: Any = "rights") -> None:
        new = NewTakedown(code=code, reason="Its publisher has asked for it.")
        self.do(by, lambda work: taking_down.take_down(work, document, new))

    def types(self, *streams: str) -> list[str]:
        """The types of the entries in some streams, oldest first."""
        with self.database.read() as session:
            return [each.payload.type for each in ledger.entries_of(session, streams=streams, up_to=None)]
