"""Say that some claims and fitments of a record are another's: a steward proposes it, and somebody else agrees at the
desk."""

import re
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.placement import PlacementKind
from app.persistence.session import ReadSession
from app.services import placing, sheets
from app.services.calling import called
from app.services.foreseeing_placements import Placing
from app.services.placing_inputs import NewSplit
from app.services.sheets import FitView
from app.services.views.records import Page
from app.web.pages import briefly
from app.web.pages.finding import apart
from app.web.pages.forms import Faulty, Sent
from app.web.pages.pairing import LONGEST, PLURALS, ahead, found_by_name, offer
from app.web.pages.people_forms import wanted
from app.web.pages.visiting import PageRoute, Visit

router = APIRouter(route_class=PageRoute, include_in_schema=False)

MOST_CLAIMS: Final = 60
MOST_FITS: Final = 40
_BETWEEN: Final = re.compile(r"[\s,;]+")


def _propose(visit: Visit, subject: Subject, sent: Sent) -> Response:
    """Propose it, or look for the other record or at what that would change."""
    if sent.text("do") == "find":
        return _shown(visit, subject, sent)
    if sent.text("do") == "foresee":
        return _foreseen(visit, subject, sent)
    new = _said(subject, sent, sent.text("reason"))
    made = visit.write(sent, lambda work: placing.propose_split(work, new))
    return visit.go("/desk/proposed", done=f"proposed.{made}")


def _said(subject: Subject, sent: Sent, reason: str) -> NewSplit:
    """A split as it was filled in: what was ticked, and what was typed beside."""
    typed = [each for each in _BETWEEN.split(sent.text("further").upper()) if each]
    return wanted(
        NewSplit,
        kind=subject.kind,
        subject=subject.id,
        onto=sent.text("onto"),
        claims=[*sent.many("claims"), *typed],
        fitments=sent.many("fitments"),
        reason=reason,
    )


def _foreseen(visit: Visit, subject: Subject, sent: Sent) -> Response:
    """The form again, with what the split would change. Nothing is entered, and so no reason is asked for yet."""
    new = _said(subject, sent, sent.text("reason") or "-")

    def look(session: ReadSession) -> dict[str, Any]:
        one, other = placing.check_split(session, new)
        split = Placing(PlacementKind.SPLIT, one, other, tuple(new.claims), tuple(new.fitments))
        return {"ahead": ahead(visit, session, split), "other": (other.id, called(session, [other])[other])}

    return _shown(visit, subject, sent, **visit.read(look))


def _shown(
    visit: Visit, subject: Subject, sent: Sent, status: int = 200, faulty: Faulty | None = None, **foreseen: Any
) -> Response:
    dossier = visit.registry.answers.dossier(subject)

    def look(session: ReadSession) -> dict[str, Any]:
        sheet = sheets.sheet(session, dossier, unit=visit.unit, limit=MOST_CLAIMS)
        words = (sent.text("q") or sheet.name)[:LONGEST]
        return {
            "sheet": sheet,
            "apart": apart(sheet.record),
            "fits": _fits(session, subject),
            "q": words,
            "found": found_by_name(visit, session, subject, words),
        }

    return visit.form(
        "split.html",
        status,
        kind=subject.kind,
        plural=PLURALS[subject.kind],
        here=f"/{PLURALS[subject.kind]}/{subject.id}",
        typed=sent,
        chosen={*sent.many("claims"), *sent.many("fitments")},
        words_of=briefly,
        faulty=faulty or Faulty(),
        **visit.read(look),
        **{"ahead": None, "other": None, **foreseen},
    )


def _fits(session: ReadSession, subject: Subject) -> Page[FitView]:
    match subject.kind:
        case SubjectKind.VEHICLE:
            return sheets.fits(session, vehicle=subject.id, after=0, limit=MOST_FITS)
        case SubjectKind.CARRIER:
            return sheets.fits(session, carrier=subject.id, after=0, limit=MOST_FITS)
        case _:
            return Page([])


offer(
    router,
    "split",
    shows=_shown,
    takes=_propose,
    asks="The form that says that some claims on a {} are another one's, which is found by its name.",
    does="Propose that some claims on a {} are another one's, or look first at what that would change.",
)
