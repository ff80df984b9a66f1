"""What may change with what: from subjects and documents to the vehicles whose figures depend on them. Many are looked
up at once: one document may be cited for ten thousand vehicles."""

from collections import defaultdict
from collections.abc import Collection, Iterator

from sqlmodel import col, or_, select

from app.core.claim import Quantity, SourceType, Subject, SubjectKind
from app.core.placement import PlacementState
from app.persistence.batches import in_batches
from app.persistence.models import (
    Citation,
    Claim,
    CopyJudgement,
    Document,
    Fitment,
    Placement,
    Snapshot,
    TakenInput,
    Vehicle,
)
from app.persistence.session import AnySession

_AT_ONCE = 400


def citing(session: AnySession, *, documents: Collection[str], before: int) -> set[Subject]:
    """The subjects with claims that cite one of some documents and were entered before an entry."""
    found: set[Subject] = set()
    for some in _some(documents):
        wanted = (
            select(Claim.subject_kind, Claim.subject_id)
            .join(Citation, col(Citation.claim) == Claim.id)
            .where(col(Citation.document).in_(some), Claim.seq < before)
            .distinct()
        )
        found.update(Subject(SubjectKind(kind), id) for kind, id in session.exec(wanted))
    return found


def sharing(session: AnySession, *, documents: Collection[str]) -> set[str]:
    """The documents of which somebody said that one of some is a copy of them or they of it, or that they are not; and
    those that are, or once were, the same file."""
    found: set[str] = set()
    for some in _some(documents):
        one, other = col(CopyJudgement.document), col(CopyJudgement.of)
        pairs = session.exec(
            select(CopyJudgement.document, CopyJudgement.of).where(or_(one.in_(some), other.in_(some)))
        )
        found.update(id for pair in pairs for id in pair)
    for hashes in _some(_files(session, documents)):
        found.update(session.exec(select(Document.id).where(col(Document.sha256).in_(hashes))))
        found.update(session.exec(select(Snapshot.document).where(col(Snapshot.sha256).in_(hashes))))
    return found - set(documents)


def _files(session: AnySession, documents: Collection[str]) -> set[str]:
    """The hashes of all that some documents were."""
    found: set[str] = set()
    for some in _some(documents):
        own = session.exec(select(Document.sha256).where(col(Document.id).in_(some)))
        found.update(sha256 for sha256 in own if sha256 is not None)
        found.update(session.exec(select(Snapshot.sha256).where(col(Snapshot.document).in_(some))))
    return found


def working_back_from(session: AnySession, *, subjects: Collection[Subject]) -> set[Subject]:
    """The subjects with claims that are worked back from claims on one of some."""
    by_kind: defaultdict[SubjectKind, list[str]] = defaultdict(list)
    for subject in subjects:
        by_kind[subject.kind].append(subject.id)
    found: set[Subject] = set()
    for kind, ids in by_kind.items():
        for some in _some(ids):
            wanted = (
                select(Claim.subject_kind, Claim.subject_id)
                .join(TakenInput, col(TakenInput.claim) == Claim.id)
                .where(TakenInput.subject_kind == kind, col(TakenInput.subject_id).in_(some))
                .distinct()
            )
            found.update(Subject(SubjectKind(each), id) for each, id in session.exec(wanted))
    return found


def stated_beside(session: AnySession, *, carriers: Collection[str]) -> set[str]:
    """The vehicles that one of some carriers fits and on whose roof limit there is a maker's statement."""
    found: set[str] = set()
    for some in _some(carriers):
        fitted = select(Fitment.vehicle).where(col(Fitment.carrier).in_(some))
        wanted = select(Claim.subject_id).where(
            Claim.subject_kind == SubjectKind.VEHICLE,
            Claim.quantity == Quantity.ROOF_LIMIT,
            Claim.source_type == SourceType.MAKER_STATEMENT,
            col(Claim.subject_id).in_(fitted),
        )
        found.update(session.exec(wanted))
    return found


def ever_joined(session: AnySession) -> dict[Subject, set[Subject]]:
    """The subjects that were ever merged, or split from one another, each with those it was joined with directly."""
    states = (PlacementState.IN_FORCE, PlacementState.UNDONE)
    rows = session.exec(
        select(Placement.subject_kind, Placement.subject_id, Placement.other_id).where(col(Placement.state).in_(states))
    )
    found: defaultdict[Subject, set[Subject]] = defaultdict(set)
    for kind, one, other in rows:
        first, second = Subject(SubjectKind(kind), one), Subject(SubjectKind(kind), other)
        found[first].add(second)
        found[second].add(first)
    return dict(found)


def vehicles_before(session: AnySession, *, seq: int) -> set[str]:
    """The vehicles that were entered before an entry."""
    return set(session.exec(select(Vehicle.slug).where(Vehicle.seq < seq)))


def _some(ids: Collection[str]) -> Iterator[list[str]]:
    return in_batches(sorted(ids), most=_AT_ONCE)
