"""One claim at a time: the pages, and nothing of what is claimed; the blind reading; then the two side by side, what the
claim is weighed against, and the decision."""

from http import HTTPStatus
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Quantity, Subject
from app.core.errors import CantrailError, invalid
from app.core.review import Decision
from app.persistence.session import ReadSession
from app.services import evidence_shown, foreseeing, looking, reviewing
from app.services.at_desk import Open, Piece
from app.services.inputs import NewDecision
from app.services.stating import WITH_SCOPE
from app.services.views.claims import ClaimView, ReadingView
from app.services.views.records import RecordView, publisher_view, record_view
from app.web.pages import desk_compare
from app.web.pages.desk_common import NOTHING, account, again, context, finish, kept, look
from app.web.pages.desk_forms import Shape, made, reading, rows_shown
from app.web.pages.forms import Filled, Sent
from app.web.pages.ladder import held_by, rung
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

TOLD: Final = {Decision.APPROVE: "approved", Decision.REJECT: "rejected", Decision.ASK_EVIDENCE: "asked"}


def show(visit: Visit, piece: Piece, status: int = HTTPStatus.OK, **given: Any) -> Response:
    """The reading; or, once it was keyed, the comparison and the decision."""
    claim = visit.read(lambda session: looking.claim(session, piece.about))
    me = account(visit)
    mine = next((each for each in claim.readings if each.reviewer == me), None)
    if mine is not None:
        return _compared(visit, piece, claim, mine, status, **given)
    if piece.open in {Open.NOT_YOURS, Open.GONE} and "sent" not in given:
        decided = any(each.reviewer == me for each in claim.decisions)
        return visit.page("desk_not_yours.html", status, **context(visit, piece, claim=claim, decided=decided))
    return _blind(visit, piece, claim, status, **given)


def _blind(visit: Visit, piece: Piece, claim: ClaimView, status: int, **given: Any) -> Response:
    """The page of a reading. Of the claim it is told its subject, its quantity and from what it was worked back, if it
    was: what the form's fields follow from, and where the evidence stands."""
    derivation = claim.derivation
    shown = {
        "claim_id": claim.id,
        "state": str(claim.state),
        "subject": claim.subject,
        "shape": _shape(claim),
        "takes": [] if derivation is None else [each.claim for each in derivation.takes],
        "rows": rows_shown(given.get("sent", NOTHING)),
        **recorded(visit, claim.subject),
        **evidence(visit, claim.id),
    }
    return visit.page("desk_reading.html", status, **context(visit, piece, **{**shown, **given}))


def recorded(visit: Visit, subject: Subject) -> dict[str, Any]:
    """The record of a subject, and what it says line by line."""

    def look(session: ReadSession) -> tuple[RecordView, str | None]:
        record = record_view(session, subject)
        return record, publisher_view(session, record.maker).name if isinstance(record.maker, str) else None

    record, maker = visit.read(look)
    return {"record": record, "facts": desk_compare.facts(record, maker)}


def _shape(claim: ClaimView) -> Shape:
    method = None if claim.derivation is None else claim.derivation.method
    return Shape(claim.subject.kind, Quantity(claim.quantity), method)


def evidence(visit: Visit, claim: str) -> dict[str, Any]:
    """Where a claim's evidence stands, and the page of it that is looked at: the one that was asked for, or the first."""
    query = visit.request.query_params
    wanted, page = query.get("document", ""), query.get("page", "")

    def read(session: ReadSession) -> dict[str, Any]:
        places = evidence_shown.places_of(session, claim)
        if not places:
            return {"places": [], "sheet": None}
        place = next((each for each in places if each.document == wanted), places[0])
        number = looking.number(page) if page and place.document == wanted else place.number
        return {
            "places": places,
            "sheet": evidence_shown.sheet(session, visit.registry.store, place.document, number),
        }

    return visit.read(read)


