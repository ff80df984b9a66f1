"""What people do about a claim: dispute it, add evidence to it before any approval, take their own back."""

from typing import Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Interest
from app.core.errors import CantrailError, Fault
from app.core.lifecycle import UNDECIDED, State
from app.persistence.session import ReadSession
from app.services import claims, disputing, looking, whole_claim
from app.services.faults import bad_input
from app.services.inputs import NewCitation, NewDispute
from app.services.views.claims import ClaimView
from app.services.views.records import DocumentView
from app.services.whole_claim import SubjectNamed
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again, wanted
from app.web.pages.submitting_forms import asked
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

MOST_SUGGESTED: Final = 50
SHOULD_SAY: Final = "It should say: "
INTERESTS: Final = {
    Interest.NONE: "No",
    Interest.EMPLOYER: "I work for whom it concerns",
    Interest.SELLS: "I sell it",
    Interest.OWNS: "I own one",
}


@router.get("/claims/{id}/dispute")
def ask_dispute(id: str, visit: Visiting) -> Response:
    """The form that challenges a claim."""
    visit.need()
    return _form(visit, id, "claim_dispute.html")


@router.post("/claims/{id}/dispute")
def dispute(id: str, visit: Visiting, sent: Filled) -> Response:
    """A challenge."""
    visit.need()
    try:
        new = _dispute(sent)
        made = visit.write(sent, lambda work: disputing.dispute(work, id, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _form(visit, id, "claim_dispute.html", sent, faulty, status))
    return visit.go(f"/claims/{id}", done="disputed", id=made, seen="yes")


@router.get("/claims/{id}/cite")
def ask_cite(id: str, visit: Visiting) -> Response:
    """The form that adds evidence to a claim."""
    visit.need()
    return _form(visit, id, "claim_cite.html", asked(visit.request.query_params))


@router.post("/claims/{id}/cite")
def cite(id: str, visit: Visiting, sent: Filled) -> Response:
    """A further citation."""
    visit.need()
    try:
        new = wanted(NewCitation, **{name: sent.or_none(name) for name in ("document", "page", "locator", "quote")})
        visit.write(sent, lambda work: claims.cite(work, id, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _form(visit, id, "claim_cite.html", sent, faulty, status))
    return visit.go(f"/claims/{id}", done="cited", seen="yes")


@router.get("/claims/{id}/withdraw")
def ask_withdraw(id: str, visit: Visiting) -> Response:
    """Asks whether a claim is really to be taken back."""
    visit.need()
    return _form(visit, id, "claim_withdraw.html")


@router.post("/claims/{id}/withdraw")
def withdraw(id: str, visit: Visiting, sent: Filled) -> Response:
    """A withdrawal."""
    visit.need()
    try:
        visit.write(sent, lambda work: claims.withdraw(work, id))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _form(visit, id, "claim_withdraw.html", sent, faulty, status))
    return visit.go(f"/claims/{id}", done="withdrawn")


def _dispute(sent: Sent) -> NewDispute:
    """A challenge as it is sent on: what the claim should say instead becomes the end of the reason."""
    reason, should = sent.text("reason"), sent.text("should_say")
    if not reason:
        raise bad_input([Fault("/reason", "missing", "Say what is wrong with it, in a sentence.")])
    return wanted(
        NewDispute,
        reason=f"{reason}\n{SHOULD_SAY}{should}" if should else reason,
        document=sent.text("document").upper(),
        page=sent.text("page"),
        interest=sent.text("interest") or Interest.NONE,
    )


def _form(
    visit: Visit, id: str, template: str, sent: Sent | None = None, faulty: Faulty | None = None, status: int = 200
) -> Response:
    def look(session: ReadSession) -> tuple[ClaimView, SubjectNamed, list[DocumentView]]:
        claim = looking.claim(session, id)
        named = whole_claim.subject_named(session, claim.subject)
        return claim, named, _suggested(session, claim, named)

    claim, named, documents = visit.read(look)
    return visit.form(
        template,
        status,
        claim=claim,
        subject=named,
        documents=documents,
        interests=INTERESTS,
        typed=sent.values() if sent else {},
        faulty=faulty or Faulty(),
        is_open=_is_open(visit, template, claim),
    )


def _is_open(visit: Visit, template: str, claim: ClaimView) -> bool:
    """Whether what the form is for can be done to this claim by whoever looks at it."""
    if template == "claim_dispute.html":
        return claim.state is State.APPROVED
    is_own = visit.who is not None and visit.who.id == claim.author
    return claim.state in UNDECIDED and (is_own or template == "claim_cite.html")


def _suggested(session: ReadSession, claim: ClaimView, named: SubjectNamed) -> list[DocumentView]:
    """The documents of the subject's maker, to choose from."""
    maker = named.maker or (named.carrier.maker if named.carrier else None)
    if maker is None:
        return []
    found = looking.documents(session, cursor=None, limit=MOST_SUGGESTED, publisher=maker).items
    cited = {each.document for each in claim.citations}
    return [each for each in found if each.held and each.id not in cited]
