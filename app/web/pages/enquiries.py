"""Enquiries: whom somebody asked, what became of it, and the letter that asks."""

from typing import Any, Final, NamedTuple
from urllib.parse import urlencode

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import LIMITS, QUANTITIES, Condition, Quantity, Subject, SubjectKind
from app.core.enquiry import DAYS_TO_ANSWER, Channel, EnquiryState, Outcome
from app.core.errors import CantrailError
from app.core.letter_words import Language
from app.persistence.session import AnySession, ReadSession
from app.services import enquiries, looking
from app.services.calling import called
from app.services.inputs import EnquiryOutcomeIn, NewEnquiry
from app.services.letters import letter_view
from app.services.views.enquiries import EnquiryView, enquiry_page, enquiry_view
from app.services.views.records import record_view
from app.web.bodies import query
from app.web.lists import AskLetter, ListEnquiries
from app.web.pages import choosing
from app.web.pages.forms import Faulty, Filled
from app.web.pages.letter_setting import set_letter
from app.web.pages.people_forms import again, wanted
from app.web.pages.telling import PLACES
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

A_PAGE: Final = 20


class Shown(NamedTuple):
    """An enquiry, what the thing it asks about is called, and where that is."""

    enquiry: EnquiryView
    name: str
    href: str


@router.get("/enquiries")
def list_enquiries(visit: Visiting) -> Response:
    """Enquiries, the latest first."""
    asked = query(choosing.asked_with_slugs(visit.request, "publisher"), ListEnquiries)
    after = looking.number(asked.cursor)

    def look(session: ReadSession) -> Response:
        page = enquiry_page(
            session,
            after=after,
            limit=A_PAGE,
            newest_first=True,
            **{name: getattr(asked, name) for name in _FILTERS},
        )
        about = _about(session, asked)
        return visit.page(
            "enquiries.html",
            shown=_shown(session, page.items),
            asked=asked,
            about=about,
            tabs=[(words, state == asked.state, _path(asked, state=state)) for words, state in _TABS],
            outcomes=list(Outcome),
            more=_path(asked, cursor=page.next) if page.next else None,
        )

    return visit.read(look)


_FILTERS: Final = ("subject_kind", "subject", "publisher", "state", "outcome", "ask_again_before")
_TABS: Final = (("All", None), ("Open", EnquiryState.OPEN), ("Closed", EnquiryState.CLOSED))


def _path(asked: ListEnquiries, **other: str | None) -> str:
    """The same list with something else of it."""
    said = {name: getattr(asked, name) for name in _FILTERS} | other
    return "/enquiries" + (
        f"?{urlencode(given)}" if (given := {name: each for name, each in said.items() if each}) else ""
    )


def _about(session: AnySession, asked: ListEnquiries) -> tuple[str, str] | None:
    """What the list is narrowed to: its name, and where it is."""
    if asked.subject is None or asked.subject_kind is None:
        return None
    subject = Subject(asked.subject_kind, asked.subject)
    return called(session, [subject])[subject], PLACES[subject.kind] + subject.id


def _shown(session: AnySession, found: list[EnquiryView]) -> list[Shown]:
    names = called(session, [each.subject for each in found])
    return [Shown(each, names[each.subject], PLACES[each.subject.kind] + each.subject.id) for each in found]


# A new one


@router.get("/enquiries/new")
def ask_new(visit: Visiting) -> Response:
    """What was asked of whom: filled in as far as the address says."""
    visit.need()
    given = {name: text for name, text in visit.request.query_params.items() if text}
    kind = next((kind for kind in SubjectKind if kind in given), SubjectKind.VEHICLE)
    subject = given.get(kind, "")
    values = {
        "subject_kind": str(kind),
        "subject": subject,
        "quantity": given.get("quantity", str(QUANTITIES[kind][0])),
        "asked": given.get("publisher", ""),
        "channel": str(Channel.LETTER),
        "asked_on": visit.now.date().isoformat(),
        "language": given.get("language", "en"),
    }
    conditions = [each for each in given.get("condition", "").split(",") if each]
    if kind is SubjectKind.VEHICLE and subject:
        values |= visit.read(lambda session: _asks_well(session, subject, values, conditions))
    elif subject and not values["asked"]:
        maker = visit.read(lambda session: record_view(session, Subject(kind, subject))).maker
        values["asked"] = maker if isinstance(maker, str) else ""
    return _new(visit, values, conditions, 200, Faulty())


