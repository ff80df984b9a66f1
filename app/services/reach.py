"""Which vehicles' plates an entry may change, as far as the tables can tell: rather one too many than one too few."""

from typing import Final

from app.core.claim import Subject, SubjectKind
from app.core.entries import (
    ClaimsPlaced,
    CopyJudged,
    DocumentTakenDown,
    Entry,
    MethodAdopted,
    PlacementUndone,
    RecordConfirmed,
    RecordCorrected,
    SnapshotKept,
    SubjectsMerged,
)
from app.core.review import claim_named_by
from app.persistence.queries import reach as queries
from app.persistence.session import AnySession

_KINDS: Final = frozenset(SubjectKind)
_OF_CARRIERS: Final = (RecordConfirmed, RecordCorrected, SubjectsMerged, ClaimsPlaced, PlacementUndone)
"""What may change a carrier's rating besides what happens to its claims."""
_OF_EVIDENCE: Final = (SnapshotKept, CopyJudged, DocumentTakenDown)
"""What happens to a document, and not to a claim that cites it, and may change what such a claim is worth."""


class Reach:
    """Looks up what depends on what, for as long as the tables stay as they are."""

    def __init__(self, session: AnySession) -> None:
        self._session = session
        self._joined: dict[Subject, set[Subject]] | None = None
        self._reached: dict[tuple[frozenset[Subject], bool], list[str]] = {}

    def vehicles(self, entry: Entry) -> list[str]:
        """Those that an entry touches; with claims that rest on a document that it is about, or on one that shares a
        root with that; with claims that are worked back from any of these; and that were ever one with any of these. For
        what happens to a carrier's rating, also those that the carrier fits and whose maker states a limit, which counts
        for less where it only repeats the rating. By slug."""
        if isinstance(entry.payload, MethodAdopted):
            return sorted(queries.vehicles_before(self._session, seq=entry.seq))
        rating = claim_named_by(entry.payload) is not None or isinstance(entry.payload, _OF_CARRIERS)
        ids = [stream.partition(":") for stream in entry.streams if "/" not in stream]
        touched = {Subject(SubjectKind(kind), id) for kind, _, id in ids if kind in _KINDS}
        if isinstance(entry.payload, _OF_EVIDENCE):
            documents = self._with_copies({id for kind, _, id in ids if kind == "document"})
            touched |= queries.citing(self._session, documents=documents, before=entry.seq)
        key = (frozenset(touched), rating)
        if key not in self._reached:
            self._reached[key] = self._from(touched, rating=rating)
        return self._reached[key]

    def _from(self, touched: set[Subject], *, rating: bool) -> list[str]:
        reached: set[Subject] = set()
        while touched:
            reached |= touched
            further = queries.working_back_from(self._session, subjects=touched)
            further |= {other for subject in touched for other in self._one_with(subject)}
            if rating:
                carriers = [subject.id for subject in touched if subject.kind is SubjectKind.CARRIER]
                beside = queries.stated_beside(self._session, carriers=carriers)
                further |= {Subject(SubjectKind.VEHICLE, slug) for slug in beside}
            touched = further - reached
        return sorted(subject.id for subject in reached if subject.kind is SubjectKind.VEHICLE)

    def _with_copies(self, documents: set[str]) -> set[str]:
        found: set[str] = set()
        while documents:
            found |= documents
            documents = queries.sharing(self._session, documents=documents) - found
        return found

    def _one_with(self, subject: Subject) -> set[Subject]:
        if self._joined is None:
            self._joined = queries.ever_joined(self._session)
        return self._joined.get(subject, set())
