"""Making oneself an account, and a new password for a forgotten one."""

from typing import Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError, Kind
from app.services.people_inputs import NewAccount, PasswordReset, SignIn
from app.web import cookies
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again, wanted
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)


RESET_FAILED: Final = (
    "The name or the code is wrong, or the code is over or used. Where one-time passwords are on, give a fresh one too."
)


@router.get("/register")
def ask_register(visit: Visiting) -> Response:
    """A name and a password, or how else one gets an account."""
    return _register(visit)


@router.post("/register")
def register(visit: Visiting, sent: Filled) -> Response:
    """An account, and signed in to it."""
    cookies.refuse_cross_site(visit.request, from_page=False)
    if not visit.registry.settings.open_registration:
        raise CantrailError(
            Kind.FORBIDDEN, "registration_closed", "Accounts are made by the operator here. Ask for one."
        )
    signing_in, password = visit.registry.signing_in, sent.exact("_password")
    try:
        new = wanted(NewAccount, name=sent.text("name"), password=password)
        made = signing_in.register(new, address=visit.address, now=visit.now)
        entering = SignIn(name=made.name, password=password)
        opened = signing_in.sign_in(
            entering, address=visit.address, now=visit.now, instead_of=cookies.shown(visit.request)
        )
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _register(visit, status, sent, faulty))
    return cookies.put(visit.go("/account", done="registered"), opened, visit.now)


@router.get("/password")
def ask_reset(visit: Visiting) -> Response:
    """A code, and the new password."""
    return _reset(visit)


@router.post("/password")
def reset_password(visit: Visiting, sent: Filled) -> Response:
    """A new password; every session ends."""
    cookies.refuse_cross_site(visit.request, from_page=False)
    try:
        new = wanted(
            PasswordReset,
            name=sent.text("name"),
            reset=sent.text("_reset"),
            password=sent.exact("_password"),
            code=sent.or_none("_code"),
        )
        visit.registry.signing_in.reset_password(new, address=visit.address, now=visit.now)
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _reset(visit, status, sent, faulty), wrong=RESET_FAILED)
    return visit.go("/sign-in", done="password")


def _register(visit: Visit, status: int = 200, sent: Sent | None = None, faulty: Faulty | None = None) -> Response:
    return visit.page(
        "register.html",
        status,
        is_open=visit.registry.settings.open_registration,
        typed={} if sent is None else sent.values(),
        faulty=faulty or Faulty(),
    )


def _reset(visit: Visit, status: int = 200, sent: Sent | None = None, faulty: Faulty | None = None) -> Response:
    return visit.page(
        "password_reset.html",
        status,
        typed={} if sent is None else sent.values(),
        faulty=faulty or Faulty(),
    )
