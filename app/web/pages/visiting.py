"""Where a page meets the registry: who looks at it, in which unit, and what is shown and done for them."""

from collections.abc import Callable
from contextlib import suppress
from datetime import datetime
from http import HTTPStatus
from typing import Annotated, Any, Final, TypeVar
from urllib.parse import quote, urlencode

import msgspec
from fastapi import Depends
from fastapi.routing import APIRoute
from starlette.background import BackgroundTask
from starlette.concurrency import run_in_threadpool
from starlette.datastructures import FormData
from starlette.requests import Request
from starlette.responses import RedirectResponse, Response

from app.core.errors import CantrailError, Kind
from app.core.mass import Unit
from app.core.permissions import Role
from app.core.wording import CAUTIONS
from app.persistence.session import AnySession, ReadSession, WriteSession
from app.services import idempotency, sessions
from app.services.idempotency import Kept
from app.services.sessions import Opened, SignedIn
from app.services.views.people import WhoView
from app.services.views.people import who as who_view
from app.services.work import Caller, Work
from app.web import cookies
from app.web.asking_address import address_of
from app.web.edge import refuse_nul, registry_of
from app.web.errors import STATUSES, ProblemError
from app.web.pages.forms import CARRIED_MOST, MOST_FIELDS, Sent
from app.web.pages.rendering import html
from app.web.pages.troubled import in_place, refusal

UNIT_COOKIE: Final = "unit"
Shown = TypeVar("Shown")


class Visit:
    """Somebody who looks at a page, signed in or not.

    `who` is None for whoever is not signed in, or not any more: then `ended` tells the one from the other.
    """

    def __init__(self, request: Request) -> None:
        refuse_nul(request)
        self.request = request
        self.registry = registry_of(request)
        self.unit = Unit.LB if request.cookies.get(UNIT_COOKIE) == "lb" else Unit.KG
        self.signed_in: SignedIn | None = None
        self.who: WhoView | None = None
        self._secret = cookies.shown(request)
        if self._secret is not None:
            cookies.refuse_cross_site(request)
            with self.registry.database.read() as session:
                self._look_up(session)
        self.ended = self._secret is not None and self.who is None

    @property
    def now(self) -> datetime:
        """The time."""
        return self.registry.clock.now()

    @property
    def path(self) -> str:
        """Where they are, with what they asked, as it is written in an address."""
        query = self.request.url.query
        return quote(self.request.url.path) + (f"?{query}" if query else "")

    @property
    def address(self) -> str:
        """Where they come from."""
        return address_of(self.request.scope)

    @property
    def reviews(self) -> bool:
        """Whether the desk is theirs."""
        return self.who is not None and self.who.role in {Role.REVIEWER, Role.STEWARD}

    @property
    def governs(self) -> bool:
        """Whether they are a steward."""
        return self.who is not None and self.who.role == Role.STEWARD

    def read(self, look: Callable[[ReadSession], Shown]) -> Shown:
        """Look at something in a session of its own."""
        with self.registry.database.read() as session:
            return look(session)

    def entered(self) -> SignedIn:
        """Raises unauthenticated for whoever is not signed in."""
        if self.signed_in is None:
            raise CantrailError(Kind.UNAUTHENTICATED, "session_over", "Sign in to go on. What you typed is kept.")
        return self.signed_in

    def need(self) -> SignedIn:
        """Raises unauthenticated for whoever is not signed in, and forbidden for whoever has to set up one-time
        passwords first."""
        if not self.entered().is_whole:
            raise CantrailError(
                Kind.FORBIDDEN,
                "one_time_password_needed",
                "Who reviews signs in with one-time passwords. Set them up on your account's page first.",
            )
        return self.entered()

    def caller(self, session: AnySession) -> Caller:
        """Who it is, as of now."""
        self._look_up(session)
        return self.need().caller

    def write(self, sent: Sent, do: Callable[[Work], Any]) -> Any:
        """Do something in one transaction, and once however often the same form is sent. Gives what `do` gave, in plain
        values: a form that is sent again is given what it was given before."""
        self.need()
        request = idempotency.fingerprint(self.request.method, self.request.url.path, sent.fingerprint)

        def unit(session: WriteSession) -> bytes:
            by = self.caller(session)
            if self.signed_in is not None and self.signed_in.is_due:
                sessions.seen(session, self.signed_in, self.now)
            if sent.key:
                kept = idempotency.answered(session, account=by.account, key=sent.key, request=request)
                if kept is not None:
                    return kept.body
            work = self.registry.work(session, by)
            body = msgspec.json.encode(do(work))
            if sent.key:
                answer = Kept(200, body)
                idempotency.keep(
                    session, account=by.account, key=sent.key, request=request, answer=answer, now=work.now
                )
            return body

        return msgspec.json.decode(self.registry.database.run(unit))

    def change(self, do: Callable[[WriteSession, SignedIn], Shown]) -> Shown:
        """Change something about one's own account, in one transaction and without a form's key: what is kept with a
        key would hold passwords and codes."""

        def unit(session: WriteSession) -> Shown:
            self._look_up(session)
            signed_in = self.entered()
            if signed_in.is_due:
                sessions.seen(session, signed_in, self.now)
            return do(session, signed_in)

        return self.registry.database.run(unit)

    def enter(self, opened: Opened) -> None:
        """From now on it is whoever just signed in."""
        self._secret = opened.secret
        with self.registry.database.read() as session:
            self._look_up(session)
        self.ended = False

    def page(self, template: str, status: int = 200, **context: Any) -> Response:
        """A page, or a part of one."""
        response = html(template, {"visit": self, "cautions": CAUTIONS, **context}, status)
        if self.signed_in is not None and self.signed_in.is_due:
            response.background = BackgroundTask(self._note_later)
        return response

    def form(self, template: str, status: int = 200, **context: Any) -> Response:
        """A page with a form to fill in. A browser may keep it for its back button: it then shows what was typed, and
        asks nothing."""
        response = self.page(template, status, **context)
        response.headers["Cache-Control"] = "private, no-cache"
        return response

    def go(self, path: str, **query: str) -> Response:
        """On to another page, once something was done."""
        return RedirectResponse(path + (f"?{urlencode(query)}" if query else ""), 303)

    def _note_later(self) -> None:
        # Whoever waits for it has their page; it is noted the next time.
        with suppress(CantrailError):
            self.change(lambda *_: None)

    def _look_up(self, session: AnySession) -> None:
        self.signed_in = self.who = None
        try:
            found = sessions.authenticate(session, secret=self._secret or "", now=self.now)
        except CantrailError as error:
            if error.kind is not Kind.UNAUTHENTICATED:
                raise
            return
        self.signed_in = found
        self.who = who_view(session, found.caller, found)
        self.request.state.account = found.caller.account


