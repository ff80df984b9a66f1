"""Filing the evidence, the first step of submitting a rating: it is kept by itself, whatever becomes of the rest."""

from hashlib import sha256
from http import HTTPStatus
from typing import Final

import msgspec
from fastapi import APIRouter
from starlette.datastructures import FormData
from starlette.responses import Response

from app.core.claim import Subject
from app.core.errors import CantrailError, Fault, Kind
from app.core.evidence import PublisherKind
from app.services import documents, naming_publishers, subjects
from app.services.faults import bad_input
from app.services.inputs import NewPublisher
from app.web.bodies import BodyDecoder
from app.web.pages.forms import KEY_FIELD, Faulty, Filled, Sent, file_digest
from app.web.pages.people_forms import again
from app.web.pages.submitting import evidence, step
from app.web.pages.submitting_forms import ASKED_ALONG, asked, document_body, onward, subject_in
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

PUBLISHER: Final = BodyDecoder(NewPublisher)
OF_THE_FILE: Final = frozenset({Kind.UNSUPPORTED, Kind.TOO_LARGE})


@router.get("/submit/publisher")
def find_publisher(visit: Visiting) -> Response:
    """Who published it: found by name, or new."""
    return _publishers(visit, asked(visit.request.query_params), HTTPStatus.OK, Faulty())


@router.post("/submit/publisher")
def add_publisher(visit: Visiting, sent: Filled) -> Response:
    """A new publisher, and back to the evidence."""
    visit.need()
    said = {name: text for name in ("name", "kind") if (text := sent.text(name))}
    said_apart = {"distinct_from": sent.many("distinct_from"), "importer_of": sent.many("importer_of")}
    try:
        new = PUBLISHER.decode(msgspec.json.encode(said | said_apart))
        slug = visit.write(sent, lambda work: subjects.add_publisher(work, new))
    except CantrailError as error:
        resembles = error.details.get("resembles")
        near = resembles if isinstance(resembles, list) else []
        return again(visit, error, lambda status, faulty: _publishers(visit, sent, status, faulty, near))
    return visit.go("/submit", **_further(sent, publisher=slug))


@router.post("/submit/document")
def file_document(visit: Visiting, sent: Filled) -> Response:
    """File the evidence, or find it where it was filed before, and on to what it says."""
    visit.need()
    subject = subject_in(sent.values())
    try:
        id = _filed(visit, sent)
    except CantrailError as error:
        known = error.details.get("document")
        if error.code == "document_exists" and isinstance(known, str):
            return visit.go("/submit", **_further(sent, document=known), filed="before")
        return again(
            visit, _of_the_file(error), lambda status, faulty: _evidence_again(visit, sent, subject, status, faulty)
        )
    return visit.go("/submit", **_further(sent, document=id), filed="now")


def _filed(visit: Visit, sent: Sent) -> str:
    file = sent.file
    content = None if file is None else file.file.read()
    faults: list[Fault] = []
    if content is None and not sent.text("address"):
        faults.append(Fault("/file", "file_missing", "Choose the file, or give the address of the page."))
    try:
        new = document_body(sent)
    except CantrailError as error:
        raise bad_input([*faults, *error.faults]) from error
    if faults:
        raise bad_input(faults)
    if file is None or content is None:
        visit.registry.fetcher.check(new.address or "")
        return str(visit.write(_once(sent, b""), lambda work: documents.add_address(work, new)))
    name = file.filename or ""
    # Before the transaction, which nobody else may wait for while a file is looked at.
    documents.looked_at(visit.registry.reader, name, content)
    return str(visit.write(_once(sent, content), lambda work: documents.add_document(work, new, name, content)))


def _once(sent: Sent, content: bytes) -> Sent:
    """The form under a key that is its own only with this very file and these words: what is sent twice is filed once,
    and what was changed on going back is another document."""
    key = sha256(sent.key.encode() + sent.fingerprint + file_digest(content).encode()).hexdigest()
    fields = [(name, text) for name, text in sent.fields if name != KEY_FIELD]
    return Sent(FormData([*fields, (KEY_FIELD, key)]))


def _of_the_file(error: CantrailError) -> CantrailError:
    """What is wrong with a file, beside its field."""
    if error.kind not in OF_THE_FILE:
        return error
    fault = Fault("/file", error.code, error.message)
    return CantrailError(Kind.INVALID, error.code, error.message, faults=(fault,))


def _evidence_again(visit: Visit, sent: Sent, subject: Subject | None, status: int, faulty: Faulty) -> Response:
    return evidence(visit, subject, sent.or_none("publisher"), faulty, status, sent)


def _publishers(
    visit: Visit, typed: Sent, status: int, faulty: Faulty, near: list[dict[str, str]] | None = None
) -> Response:
    words = (typed.text("q") or typed.text("name"))[:80]
    found = visit.read(lambda session: naming_publishers.publishers_like(session, words)) if words else []
    return step(
        visit,
        "submit_publisher.html",
        status,
        q=words,
        found=found,
        near=near or [],
        kinds=tuple(PublisherKind),
        further=_further(typed),
        typed=typed,
        faulty=faulty,
    )


def _further(sent: Sent, **more: str) -> dict[str, str]:
    asked = {name: sent.or_none(name) for name in ASKED_ALONG}
    return onward(subject_in(sent.values()), **{**asked, **more})
