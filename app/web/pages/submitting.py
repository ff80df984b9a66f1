"""Submitting a rating, in the order in which a person holds the evidence: the document, what it says, a look at what that
comes to, and only then the claim. Every step carries what was typed on to the next one and back."""

from collections.abc import Sequence
from http import HTTPStatus
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import QUANTITIES, Quantity, SourceType, Subject, SubjectKind
from app.core.errors import CantrailError, Fault, invalid
from app.core.evidence import DocumentKind
from app.persistence.session import ReadSession
from app.services import calling, claims, documents, evidencing, looking, previewing, trying
from app.services.finding import Found
from app.services.known import known
from app.services.setting_aside import SetAside
from app.services.trying import Tried
from app.services.views.claims import confidence_view
from app.services.views.derivations import DerivationView
from app.services.views.records import DocumentView, publisher_view, record_view
from app.web.pages.forms import KEY_FIELD, Faulty, Filled, Sent
from app.web.pages.ladder import ladder
from app.web.pages.people_forms import again
from app.web.pages.submitting_forms import (
    ASKED_ALONG,
    MOST_ROWS,
    ROW,
    asked,
    citation_body,
    claim_body,
    derivation_body,
    onward,
    quantity_in,
    rows_in,
    subject_in,
)
from app.web.pages.submitting_said import document_called, raises, sentence, source
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

FINDABLE: Final = (SubjectKind.VEHICLE, SubjectKind.CARRIER, SubjectKind.FIXING, SubjectKind.GEAR)
MOST_FOUND: Final = 8
MOST_CLAIMS: Final = 8
MOST_HERE: Final = 8
MOST_ON_PLATE: Final = 9
FIRST_ROWS: Final = 3
USED_ALREADY: Final = (
    "This page was sent once already, and that was done. Check what you typed, and send it from the next page."
)
NEVER_CARRIED: Final = frozenset({KEY_FIELD, "supersedes", "claim"})


@router.get("/submit")
def submit(visit: Visiting) -> Response:
    """The next step, as far as the address tells what is known: the subject, the document, or neither."""
    query = visit.request.query_params
    subject, document = subject_in(query), query.get("document", "").strip().upper()
    if subject is not None and document:
        visit.need()
        try:
            return _says(visit, asked(query), subject, HTTPStatus.OK, Faulty())
        except CantrailError as error:
            if error.code != "no_such_document":
                raise
            return evidence(visit, subject, query.get("publisher"), Faulty(error), HTTPStatus.NOT_FOUND, asked(query))
    if document or (subject is None and not query.get("publisher")):
        return _about(visit, document)
    return evidence(visit, subject, query.get("publisher"), Faulty(), HTTPStatus.OK, asked(query))


@router.post("/submit/says")
def says(visit: Visiting, sent: Filled) -> Response:
    """What the document says, once more: with another quantity, with further rows, or with their working."""
    visit.need()
    subject = _subject(sent)
    if sent.text("show") != "working":
        return _says(visit, sent, subject, HTTPStatus.OK, Faulty())
    try:
        new = derivation_body(sent, subject, visit.unit)
        working = visit.read(lambda session: previewing.derived(session, new))
    except CantrailError as error:
        return _again(visit, sent, subject, _in_claim(error))
    return _says(visit, sent, subject, HTTPStatus.OK, Faulty(), working=working)


@router.post("/submit/check")
def check(visit: Visiting, sent: Filled) -> Response:
    """Everything said back, and what it would come to. Nothing is kept yet."""
    visit.need()
    subject = _subject(sent)
    try:
        new = claim_body(sent, subject)
        found = trying.tried(
            visit.registry.database,
            lambda session: visit.registry.work(session, visit.caller(session)),
            new,
            visit.unit,
        )
    except CantrailError as error:
        return _again(visit, sent, subject, error)
    return visit.form("submit_check.html", **_checked(visit, sent, subject, found))


@router.post("/submit/claim")
def enter(visit: Visiting, sent: Filled) -> Response:
    """Enter the claim, and on to its page."""
    visit.need()
    subject = _subject(sent)
    try:
        id = visit.write(sent, lambda work: claims.submit(work, claim_body(sent, subject)))
    except CantrailError as error:
        return _again(visit, sent, subject, error)
    return visit.go(f"/claims/{id}", done="entered")


@router.post("/submit/evidence")
def add_evidence(visit: Visiting, sent: Filled) -> Response:
    """Add what is cited to a claim that says the same already."""
    visit.need()
    subject, claim = _subject(sent), sent.text("claim")
    try:
        visit.write(sent, lambda work: claims.cite(work, claim, citation_body(sent)))
    except CantrailError as error:
        return _again(visit, sent, subject, error)
    return visit.go(f"/claims/{claim}", done="cited")


# The steps


def _about(visit: Visit, document: str) -> Response:
    """What the evidence is about: found by name."""
    query = visit.request.query_params
    words = query.get("q", "").strip()[:100]
    kind = next((each for each in FINDABLE if each == query.get("kind")), SubjectKind.VEHICLE)
    found = visit.registry.finder.find(kind, words, limit=MOST_FOUND) if words else []
    return visit.form(
        "submit_about.html",
        q=words,
        kind=kind,
        kinds=FINDABLE,
        found=found,
        names=visit.read(lambda session: _names(session, kind, found)),
        document=visit.read(lambda session: document_in_words(session, document)) if document else None,
        further=onward(None, document=document),
    )


def _names(session: ReadSession, kind: SubjectKind, found: list[Found]) -> dict[str, str]:
    return {each.id: name for each, name in calling.called(session, [Subject(kind, one.id) for one in found]).items()}