Visiting = Annotated[Visit, Depends()]


class PageRoute(APIRoute):
    """A route whose refusals are pages, too."""

    def get_route_handler(self) -> Callable[[Request], Any]:
        """The endpoint, with what it refuses told as a page."""
        handler = super().get_route_handler()

        async def handle(request: Request) -> Response:
            try:
                response: Response = await handler(request)
            except CantrailError as error:
                told = (error.code, error.message, STATUSES[error.kind], error.details)
            except ProblemError as error:
                told = (error.code, error.detail, error.status, {})
            else:
                return response
            request.state.code = told[0]
            # Who looks at it is read from the database, and others must not wait for that.
            return await run_in_threadpool(trouble, request, *told)

        return handle


def trouble(request: Request, code: str, sentence: str, status: int, details: Any) -> Response:
    """A refusal as a page. Whoever is not signed in is asked to, and then goes on where they were, with what they had
    typed."""
    visit = Visit(request) if code != "cross_site" else None
    if status == HTTPStatus.UNAUTHORIZED and visit is not None:
        return _asked_to_sign_in(request, visit)
    headers = {"Retry-After": str(details["retry_after"])} if "retry_after" in details else {}
    return refusal(request.scope, code, sentence, status, headers, visit=visit)


def _asked_to_sign_in(request: Request, visit: Visit) -> Response:
    """The page to sign in on, with what was typed. What another site's page sent is not kept for its visitor to send:
    their cookie does not come along with it, and so it is nobody's until here."""
    try:
        cookies.refuse_cross_site(request, from_page=False)
    except CantrailError as error:
        return trouble(request, error.code, error.message, STATUSES[error.kind], {})
    if request.method == "GET" and request.headers.get("hx-request") == "true":
        # Only a part of the page was asked for, and what is typed on the rest of it stays as it is.
        part = visit.page("session_over.html", 401)
        part.headers.update(in_place("#session-over"))
        return part
    form: FormData | None = getattr(request.state, "form", None)
    sent = None if form is None else Sent(form)
    carried = [] if sent is None else sent.carried
    is_lost = len(carried) > MOST_FIELDS or sum(len(name) + len(text) for name, text in carried) > CARRIED_MOST
    return visit.page(
        "sign_in.html",
        401,
        then=visit.path,
        posted=request.method == "POST",
        carried=[] if is_lost else carried,
        is_lost=is_lost,
        had_file=sent is not None and bool(sent.files),
        told=None,
        name="",
        done=None,
    )
