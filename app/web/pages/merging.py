"""Say that two records are of one thing: a steward proposes it, and somebody else agrees at the desk."""

from typing import Any

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject
from app.core.placement import PlacementKind
from app.persistence.session import ReadSession
from app.services import placing
from app.services.calling import called
from app.services.foreseeing_placements import Placing
from app.services.placing_inputs import NewMerger
from app.services.views.records import record_view
from app.web.pages.finding import apart
from app.web.pages.forms import Faulty, Sent
from app.web.pages.pairing import LONGEST, PLURALS, ahead, found_by_name, offer
from app.web.pages.people_forms import wanted
from app.web.pages.visiting import PageRoute, Visit

router = APIRouter(route_class=PageRoute, include_in_schema=False)


def _propose(visit: Visit, subject: Subject, sent: Sent) -> Response:
    """Propose it, or look first at what that would change."""
    if sent.text("do") == "foresee":
        return _foreseen(visit, subject, sent)
    said = {"kind": subject.kind, "subject": subject.id, "into": sent.text("into"), "reason": sent.text("reason")}
    new = wanted(NewMerger, **said)
    made = visit.write(sent, lambda work: placing.propose_merger(work, new))
    return visit.go("/desk/proposed", done=f"proposed.{made}")


def _foreseen(visit: Visit, subject: Subject, sent: Sent) -> Response:
    """The form again, with what the merger would change. Nothing is entered."""
    into = sent.text("into")
    new = wanted(NewMerger, kind=subject.kind, subject=subject.id, into=into, reason=sent.text("reason") or "-")

    def look(session: ReadSession) -> dict[str, Any]:
        one, other = placing.check_merger(session, new)
        names = called(session, [other])
        return {
            "ahead": ahead(visit, session, Placing(PlacementKind.MERGER, one, other)),
            "other": (other.id, names[other]),
        }

    return _shown(visit, subject, sent, **visit.read(look))


def _shown(
    visit: Visit, subject: Subject, sent: Sent, status: int = 200, faulty: Faulty | None = None, **foreseen: Any
) -> Response:
    def look(session: ReadSession) -> dict[str, Any]:
        record = record_view(session, subject)
        name = called(session, [subject])[subject]
        words = (sent.text("q") or name)[:LONGEST]
        return {
            "record": record,
            "apart": apart(record),
            "name": name,
            "q": words,
            "found": found_by_name(visit, session, subject, words),
        }

    return visit.form(
        "merger.html",
        status,
        kind=subject.kind,
        plural=PLURALS[subject.kind],
        here=f"/{PLURALS[subject.kind]}/{subject.id}",
        typed=sent,
        faulty=faulty or Faulty(),
        **visit.read(look),
        **{"ahead": None, "other": None, **foreseen},
    )


offer(
    router,
    "merger",
    shows=_shown,
    takes=_propose,
    asks="The form that says that a {} is the same as another one, which is found by its name.",
    does="Propose that a {} is the same as another one, or look first at what that would change.",
)