def evidence(
    visit: Visit,
    subject: Subject | None,
    publisher: str | None,
    faulty: Faulty,
    status: int,
    typed: Sent,
    kept: SetAside | None = None,
) -> Response:
    """The document: a file, an address, or one that is here already, with who published it. `kept` is a file that came
    with the form before."""

    def look(session: ReadSession) -> dict[str, Any]:
        of = publisher or ("" if subject is None else evidencing.maker(session, subject))
        here = looking.documents(session, cursor=typed.or_none("cursor"), limit=MOST_HERE, publisher=of)
        return {
            "name": None if subject is None else calling.called(session, [subject])[subject],
            "publisher": publisher_view(session, of),
            "here": here.items,
            "next": here.next,
        }

    further = onward(subject, **{name: typed.or_none(name) for name in ASKED_ALONG})
    context = visit.read(look)
    shown = {"subject": subject, "further": further, "typed": typed, "faulty": faulty, "kept": kept}
    return visit.form("submit_evidence.html", status, **shown, **context)


def _says(
    visit: Visit,
    sent: Sent,
    subject: Subject,
    status: int,
    faulty: Faulty,
    *,
    working: DerivationView | None = None,
    rejected: str | None = None,
) -> Response:
    quantity = quantity_in(sent.text("quantity"), subject.kind)
    document = sent.text("document").upper()
    around = visit.registry.answers.around

    def look(session: ReadSession) -> dict[str, Any]:
        return {
            "record": record_view(session, subject),
            "name": calling.called(session, [subject])[subject],
            "document": document_in_words(session, document),
            "fits": evidencing.fitting(session, subject, document),
            "known": known(session, around(session), subject, quantity, visit.unit, most=MOST_CLAIMS),
        }

    context = visit.read(look)
    fits = [each for each in context["fits"] if quantity is Quantity.ROOF_LIMIT or each != SourceType.ACCESSORY_DERIVED]
    chosen = sent.text("source_type") if sent.text("source_type") in fits else _first(fits, context["document"]["view"])
    rows = rows_in(sent)
    blank = min(MOST_ROWS - len(rows), 1 if rows else FIRST_ROWS)
    return visit.form(
        "submit_says.html",
        status,
        subject=subject,
        quantity=quantity,
        quantities=QUANTITIES[subject.kind],
        typed=sent,
        faulty=faulty,
        source_type=chosen,
        derived=chosen == SourceType.ACCESSORY_DERIVED,
        rows=[*rows, *(dict.fromkeys(ROW, "") for _ in range(blank))],
        more_rows=len(rows) + blank < MOST_ROWS,
        working=working,
        rejected=rejected or sent.or_none("answers_rejection"),
        plate_most=MOST_ON_PLATE,
        **{**context, "fits": fits},
    )


def _first(fits: Sequence[SourceType], document: DocumentView) -> SourceType:
    """The source type that is chosen for somebody who has not chosen: the surest, but rows for an accessory's page."""
    if document.kind == DocumentKind.ACCESSORY_PAGE and SourceType.ACCESSORY_DERIVED in fits:
        return SourceType.ACCESSORY_DERIVED
    return next((each for each in fits if each is not SourceType.ACCESSORY_DERIVED), SourceType.UNVERIFIED)


def _checked(visit: Visit, sent: Sent, subject: Subject, found: Tried) -> dict[str, Any]:
    """What the page to check shows: the sentence, the score, and what stands beside it."""
    claim = found.claim

    def look(session: ReadSession) -> tuple[str, dict[str, str]]:
        cited = {each.document: document_in_words(session, each.document)["called"] for each in claim.citations}
        return calling.called(session, [subject])[subject], cited

    name, cited = visit.read(look)
    return {
        "subject": subject,
        "name": name,
        "claim": claim,
        "said_back": sentence(claim, name, source(claim, cited)),
        "carried": [(field, text) for field, text in sent.fields if field not in NEVER_CARRIED],
        "ladder": ladder(confidence_view(claim.id, found.now)),
        "now": found.now.confidence,
        "approved": found.approved.confidence,
        "raises": raises(found.now, claim),
        "others": found.others,
        "open": [each.scored.claim.id for each in found.others if each.same and each.open],
        "older": [each for each in found.others if each.older],
        "supersedes": sent.text("supersedes"),
        "plate": found.plate,
        "typed": sent,
    }


# Refusals


def _again(visit: Visit, sent: Sent, subject: Subject, error: CantrailError) -> Response:
    """The form again, with all that was typed and what is wrong with it."""
    told = error
    if error.code == "idempotency_key_reused":
        told = CantrailError(error.kind, error.code, USED_ALREADY)
    rejected = error.details.get("rejected")
    last = str(rejected[-1]) if isinstance(rejected, list) and rejected else None
    return again(visit, told, lambda status, faulty: _says(visit, sent, subject, status, faulty, rejected=last))


def _in_claim(error: CantrailError) -> CantrailError:
    """What is wrong with rows, at their places in a claim."""
    faults = [
        Fault(
            f"/derivation{each.pointer}" if each.pointer.startswith("/rows") else each.pointer, each.code, each.message
        )
        for each in error.faults
    ]
    return CantrailError(error.kind, error.code, error.message, faults=faults, details=error.details)


def _subject(sent: Sent) -> Subject:
    found = subject_in(sent.values())
    if found is None:
        raise invalid("/subject", "subject_missing", "This form does not say what it is about. Begin at the front.")
    return found


def document_in_words(session: ReadSession, id: str) -> dict[str, Any]:
    """A document, what it is called, and whose it is. Raises not_found."""
    view = documents.document(session, id)
    publisher = publisher_view(session, view.publisher)
    return {
        "view": view,
        "publisher": publisher,
        "called": document_called(view, publisher.name or publisher.slug),
    }
