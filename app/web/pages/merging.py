"""Say that two records are of one thing: a steward proposes it, and somebody else agrees at the desk."""

from collections.abc import Callable
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.core.permissions import may_govern
from app.persistence.session import ReadSession
from app.services import placing
from app.services.calling import called
from app.services.looking import found_records
from app.services.placing_inputs import NewMerger
from app.services.views.records import record_view
from app.web.pages.finding import apart
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again, wanted
from app.web.pages.submitting_forms import asked
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

PLURALS: Final = {
    SubjectKind.VEHICLE: "vehicles",
    SubjectKind.CARRIER: "carriers",
    SubjectKind.FIXING: "fixings",
    SubjectKind.GEAR: "gear",
}
MOST_FOUND: Final = 12
LONGEST: Final = 100


def _form_of(kind: SubjectKind) -> Callable[[str, Visit], Response]:
    def form(id: str, visit: Visiting) -> Response:
        visit.need()
        may_govern(visit.entered().caller.role)
        return _shown(visit, Subject(kind, id), asked(visit.request.query_params))

    form.__doc__ = f"The form that says that a {kind} is the same as another one, which is found by its name."
    return form


def _sent_to(kind: SubjectKind) -> Callable[[str, Visit, Sent], Response]:
    def propose(id: str, visit: Visiting, sent: Filled) -> Response:
        visit.need()
        may_govern(visit.entered().caller.role)
        try:
            new = wanted(NewMerger, kind=kind, subject=id, into=sent.text("into"), reason=sent.text("reason"))
            made = visit.write(sent, lambda work: placing.propose_merger(work, new))
        except CantrailError as error:
            return again(visit, error, lambda status, faulty: _shown(visit, Subject(kind, id), sent, status, faulty))
        return visit.go("/desk/proposed", done=f"proposed.{made}")

    propose.__doc__ = f"Propose that a {kind} is the same as another one."
    return propose


def _shown(visit: Visit, subject: Subject, sent: Sent, status: int = 200, faulty: Faulty | None = None) -> Response:
    def look(session: ReadSession) -> dict[str, Any]:
        record = record_view(session, subject)
        name = called(session, [subject])[subject]
        words = (sent.text("q") or name)[:LONGEST]
        found = visit.registry.finder.find(subject.kind, words, limit=MOST_FOUND + 1)
        records = found_records(session, subject.kind, found, year=None, category=None, limit=MOST_FOUND + 1).items
        others = [each for each in records if each.id != subject.id and not isinstance(each.merged_into, str)]
        likeness = {each.id: each.score for each in found}
        others.sort(key=lambda each: (-likeness.get(each.id, 0), each.id))
        names = called(session, [Subject(subject.kind, each.id) for each in others])
        return {
            "record": record,
            "apart": apart(record),
            "name": name,
            "q": words,
            "found": [(each.id, names[Subject(subject.kind, each.id)], apart(each)) for each in others[:MOST_FOUND]],
        }

    here = f"/{PLURALS[subject.kind]}/{subject.id}"
    context = visit.read(look)
    return visit.form(
        "merger.html",
        status,
        kind=subject.kind,
        plural=PLURALS[subject.kind],
        here=here,
        typed=sent,
        faulty=faulty or Faulty(),
        **context,
    )


for _kind, _plural in PLURALS.items():
    _path = f"/{_plural}/{{id}}/merger"
    router.add_api_route(_path, _form_of(_kind), methods=["GET"], name=f"form_of_{_kind}_merger")
    router.add_api_route(_path, _sent_to(_kind), methods=["POST"], name=f"propose_{_kind}_merger")
