"""Signing in and out. Whoever is asked to sign in in the middle of a form goes on with what they had typed."""

from collections.abc import Mapping
from http import HTTPStatus
from typing import Any, Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError, Kind
from app.services import sessions
from app.services.people_inputs import SignIn
from app.web import cookies
from app.web.errors import STATUSES
from app.web.pages.forms import KEY_FIELD, Filled, Sent, local_path, new_key
from app.web.pages.people_forms import wanted
from app.web.pages.typed_words import told
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

CARRIED: Final = "_carried."
SHOWN: Final = 40
"""How many of the fields that are carried along are shown."""

FAILED: Final = (
    "The name, the password or the one-time password is wrong. Where one-time passwords are on, give a fresh one, or a "
    "recovery code."
)
SLOWED: Final = frozenset({Kind.TOO_MANY, Kind.UNAVAILABLE})


@router.get("/sign-in")
def ask(visit: Visiting) -> Response:
    """A name and a password."""
    then = local_path(visit.request.query_params.get("then", "/"))
    if visit.signed_in is not None:
        return visit.go(_onward(then))
    return _form(visit, {"then": then}, done=visit.request.query_params.get("done"))


@router.post("/sign-in")
def sign_in(visit: Visiting, sent: Filled) -> Response:
    """A session, and on to where they were."""
    cookies.refuse_cross_site(visit.request, from_page=False)
    carries = _carries(sent)
    try:
        opened = visit.registry.signing_in.sign_in(
            wanted(SignIn, name=sent.text("_name"), password=sent.exact("_password"), code=sent.or_none("_code")),
            address=visit.address,
            now=visit.now,
            instead_of=cookies.shown(visit.request),
        )
    except CantrailError as error:
        if error.kind not in {Kind.UNAUTHENTICATED, Kind.INVALID, *SLOWED}:
            raise
        return _again(visit, sent, carries, error)
    visit.enter(opened)
    return cookies.put(_go_on(visit, carries), opened, visit.now)


@router.post("/sign-out")
def sign_out(visit: Visiting) -> Response:
    """Out, whether or not they still were in."""
    cookies.refuse_cross_site(visit.request, from_page=False)
    if visit.signed_in is not None:
        visit.change(sessions.end)
    return cookies.take(visit.go("/"))


def _carries(sent: Sent) -> dict[str, Any]:
    carried = [(name.removeprefix(CARRIED), text) for name, text in sent.fields if name.startswith(CARRIED)]
    return {
        "then": local_path(sent.text("_then")),
        "posted": sent.text("_posted") == "yes",
        "carried": carried,
        "is_lost": sent.text("_lost") == "yes",
        "had_file": sent.text("_file") == "yes",
    }


def _form(visit: Visit, carries: Mapping[str, Any], status: int = 200, **said: Any) -> Response:
    nothing = {
        "posted": False,
        "carried": [],
        "is_lost": False,
        "had_file": False,
        "told": None,
        "name": "",
        "done": None,
    }
    return visit.page("sign_in.html", status, **{**nothing, **carries, **said})


def _again(visit: Visit, sent: Sent, carries: Mapping[str, Any], error: CantrailError) -> Response:
    """The page again, with the name as it was typed. It never says which part was wrong."""
    visit.request.state.code = error.code
    if error.kind not in SLOWED:
        return _form(visit, carries, HTTPStatus.UNAUTHORIZED, told=FAILED, name=sent.text("_name"))
    response = _form(visit, carries, STATUSES[error.kind], told=error.message, name=sent.text("_name"))
    response.headers["Retry-After"] = str(error.details.get("retry_after", 2))
    return response


def _onward(then: str) -> str:
    """Where somebody who is signed in goes: never round in a circle."""
    return "/account" if then.partition("?")[0] in {"/sign-in", "/sign-out"} else then


def _go_on(visit: Visit, carries: Mapping[str, Any]) -> Response:
    entered = visit.entered()
    then = _onward(carries["then"])
    if carries["posted"] and then == carries["then"]:
        carried = carries["carried"]
        key = [] if any(name == KEY_FIELD for name, _ in carried) else [(KEY_FIELD, new_key())]
        typed = told(carried)
        return visit.page(
            "signed_in.html",
            **{**carries, "then": then, "carried": [*carried, *key], "told": typed[:SHOWN], "more": len(typed) - SHOWN},
        )
    if not entered.is_whole:
        return visit.go("/account/one-time-password")
    return visit.go(then)
