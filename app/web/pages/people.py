"""Stewards' pages: who is here, what they have done, and whom to trust with more or no more."""

from collections.abc import Callable, Mapping
from typing import Any, Final, NamedTuple

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError
from app.core.permissions import Role
from app.persistence.session import ReadSession
from app.services import governing
from app.services.governing import ResetCode
from app.services.people_inputs import NewRole
from app.services.views.people import AccountWhole, account_page, account_whole
from app.services.work import Work
from app.web.lists import ListAccounts
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again, wanted
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(prefix="/people", route_class=PageRoute, include_in_schema=False)

ON_A_PAGE: Final = 50
LONGEST_NAME: Final = 200


class Act(NamedTuple):
    """Something that a steward may do to an account: how it is asked for, what it does, and what was done."""

    title: str
    does: str
    button: str
    done: str
    do: Callable[[Work, str], None]


ACTS: Final[Mapping[str, Act]] = {
    "disabling": Act(
        "Disable {name}",
        "The account can do nothing more: its sessions and tokens end at once, also on pages that are open now. What it "
        "entered stays. It can be enabled again; its tokens stay revoked. The ledger keeps that you did this.",
        "Disable the account",
        "The account is disabled. Its sessions and tokens have ended.",
        governing.disable,
    ),
    "enabling": Act(
        "Enable {name} again",
        "Whoever has its password signs in again, with the role that it had. Its tokens stay revoked. The ledger keeps "
        "that you did this.",
        "Enable the account",
        "The account is enabled again.",
        governing.enable,
    ),
    "shutting-out": Act(
        "End {name}’s sessions and tokens",
        "It is signed out everywhere and its tokens are revoked, also on pages that are open now. The account goes on: "
        "whoever has its password signs in again.",
        "End sessions and tokens",
        "Its sessions have ended and its tokens are revoked.",
        governing.shut_out,
    ),
    "forgetting": Act(
        "Forget who {name} is",
        "Its name, password, tokens, addresses and interests are removed for ever, and it is disabled. Its pseudonym and "
        "what it entered stay. This cannot be taken back, by anybody.",
        "Forget for ever",
        "Who was behind the account is forgotten.",
        governing.forget,
    ),
}


@router.get("")
def list_people(visit: Visiting) -> Response:
    """Everybody, everybody of a role, or whoever has something in their name."""
    visit.need()
    asked = visit.request.query_params
    named = asked.get("name", "").strip()[:LONGEST_NAME]
    role = asked.get("role", "")
    wanted_role = Role(role) if role in set(Role) else None
    cursor = wanted(ListAccounts, cursor=asked.get("cursor")).cursor or ""

    def look(session: ReadSession) -> Response:
        page = account_page(
            session, visit.caller(session), after=cursor, limit=ON_A_PAGE, role=wanted_role, named=named or None
        )
        return visit.page("people.html", page=page, name=named, role=wanted_role or "", roles=list(Role))

    return visit.read(look)


@router.get("/{id}")
def show_person(id: str, visit: Visiting) -> Response:
    """Somebody, with what they have done."""
    visit.need()
    done = visit.request.query_params.get("done", "")
    told = ACTS[done].done if done in ACTS else {"role": "The role is given. Its sessions have ended."}.get(done)
    return visit.page("people_one.html", whole=_whole(visit, id), told=told)


@router.get("/{id}/role")
def ask_role(id: str, visit: Visiting) -> Response:
    """Which role, with the track record before it."""
    visit.need()
    return _role(visit, id)


@router.post("/{id}/role")
def give_role(id: str, visit: Visiting, sent: Filled) -> Response:
    """Another role."""
    visit.need()

    def give(work: Work) -> None:
        governing.give_role(work, id, wanted(NewRole, role=sent.text("role"), record=sent.text("record")))

    try:
        visit.write(sent, give)
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _role(visit, id, status, sent, faulty))
    return visit.go(f"/people/{id}", done="role")


@router.get("/{id}/reset-code")
def ask_reset_code(id: str, visit: Visiting) -> Response:
    """What a reset code does."""
    visit.need()
    return visit.page("people_reset.html", whole=_whole(visit, id), code=None, faulty=Faulty())


@router.post("/{id}/reset-code")
def reset_code(id: str, visit: Visiting, sent: Filled) -> Response:
    """A code, shown this once."""
    visit.need()
    with_one_time_password = sent.text("one_time_password") == "true"

    def give(session: Any, _: object) -> ResetCode:
        work = visit.registry.work(session, visit.need().caller)
        return governing.reset(work, id, one_time_password=with_one_time_password)

    try:
        code = visit.change(give)
    except CantrailError as error:
        return again(
            visit,
            error,
            lambda status, faulty: visit.page(
                "people_reset.html", status, whole=_whole(visit, id), code=None, faulty=faulty
            ),
        )
    return visit.page("people_reset.html", whole=_whole(visit, id), code=code, faulty=Faulty())


def _add_act(name: str, act: Act) -> None:
    """The two pages of an act, each at an address of its own, so that the log tells one act from another."""

    @router.get(f"/{{id}}/{name}")
    def ask(id: str, visit: Visiting) -> Response:
        visit.need()
        return _act(visit, id, name, act)

    @router.post(f"/{{id}}/{name}")
    def do(id: str, visit: Visiting, sent: Filled) -> Response:
        visit.need()
        try:
            visit.write(sent, lambda work: act.do(work, id))
        except CantrailError as error:
            return again(visit, error, lambda status, faulty: _act(visit, id, name, act, status, faulty))
        return visit.go(f"/people/{id}", done=name)


for _name, _its in ACTS.items():
    _add_act(_name, _its)


def _whole(visit: Visit, id: str) -> AccountWhole:
    def look(session: ReadSession) -> AccountWhole:
        return account_whole(session, visit.caller(session), id, visit.now)

    return visit.read(look)


def _role(visit: Visit, id: str, status: int = 200, sent: Sent | None = None, faulty: Faulty | None = None) -> Response:
    return visit.page(
        "people_role.html",
        status,
        whole=_whole(visit, id),
        roles=list(Role),
        chosen="" if sent is None else sent.text("role"),
        faulty=faulty or Faulty(),
    )


def _act(visit: Visit, id: str, name: str, act: Act, status: int = 200, faulty: Faulty | None = None) -> Response:
    return visit.page("people_act.html", status, whole=_whole(visit, id), act=act, name=name, faulty=faulty or Faulty())
