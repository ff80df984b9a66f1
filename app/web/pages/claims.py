"""A claim's page: what it says and what it does, on which page it stands, why it is as certain as it is, and what
happened to it."""

from collections.abc import Iterator
from typing import Any, Final, NamedTuple

from fastapi import APIRouter
from starlette.responses import Response

from app.core.confidence import SETS_AT
from app.core.derivation import MOST_ROWS
from app.core.lifecycle import BINDING, UNDECIDED, State
from app.core.mass import Unit
from app.core.review import APPROVALS_TO_SET, Decision, DisputeState, Settlement
from app.persistence.session import ReadSession
from app.services import looking, timelines, whole_claim
from app.services.timelines import HappenedView
from app.services.views.claims import BoxView, CitationView, DisputeView
from app.services.views.records import DocumentView, Page
from app.services.whole_claim import WholeClaim
from app.web.pages.claim_history import CODES, FINDINGS, SEEN, differing, lines
from app.web.pages.claim_words import (
    as_printed,
    basis_words,
    cells,
    does,
    figure,
    scope_rows,
    sentence,
    standing,
    years,
)
from app.web.pages.intervals import intervals, said_span
from app.web.pages.ladder import Rests, exactly, ladder
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

ON_A_PAGE: Final = 20
ROWS_AT_ONCE: Final = 40
_KINDS: Final = {
    "vehicle": "vehicles",
    "carrier": "carriers",
    "fixing": "fixings",
    "gear": "gear",
    "fitment": "fitments",
}


class Cited(NamedTuple):
    """A place on which the claim rests: its document, the page of the file where it is known, and what is shown of it."""

    citation: CitationView
    document: DocumentView
    number: int | None
    picture: str | None
    box: BoxView | None
    seen: str


class Refused(NamedTuple):
    """Why a claim was refused: a code in words, and the sentence of each reviewer."""

    code: str
    reviewer: str
    reason: str | None


@router.get("/claims/{id}")
def show_claim(id: str, visit: Visiting) -> Response:
    """One claim."""
    asked = visit.request.query_params
    after = looking.number(asked.get("cursor") or None)

    def look(session: ReadSession) -> tuple[WholeClaim, Page[HappenedView] | None]:
        around = visit.registry.answers.around(session)
        whole = whole_claim.whole_claim(session, around, id, visit.unit)
        if is_blind(visit, whole) and asked.get("seen") != "yes":
            return whole, None
        subject = whole.claim.subject
        return whole, timelines.of_claim(session, around, id, subject, after=after, limit=ON_A_PAGE, unit=visit.unit)

    whole, happened = visit.read(look)
    if happened is None:
        return visit.page("claim_blind.html", whole=whole, subject_path=subject_path(whole))
    return visit.page(
        "claim.html",
        **told(whole, visit.unit),
        happened=lines(happened.items, visit.unit),
        is_later=after > 0,
        next=happened.next,
        may=actions(visit, whole),
        seen=asked.get("seen"),
        rows_from=rows_from(asked.get("rows", "")),
        rows_at_once=ROWS_AT_ONCE,
        done=asked.get("done"),
        done_id=asked.get("id", ""),
    )


def rows_from(asked: str) -> int:
    """How many rows of a derivation come before those that are shown: `rows` is the number of the first."""
    is_number = asked.isascii() and asked.isdigit() and len(asked) <= len(str(MOST_ROWS))
    return min(int(asked), MOST_ROWS) - 1 if is_number and int(asked) else 0


def is_blind(visit: Visit, whole: WholeClaim) -> bool:
    """Whether somebody who looks may still be asked to read this claim blind: the page would spoil that."""
    claim = whole.claim
    waits = claim.state in UNDECIDED or (
        claim.state is State.APPROVED and (claim.approvals < APPROVALS_TO_SET or claim.overdue_years is not None)
    )
    if not waits or not visit.reviews or visit.who is None:
        return False
    readers = {each.reviewer for each in claim.readings}
    took_part = {claim.author, *readers, *(each.reviewer for each in claim.decisions)}
    return visit.who.id not in took_part


def told(whole: WholeClaim, unit: Unit) -> dict[str, Any]:
    """All that the template needs of a claim, in words and drawings."""
    claim = whole.claim
    drawn = None if whole.working is None else intervals(whole.working)
    documents = {root.root: root for root in whole.roots}
    fragile = None if whole.confidence.fragility is None else documents.get(whole.confidence.fragility.root)
    return {
        "whole": whole,
        "claim": claim,
        "line": whole.line,
        "subject_path": subject_path(whole),
        "sentence": sentence(whole, unit),
        "printed": as_printed(whole, unit),
        "scope": scope_rows(claim.scope) if claim.subject.kind in {"vehicle", "fitment"} else [],
        "standing": standing(whole),
        "does": does(whole, unit),
        "refused": list(_refused(whole)),
        "wanted": _wanted(whole),
        "cited": [_cited(each, whole) for each in claim.citations],
        "ladder": ladder(whole.confidence, lambda about: _rests(about, whole)),
        "fragile": fragile,
        "would_fall": _would_fall(whole),
        "drawn": drawn,
        "fallen": _fallen(whole),
        "open": [each for each in claim.disputes if each.state == DisputeState.OPEN],
        "exactly": exactly,
        "basis_words": basis_words,
        "figure": figure,
        "unit": unit,
        "codes": CODES,
        "seen_words": SEEN,
        "findings": FINDINGS,
        "differing": differing,
        "said_span": said_span,
        "cells": cells,
        "years": years,
        "kinds": _KINDS,
        "is_guess": whole.working is not None and not whole.working.may_set,
    }


