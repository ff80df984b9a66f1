"""Which source types fit a document that is about to be cited, whose word it should be, and what cites it already."""

import msgspec

from app.core.claim import SourceType, Subject, SubjectKind
from app.core.evidence import Cited, DocumentKind, misfit
from app.persistence.models import Fitment
from app.persistence.queries import claims, subjects
from app.persistence.queries import documents as queries
from app.persistence.session import AnySession
from app.services.calling import called
from app.services.documents import row
from app.services.facts import not_found
from app.services.views.records import Page


def maker(session: AnySession, subject: Subject) -> str:
    """The maker to whom a subject belongs: a fitment belongs to its carrier's. Raises not_found."""
    record = subjects.recorded(session, subject=subject)
    if record is None:
        raise not_found(subject)
    if not isinstance(record, Fitment):
        return record.maker
    return maker(session, Subject(SubjectKind.CARRIER, record.carrier))


def fitting(session: AnySession, subject: Subject, document: str) -> list[SourceType]:
    """The source types of a claim on a subject that cites one document, the surest first. What is worked back may rest on
    any document, but is only a vehicle's limit. Raises not_found."""
    found = row(session, document)
    of = maker(session, subject)
    publisher = subjects.publisher(session, slug=found.publisher)
    importer_of = () if publisher is None else tuple(publisher.importer_of)
    cited = [Cited(DocumentKind(found.kind), found.publisher, importer_of)]
    return [
        each
        for each in SourceType
        if (subject.kind is SubjectKind.VEHICLE or each is not SourceType.ACCESSORY_DERIVED)
        and misfit(each, of, cited, derived=each is SourceType.ACCESSORY_DERIVED) is None
    ]


class CitingView(msgspec.Struct, frozen=True):
    """A claim that cites a document: on what, of which figure, where it stands, and the place that it names."""

    claim: str
    subject: Subject
    called: str
    quantity: str
    condition: str | None
    state: str
    page: str | None
    locator: str | None
    outcome: str | None
    found_page: int | None


def citing(session: AnySession, id: str, *, after: int, limit: int) -> Page[CitingView]:
    """The claims that cite a document, in the order of citing. Raises not_found."""
    row(session, id)
    cited = queries.citations_after(session, document=id, after=after, limit=limit + 1)
    some = cited[:limit]
    known = {each.claim: claims.claim(session, id=each.claim) for each in some}
    about = {claim: Subject(found.subject_kind, found.subject_id) for claim, found in known.items() if found}
    names = called(session, about.values())
    items = [
        CitingView(
            claim=each.claim,
            subject=about[each.claim],
            called=names[about[each.claim]],
            quantity=claim.quantity,
            condition=claim.condition,
            state=claim.state,
            page=each.page,
            locator=each.locator,
            outcome=each.outcome,
            found_page=each.found_page,
        )
        for each in some
        if (claim := known[each.claim]) is not None
    ]
    return Page(items, some[-1].id[1:] if len(cited) > limit else None)
