"""Enter a vehicle, a rack, a fixing or gear: its maker, its name, and what is known of it. What resembles something that
is there already is shown beside it first."""

from collections.abc import Callable, Sequence
from typing import Any, Final

import msgspec
from fastapi import APIRouter
from starlette.responses import Response

from app.core.claim import Subject
from app.core.errors import CantrailError, Kind
from app.core.gear import CATEGORIES
from app.persistence.session import ReadSession
from app.services import makers
from app.services.calling import called
from app.services.views.records import record_view
from app.services.work import Work
from app.web.errors import STATUSES
from app.web.pages.adding_said import FORMS, Entering, Made, body
from app.web.pages.finding import apart
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

SHOWN_AGAIN: Final = frozenset({Kind.INVALID, Kind.CONFLICT})
MOST_FILLED: Final = 100


class Near(msgspec.Struct, frozen=True):
    """What something new resembles: makers, or things of its own kind; each with its id, its name, and what tells it
    apart."""

    makers: bool
    found: list[tuple[str, str, str]]


def _form_of(entering: Entering) -> Callable[[Visit], Response]:
    def form(visit: Visiting) -> Response:
        visit.need()
        asked = visit.request.query_params
        typed = {name: asked[name][:MOST_FILLED] for name in entering.fields if name in asked}
        named = typed.get("maker")
        unknown = bool(named) and visit.read(lambda session: makers.maker_called(session, named or "")) is None
        return _shown(visit, entering, typed, unknown=unknown)

    form.__doc__ = f"The form that enters a {entering.kind}, filled in as far as the address says."
    return form


def _sent_to(entering: Entering) -> Callable[[Visit, Sent], Response]:
    def add(visit: Visiting, sent: Filled) -> Response:
        visit.need()
        try:
            new = body(entering, sent)
            id = visit.write(sent, lambda work: _enter(work, entering, sent, new))
        except CantrailError as error:
            if error.kind not in SHOWN_AGAIN:
                raise
            visit.request.state.code = error.code
            return _again(visit, entering, sent, error)
        return visit.go("/submit", **{str(entering.kind): id})

    add.__doc__ = f"Enter a {entering.kind}, and on to what is known of it."
    return add


def _enter(work: Work, entering: Entering, sent: Sent, new: Made) -> str:
    is_distinct = bool(sent.text("maker_is_distinct"))
    try:
        maker = makers.maker_for(
            work,
            sent.text("maker_is") or sent.text("maker"),
            entering.maker_kind,
            enter=is_distinct or bool(sent.text("maker_is_new")),
            distinct_from=sent.many("maker_distinct_from") if is_distinct else [],
        )
    except CantrailError as error:
        details = {**error.details, "of": "maker"}
        raise CantrailError(error.kind, error.code, error.message, faults=error.faults, details=details) from error
    return entering.add(work, msgspec.structs.replace(new, maker=maker))


def _again(visit: Visit, entering: Entering, sent: Sent, error: CantrailError) -> Response:
    near = _near(visit, entering, error) if "resembles" in error.details else None
    decided = [
        ("maker_is_distinct", "yes"),
        *(("maker_distinct_from", each) for each in sent.many("maker_distinct_from")),
    ]
    return _shown(
        visit,
        entering,
        {**sent.values(), **({"maker": sent.text("maker_is")} if sent.text("maker_is") else {})},
        chosen=[each for name in ("bodies", "roofs", "holds") for each in sent.many(name)],
        unknown=error.code == "no_such_maker",
        maker_is_new=bool(sent.text("maker_is_new") or sent.text("maker_is_distinct")),
        kept=decided if sent.text("maker_is_distinct") else [],
        faulty=Faulty(None if near else error),
        near=near,
        status=STATUSES[error.kind],
    )


def _near(visit: Visit, entering: Entering, error: CantrailError) -> Near:
    resembles: Any = error.details["resembles"]
    if error.details.get("of") == "maker":
        return Near(True, [(each["id"], each["name"], "") for each in resembles])

    def look(session: ReadSession) -> Near:
        names = called(session, [Subject(entering.kind, each["id"]) for each in resembles])
        return Near(
            False,
            [(each.id, name, apart(record_view(session, each))) for each, name in sorted(names.items())],
        )

    return visit.read(look)


def _shown(
    visit: Visit,
    entering: Entering,
    typed: dict[str, str],
    *,
    chosen: Sequence[str] = (),
    unknown: bool = False,
    maker_is_new: bool = False,
    kept: Sequence[tuple[str, str]] = (),
    faulty: Faulty | None = None,
    near: Near | None = None,
    status: int = 200,
) -> Response:
    return visit.form(
        "subject_new.html",
        status,
        entering=entering,
        forms=FORMS,
        typed=typed,
        chosen=chosen,
        unknown=unknown,
        maker_is_new=maker_is_new,
        kept=kept,
        faulty=faulty or Faulty(),
        near=near,
        makers=visit.read(lambda session: makers.makers(session, entering.maker_kind)),
        categories=[(each.id, each.name) for each in CATEGORIES.values()],
    )


for _entering in FORMS:
    _path = f"/{_entering.plural}/new"
    router.add_api_route(_path, _form_of(_entering), methods=["GET"], name=f"form_of_{_entering.kind}")
    router.add_api_route(_path, _sent_to(_entering), methods=["POST"], name=f"enter_{_entering.kind}")
