"""One's own account: who one is here, what became of one's claims, where one is signed in, whose interests one has."""

from typing import Final

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError
from app.persistence.session import ReadSession, WriteSession
from app.services import interests, own_claims, sessions
from app.services.interests import InterestsView
from app.services.naming_publishers import publishers_like
from app.services.people_inputs import InterestIn, Interests
from app.services.sessions import SignedIn
from app.services.views.people import account_whole
from app.services.views.records import PublisherView
from app.web import cookies
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again, wanted
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(route_class=PageRoute, include_in_schema=False)

LATEST: Final = 5
ON_A_PAGE: Final = 50


@router.get("/account")
def account(visit: Visiting) -> Response:
    """Oneself."""
    caller = visit.entered().caller

    def look(session: ReadSession) -> Response:
        return visit.page(
            "account.html",
            whole=account_whole(session, caller, caller.account, visit.now),
            claims=own_claims.page(session, caller.account, cursor=None, limit=LATEST),
            open=sessions.open_of(session, visit.entered(), visit.now),
            done=visit.request.query_params.get("done"),
        )

    return visit.read(look)


@router.get("/account/claims")
def claims(visit: Visiting) -> Response:
    """Every claim that one entered, and what became of it."""
    caller = visit.entered().caller
    cursor = visit.request.query_params.get("cursor")
    found = visit.read(lambda session: own_claims.page(session, caller.account, cursor=cursor, limit=ON_A_PAGE))
    return visit.page("account_claims.html", claims=found, is_first=cursor is None)


@router.post("/account/sessions/ending")
def sign_out_everywhere(visit: Visiting, sent: Filled) -> Response:
    """Out, of every browser, or of every other one."""
    if sent.text("others") == "yes":
        visit.change(lambda session, entered: sessions.end_all(session, entered.caller.account, but=entered))
        return visit.go("/account", done="others")
    visit.change(lambda session, entered: sessions.end_all(session, entered.caller.account))
    return cookies.take(visit.go("/sign-in", done="everywhere"))


# Interests


@router.get("/account/interests")
def show_interests(visit: Visiting) -> Response:
    """Whom one works for, and whose things one sells."""
    return _interests(visit)


@router.post("/account/interests")
def declare(visit: Visiting, sent: Filled) -> Response:
    """One more. Whoever is not sure what a publisher is called here is shown those that it may be."""
    visit.need()
    named = sent.text("publisher")
    near = visit.read(lambda session: publishers_like(session, named)) if named else []
    exact = [each for each in near if named.lower() in {each.slug, (each.name or "").lower()}]
    if named and not exact:
        return _interests(visit, 422, sent, near=near, is_unknown=not near)

    def add(session: WriteSession, signed_in: SignedIn) -> None:
        visit.need()
        added = wanted(InterestIn, publisher=exact[0].slug if exact else "", kind=sent.text("kind"))
        _declare(visit, session, signed_in, {*_declared(visit, session, signed_in), added})

    try:
        visit.change(add)
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _interests(visit, status, sent, faulty))
    return visit.go("/account/interests", done="declared")


@router.post("/account/interests/dropping")
def drop(visit: Visiting, sent: Filled) -> Response:
    """One less. It stays in force for a while."""
    visit.need()
    dropped = (sent.text("publisher"), sent.text("kind"))

    def leave_out(session: WriteSession, signed_in: SignedIn) -> None:
        visit.need()
        kept = _declared(visit, session, signed_in)
        _declare(visit, session, signed_in, {each for each in kept if (each.publisher, each.kind) != dropped})

    visit.change(leave_out)
    return visit.go("/account/interests", done="dropped")


def _declared(visit: Visit, session: WriteSession, signed_in: SignedIn) -> set[InterestIn]:
    found = interests.view(session, signed_in.caller.account, visit.now).interests
    return {wanted(InterestIn, publisher=each.publisher, kind=each.kind) for each in found if each.until is None}


def _declare(visit: Visit, session: WriteSession, signed_in: SignedIn, declared: set[InterestIn]) -> InterestsView:
    new = Interests(interests=sorted(declared, key=lambda each: (each.publisher, each.kind)))
    return interests.declare(session, signed_in.caller.account, new, visit.now)


def _interests(
    visit: Visit,
    status: int = 200,
    sent: Sent | None = None,
    faulty: Faulty | None = None,
    *,
    near: list[PublisherView] | None = None,
    is_unknown: bool = False,
) -> Response:
    account = visit.need().caller.account
    return visit.page(
        "account_interests.html",
        status,
        interests=visit.read(lambda session: interests.view(session, account, visit.now)).interests,
        typed={} if sent is None else sent.values(),
        faulty=faulty or Faulty(),
        near=near or [],
        is_unknown=is_unknown,
        done=visit.request.query_params.get("done") if sent is None else None,
    )
