"""Filing the evidence, the first step of submitting a rating: it is kept by itself, whatever becomes of the rest."""

from hashlib import sha256
from http import HTTPStatus
from typing import Final, NamedTuple

import msgspec
from fastapi import APIRouter
from starlette.datastructures import FormData
from starlette.responses import Response

from app.core.errors import CantrailError, Fault, Kind, invalid
from app.core.evidence import PublisherKind
from app.persistence.session import WriteSession
from app.services import documents, naming_publishers, setting_aside, subjects
from app.services.faults import bad_input
from app.services.inputs import NewPublisher
from app.services.setting_aside import SetAside
from app.web.bodies import BodyDecoder
from app.web.pages.forms import KEY_FIELD, Faulty, Filled, Sent
from app.web.pages.people_forms import again
from app.web.pages.submitting import evidence
from app.web.pages.submitting_forms import ASKED_ALONG, asked, document_body, onward, subject_in
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

PUBLISHER: Final = BodyDecoder(NewPublisher)
OF_THE_FILE: Final = frozenset({Kind.INVALID, Kind.UNSUPPORTED, Kind.TOO_LARGE})


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
    try:
        file = _chosen(visit, sent)
    except CantrailError as error:
        refused = _with_the_rest(error, sent)
        return again(visit, refused, lambda status, faulty: _evidence_again(visit, sent, None, status, faulty))
    try:
        id = _filed(visit, sent, file)
    except CantrailError as error:
        known = error.details.get("document")
        if error.code == "document_exists" and isinstance(known, str):
            return visit.go("/submit", **_further(sent, document=known), filed="before")
        return again(visit, error, lambda status, faulty: _evidence_again(visit, sent, file, status, faulty))
    return visit.go("/submit", **_further(sent, document=id), filed="now")


class Chosen(NamedTuple):
    """The file of a form: its name, and its bytes, which were looked at."""

    name: str
    content: bytes


def _chosen(visit: Visit, sent: Sent) -> Chosen | None:
    """The file that came with a form, or else the one that was set aside when it was refused; None where there is
    neither. It is looked at before any transaction, which nobody else may wait for meanwhile."""
    if len(sent.files) > 1:
        raise invalid("/file", "two_files", "Send the photo or the file, not both: each is a document.")
    if sent.files:
        file = Chosen(sent.files[0].filename or "", sent.files[0].file.read())
        documents.looked_at(visit.registry.reader, file.name, file.content)
        return file
    # An address takes the place of a file that was set aside; a file that is chosen anew does so by itself.
    if sent.text("kept") and not sent.text("address"):
        name = sent.text("kept_name")
        return Chosen(name, setting_aside.taken_up(visit.registry.store, sent.text("kept"), name))
    return None


def _with_the_rest(error: CantrailError, sent: Sent) -> CantrailError:
    """What is wrong with a file, beside its field, with all else that is wrong with its form."""
    if error.kind not in OF_THE_FILE:
        return error
    faults = list(error.faults) or [Fault("/file", error.code, error.message)]
    try:
        document_body(sent)
    except CantrailError as further:
        faults += further.faults
    return CantrailError(Kind.INVALID, error.code, error.message, faults=faults)


def _filed(visit: Visit, sent: Sent, file: Chosen | None) -> str:
    missing = Fault("/file", "file_missing", "Choose the file, or give the address of the page.")
    faults = [] if file is not None or sent.text("address") else [missing]
    try:
        new = document_body(sent)
    except CantrailError as error:
        raise bad_input([*faults, *error.faults]) from error
    if faults:
        raise bad_input(faults)
    if file is None:
        visit.registry.fetcher.check(new.address or "")
        return str(visit.write(_once(sent, b""), lambda work: documents.add_address(work, new)))
    once = _once(sent, file.content)
    return str(visit.write(once, lambda work: documents.add_document(work, new, file.name, file.content)))


def _once(sent: Sent, content: bytes) -> Sent:
    """The form under a key that is its own only with this very file and these words: what is sent twice is filed once,
    and what was changed on going back is another document."""
    said = [(name, text) for name, text in sent.fields if name not in {KEY_FIELD, "kept", "kept_name"}]
    what = msgspec.json.encode(said) + documents.digest(content).encode()
    return Sent(FormData([*said, (KEY_FIELD, sha256(sent.key.encode() + what).hexdigest())]))


def _evidence_again(visit: Visit, sent: Sent, file: Chosen | None, status: int, faulty: Faulty) -> Response:
    kept = None if file is None else _set_aside(visit, file)
    return evidence(visit, subject_in(sent.values()), sent.or_none("publisher"), faulty, status, sent, kept)


def _set_aside(visit: Visit, file: Chosen) -> SetAside | None:
    """The file held for the form that comes next; None where it cannot be, and is chosen again."""

    def unit(session: WriteSession) -> SetAside:
        work = visit.registry.work(session, visit.caller(session))
        return setting_aside.set_aside(work, file.name, file.content)

    try:
        return visit.registry.database.run(unit)
    except CantrailError:
        return None


def _publishers(
    visit: Visit, typed: Sent, status: int, faulty: Faulty, near: list[dict[str, str]] | None = None
) -> Response:
    words = (typed.text("q") or typed.text("name"))[:80]
    found = visit.read(lambda session: naming_publishers.publishers_like(session, words)) if words else []
    return visit.form(
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