def _asks_well(session: AnySession, vehicle: str, values: dict[str, str], conditions: list[str]) -> dict[str, str]:
    """To whom the letter about a vehicle goes, and what it asks."""
    record_view(session, Subject(SubjectKind.VEHICLE, vehicle))
    language = Language(values["language"]) if values["language"] in set(Language) else Language.EN
    letter = letter_view(
        session,
        vehicle,
        to=values["asked"] or None,
        conditions=[each for each in Condition if each in conditions],
        language=language,
    )
    asked = [f"{number}. {each}" for number, each in enumerate(letter.questions, start=1)]
    return {"asked": letter.to, "questions": "\n".join(asked), "language": str(language)}


@router.post("/enquiries/new")
def put(visit: Visiting, sent: Filled) -> Response:
    """An enquiry, once."""
    visit.need()
    conditions = sent.many("conditions")
    try:
        new = wanted(
            NewEnquiry,
            subject={"kind": sent.text("subject_kind"), "id": sent.text("subject")},
            conditions=conditions,
            asked=choosing.as_slug(sent.text("asked")),
            **{name: sent.text(name) for name in _NEW},
        )
        id = visit.write(sent, lambda work: enquiries.put(work, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _new(visit, dict(sent.values()), conditions, status, faulty))
    return visit.go(f"/enquiries/{id}")


_NEW: Final = ("quantity", "channel", "questions", "asked_on", "answer_by", "language")


def _new(visit: Visit, values: dict[str, str], conditions: list[str], status: int, faulty: Faulty) -> Response:
    kind = (
        SubjectKind(values["subject_kind"]) if values.get("subject_kind") in set(SubjectKind) else SubjectKind.VEHICLE
    )

    def look(session: ReadSession) -> Response:
        subject = Subject(kind, values.get("subject", ""))
        name = called(session, [subject])[subject]
        return visit.form(
            "enquiry_new.html",
            status,
            given=values,
            chosen=conditions,
            faulty=faulty,
            name=name if name != subject.id or kind is SubjectKind.FITMENT else "",
            kinds=list(SubjectKind),
            quantities=QUANTITIES[kind] if subject.id else list(Quantity),
            limits=LIMITS,
            conditions=list(Condition),
            channels=list(Channel),
            languages=list(Language),
            publishers=choosing.publishers(session),
            days=DAYS_TO_ANSWER,
        )

    return visit.read(look)


# One enquiry, and what became of it


@router.get("/enquiries/{id}")
def one(visit: Visiting, id: str) -> Response:
    """One enquiry, and for whoever may, the form that closes it."""
    return _one(visit, id, {}, 200, Faulty())


@router.post("/enquiries/{id}")
def close(visit: Visiting, sent: Filled, id: str) -> Response:
    """What became of an enquiry, once."""
    visit.need()
    try:
        new = wanted(EnquiryOutcomeIn, **{name: sent.text(name) for name in _OUTCOME})
        visit.write(sent, lambda work: enquiries.close(work, id, new))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _one(visit, id, dict(sent.values()), status, faulty))
    return visit.go(f"/enquiries/{id}")


_OUTCOME: Final = ("outcome", "document", "note", "answered_on", "ask_again")


def _one(visit: Visit, id: str, values: dict[str, str], status: int, faulty: Faulty) -> Response:
    def look(session: ReadSession) -> Response:
        view = enquiry_view(session, id)
        late = view.outcome is Outcome.NO_ANSWER
        theirs = visit.who is not None and (visit.who.id == view.by or visit.governs)
        return visit.form(
            "enquiry.html",
            status,
            shown=_shown(session, [view])[0],
            may_close=theirs and (view.outcome is None or late),
            outcomes=[each for each in Outcome if not (late and each is Outcome.NO_ANSWER)],
            given=values,
            faulty=faulty,
        )

    return visit.read(look)


# The letter


@router.get("/vehicles/{id}/letter")
def letter(visit: Visiting, id: str) -> Response:
    """The letter that asks for a roof limit, as it goes on paper."""
    asked = query(choosing.asked_with_slugs(visit.request, "publisher"), AskLetter)

    def look(session: ReadSession) -> Response:
        written = letter_view(
            session, id, to=asked.publisher, conditions=asked.condition or (), language=asked.language
        )
        subject = Subject(SubjectKind.VEHICLE, id)
        conditions = ",".join(asked.condition or ())
        said: dict[str, Any] = {"language": asked.language, "publisher": asked.publisher, "condition": conditions}
        given = urlencode({name: each for name, each in said.items() if each})
        return visit.page(
            "letter.html",
            written=written,
            blocks=set_letter(written.text),
            name=called(session, [subject])[subject],
            asked=asked,
            languages=list(Language),
            conditions=list(Condition),
            publishers=choosing.publishers(session),
            given=given,
        )

    return visit.read(look)