@router.get("/desk/{work}/evidence")
def turn(work: str, visit: Visiting) -> Response:
    """Another page of the evidence, in the place of the one that is looked at."""
    piece = look(visit, work)
    claim = piece.about if piece.work is None or piece.work.claim is None else piece.work.claim
    return visit.page("desk_evidence.html", piece=piece, zoom="", **evidence(visit, claim))


@router.post("/desk/{work}/reading")
def read(work: str, visit: Visiting, sent: Filled) -> Response:
    """Key what the evidence says."""
    piece = look(visit, work)
    claim = visit.read(lambda session: looking.claim(session, piece.about))
    if sent.text("more_rows"):
        return _blind(visit, piece, claim, HTTPStatus.OK, sent=sent)
    try:
        new = reading(sent, _shape(claim))
        visit.write(sent, lambda doing: reviewing.read(doing, claim.id, new))
    except CantrailError as error:
        if error.code != "already_read":
            return again(visit, error, lambda status, faulty: show(visit, piece, status, sent=sent, faulty=faulty))
    return visit.go(f"/desk/{work}", **kept(sent))


def _compared(visit: Visit, piece: Piece, claim: ClaimView, mine: ReadingView, status: int, **given: Any) -> Response:
    """What was claimed beside what was read, what it is weighed against, and the decision."""
    me = account(visit)
    scoped = claim.subject.kind in WITH_SCOPE
    around = visit.registry.answers.around
    foreseen = visit.read(
        lambda session: foreseeing.foresee(session, around(session), claim.id, me, visit.now, visit.unit)
    )
    shown = {
        "claim": claim,
        "mine": mine,
        "decided": [each for each in claim.decisions if each.reviewer == me],
        "compared": desk_compare.compared(mine.said, desk_compare.stated(claim), mine.differences, scoped=scoped),
        "cars_of": desk_compare.cars,
        "line": desk_compare.line,
        "foreseen": foreseen,
        "rung": rung,
        "held_by": held_by,
        **_rows(claim, mine),
        **recorded(visit, claim.subject),
        **evidence(visit, claim.id),
    }
    return visit.page("desk_decision.html", status, **context(visit, piece, **{**shown, **given}))


def _rows(claim: ClaimView, mine: ReadingView) -> dict[str, Any]:
    """The rows of what is worked back, as whoever looks read them, as they are claimed, and as others read them."""
    if claim.derivation is None or not claim.derivation.rows:
        return {"beside": [], "others_rows": []}
    others = [each.derivation for each in claim.readings if each.id != mine.id]
    return {"beside": desk_compare.rows_beside(mine.derivation, claim.derivation, others), "others_rows": others}


@router.post("/desk/{work}/decision")
def decide(work: str, visit: Visiting, sent: Filled) -> Response:
    """Approve a claim, reject it, or ask for evidence; and go on."""
    piece = look(visit, work)
    try:
        new = decision(visit, piece.about, sent)
        told = f"{TOLD[new.decision]}.{piece.about}"
        return finish(visit, sent, work, told, lambda doing: reviewing.decide(doing, piece.about, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: show(visit, piece, status, sent=sent, faulty=faulty))


def decision(visit: Visit, claim_id: str, sent: Sent) -> NewDecision:
    """A decision as it was filled in, with one's own reading. Raises bad input."""
    if not sent.text("decision"):
        raise invalid("/decision", "missing", "Choose what you decide.")
    me = account(visit)
    claim = visit.read(lambda session: looking.claim(session, claim_id))
    mine = next((each.id for each in claim.readings if each.reviewer == me), None)
    rejecting = sent.text("decision") == Decision.REJECT
    return made(
        NewDecision,
        {
            "decision": sent.text("decision"),
            "reason": sent.text("reason"),
            "reading": mine,
            "code": sent.or_none("code") if rejecting else None,
            "interest": sent.text("interest") or "none",
            "confirms_record": bool(sent.text("confirms_record")),
        },
    )