def _would_fall(whole: WholeClaim) -> bool:
    """Whether a claim that is certain enough to give an answer would not be without its strongest source."""
    fragility = whole.confidence.fragility
    return fragility is not None and fragility.confidence < SETS_AT <= whole.claim.confidence


def subject_path(whole: WholeClaim) -> str:
    """Where the page of the claim's subject is."""
    return f"/{_KINDS[whole.line.subject.kind]}/{whole.line.subject.id}"


def actions(visit: Visit, whole: WholeClaim) -> dict[str, bool]:
    """What somebody who looks may do about a claim; whoever is not signed in is asked to when they do it."""
    claim = whole.claim
    return {
        "dispute": claim.state is State.APPROVED,
        "cite": claim.state in UNDECIDED,
        "withdraw": claim.state in UNDECIDED and visit.who is not None and visit.who.id == claim.author,
        "supersede": claim.state in BINDING and claim.subject.kind == "vehicle",
        "settle": visit.reviews and any(_is_open(each) for each in claim.disputes),
    }


def _is_open(dispute: DisputeView) -> bool:
    return dispute.state == DisputeState.OPEN and dispute.document is not None


def _cited(citation: CitationView, whole: WholeClaim) -> Cited:
    document = whole.documents[citation.document]
    number = citation.found_page
    page = citation.page or ""
    if number is None and page.isascii() and page.isdigit() and 1 <= int(page) <= (document.pages or 0):
        number = int(page)
    has_picture = document.held and number is not None and (document.pages or 0) > 0 and _is_drawn(document)
    picture = f"/api/v1/documents/{document.id}/pages/{number}/picture" if has_picture else None
    return Cited(citation, document, number, picture, citation.box, SEEN.get(citation.outcome or "", ""))


def _is_drawn(document: DocumentView) -> bool:
    """Whether pages of its kind have a picture: papers and photographs have, what was fetched as a web page has not."""
    return document.media_type == "application/pdf" or (document.media_type or "").startswith("image/")


def _rests(about: str, whole: WholeClaim) -> list[Rests]:
    """What a row of the ladder names: a citation, a reading, or a root by its documents."""
    citation = next((each for each in whole.claim.citations if each.id == about), None)
    if citation is not None:
        page = f", page {citation.page}" if citation.page else ""
        return [Rests(f"{citation.document}{page}", f"#{citation.id}")]
    if any(each.id == about for each in whole.claim.readings):
        return [Rests(about, f"#{about}")]
    root = next((each for each in whole.roots if each.root == about), None)
    return [] if root is None else [Rests(each.id, f"/documents/{each.id}") for each in root.documents[:3]]


def _refused(whole: WholeClaim) -> Iterator[Refused]:
    """The rejection, or the votes that refuted it."""
    if whole.claim.state is not State.REJECTED:
        return
    for review in whole.claim.decisions:
        if review.decision == Decision.REJECT:
            yield Refused(CODES.get(review.code or "", review.code or ""), review.reviewer, review.reason)
    for dispute in whole.claim.disputes:
        for vote in dispute.votes:
            if vote.settlement == Settlement.REFUTE and dispute.state == DisputeState.REFUTED:
                yield Refused(CODES.get(vote.code or "", vote.code or ""), vote.reviewer, vote.reason)


def _wanted(whole: WholeClaim) -> str | None:
    """What a reviewer asked for, where a claim needs evidence."""
    if whole.claim.state is not State.NEEDS_EVIDENCE:
        return None
    asked = [each for each in whole.claim.decisions if each.decision == Decision.ASK_EVIDENCE]
    return asked[-1].reason if asked else None


def _fallen(whole: WholeClaim) -> str | None:
    """Why what is worked back sets nothing today, where something that it takes in does not stand."""
    cap = next((each for each in whole.confidence.caps if each.code == "weakest_input"), None)
    if whole.claim.derivation is None or cap is None:
        return None
    if whole.working is None:
        return "What it takes in no longer goes together: it is worth nothing until a new claim is made."
    disputed = [each.id for each in whole.takes if each.state is State.DISPUTED]
    if disputed:
        return f"Suspended: {', '.join(disputed)}, on which it rests, is disputed."
    if cap.at_most == 0:
        return (
            "What it takes in fell, was placed on another vehicle, or says something else today: it is worth nothing."
        )
    return None
