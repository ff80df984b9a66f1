"""Disputes and mismatches: what is challenged, on which evidence, and the word of whoever looks afresh."""

from http import HTTPStatus
from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError, invalid
from app.core.review import DisputeState, Settlement
from app.persistence.session import ReadSession
from app.services import at_desk, disputing, evidence_shown, looking, mismatches
from app.services.at_desk import Open, Piece
from app.services.inputs import NewMismatchJudgement, NewSettlement
from app.services.stating import WITH_SCOPE
from app.services.views.claims import ClaimView, DisputeView
from app.web.pages import desk_compare
from app.web.pages.desk_common import REASONS, again, context, finish, look
from app.web.pages.desk_forms import made
from app.web.pages.desk_reading import evidence
from app.web.pages.forms import Filled
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)


def show(visit: Visit, piece: Piece, status: int = HTTPStatus.OK, **given: Any) -> Response:
    """A dispute to settle, or a reading beyond which a claim goes."""
    if piece.work is None or piece.work.claim is None:
        return visit.page("desk_not_yours.html", status, **context(visit, piece, claim=None, decided=False))
    if piece.work.dispute is not None:
        return _dispute(visit, piece, piece.work.dispute, status, **given)
    return _mismatch(visit, piece, piece.work.claim, status, **given)


def _dispute(visit: Visit, piece: Piece, id: str, status: int, **given: Any) -> Response:
    shown = _disputed(visit, id)
    return visit.page("desk_settlement.html", status, **context(visit, piece, **{**shown, **given}))


def _disputed(visit: Visit, id: str) -> dict[str, Any]:
    """A dispute with the claim and the page that speaks against it."""

    def read(session: ReadSession) -> dict[str, Any]:
        dispute, claim = looking.disputed(session, id)
        against = None
        if dispute.document is not None:
            place = evidence_shown.place_in(session, dispute.document, dispute.page)
            against = evidence_shown.sheet(session, visit.registry.store, place.document, place.number)
        names = at_desk.called(session, [claim.subject])
        return {"dispute": dispute, "claim": claim, "against": against, "name": names.get(claim.subject)}

    found = visit.read(read)
    claim: ClaimView = found["claim"]
    said = desk_compare.stated(claim)
    rows = desk_compare.rows(said, scoped=claim.subject.kind in WITH_SCOPE)
    return {**found, "rows": rows, "line": desk_compare.line(said), **evidence(visit, claim.id)}


def _mismatch(visit: Visit, piece: Piece, claim_id: str, status: int, **given: Any) -> Response:
    claim = visit.read(lambda session: looking.claim(session, claim_id))
    reading = next(each for each in claim.readings if each.id == piece.about)
    scoped = claim.subject.kind in WITH_SCOPE
    shown = {
        "claim": claim,
        "mine": reading,
        "compared": desk_compare.compared(reading.said, desk_compare.stated(claim), reading.differences, scoped=scoped),
        **evidence(visit, claim.id),
    }
    return visit.page("desk_mismatch.html", status, **context(visit, piece, **{**shown, **given}))


@router.get("/disputes/{id}")
def dispute(id: str, visit: Visiting) -> Response:
    """One dispute, open to all; who may settle it finds the way to it here."""
    shown = _disputed(visit, id)
    found: DisputeView = shown["dispute"]
    piece = look(visit, f"settlement.{id}") if visit.reviews and found.state == DisputeState.OPEN else None
    may = piece is not None and piece.open is Open.YES
    return visit.page(
        "dispute.html", **shown, may=may, reasons=REASONS, done=visit.request.query_params.get("done", "")
    )


@router.post("/desk/{work}/settlement")
def settle(work: str, visit: Visiting, sent: Filled) -> Response:
    """Uphold a disputed claim, or vote to refute it."""
    piece = look(visit, work)
    try:
        if not sent.text("settlement"):
            raise invalid("/settlement", "missing", "Choose how you settle it.")
        refuting = sent.text("settlement") == Settlement.REFUTE
        new = made(
            NewSettlement,
            {
                "settlement": sent.text("settlement"),
                "reason": sent.text("reason"),
                "code": sent.or_none("code") if refuting else None,
                "interest": sent.text("interest") or "none",
            },
        )
        told = f"{'refuted' if refuting else 'upheld'}.{piece.about}"
        return finish(visit, sent, work, told, lambda doing: disputing.settle(doing, piece.about, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: show(visit, piece, status, sent=sent, faulty=faulty))


@router.post("/desk/{work}/judgement")
def judge(work: str, visit: Visiting, sent: Filled) -> Response:
    """Say what was wrong where a claim goes beyond a reading."""
    piece = look(visit, work)
    try:
        if not sent.text("finding"):
            raise invalid("/finding", "missing", "Choose what you found.")
        new = made(NewMismatchJudgement, {"finding": sent.text("finding"), "reason": sent.text("reason")})
        told = f"judged.{piece.about}"
        return finish(visit, sent, work, told, lambda doing: mismatches.judge(doing, piece.about, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: show(visit, piece, status, sent=sent, faulty=faulty))
