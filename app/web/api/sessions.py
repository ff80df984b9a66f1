"""Signing in and out, and who is asking."""

from typing import Annotated, Final

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from app.services import sessions
from app.services.people_inputs import PasswordReset, SignIn
from app.services.views.people import WhoView, who
from app.web import cookies
from app.web.describing import anonymously, gives, gives_nothing, in_session, signed_in
from app.web.edge import Bearer, body_of, registry_of
from app.web.signed_in import Entered, Visitor, private

router = APIRouter(tags=["sessions"])

SIGNS_IN: Final = (400, 401, 403, 408, 413, 415, 422, 429, 500, 503)
LEAVES: Final = (401, 403, 422, 500, 503)


@router.post(
    "/session",
    status_code=201,
    summary="Sign in. The answer brings the cookie of the session",
    responses=gives(WhoView, 201, refuses=SIGNS_IN, says="Signed in."),
    openapi_extra=anonymously(SignIn),
)
def sign_in(visitor: Annotated[Visitor, Depends()], body: Annotated[SignIn, Depends(body_of(SignIn))]) -> Response:
    """A session."""
    opened = visitor.signing_in.sign_in(body, address=visitor.address, now=visitor.now, instead_of=visitor.shows)
    with visitor.registry.database.read() as session:
        entered = sessions.authenticate(session, secret=opened.secret, now=visitor.now)
        visitor.known_as(entered.caller.account)
        shown = who(session, entered.caller, entered)
    return cookies.put(private(shown, 201), opened, visitor.now)


@router.get(
    "/session",
    summary="Who is asking, with a session or a token, and what they may do",
    responses=gives(WhoView, refuses=LEAVES, says="Who it is."),
    openapi_extra=signed_in(),
)
def get_session(request: Request, bearer: Annotated[Bearer, Depends()]) -> Response:
    """Oneself."""
    with registry_of(request).database.read() as session:
        response = private(who(session, *bearer.shown(session)))
        response.background = bearer.noting()
    return response


@router.delete(
    "/session",
    status_code=204,
    summary="Sign out",
    responses=gives_nothing(refuses=LEAVES, says="Signed out."),
    openapi_extra=in_session(),
)
def sign_out(entered: Annotated[Entered, Depends()]) -> Response:
    """Out."""
    return cookies.take(entered.change(lambda session, signed_in, _: sessions.end(session, signed_in)))


@router.delete(
    "/sessions",
    status_code=204,
    summary="Sign out everywhere",
    responses=gives_nothing(refuses=LEAVES, says="Signed out everywhere."),
    openapi_extra=in_session(),
)
def sign_out_everywhere(entered: Annotated[Entered, Depends()]) -> Response:
    """Out, of every browser."""
    return cookies.take(
        entered.change(lambda session, signed_in, _: sessions.end_all(session, signed_in.caller.account))
    )


@router.post(
    "/password-resets",
    status_code=204,
    summary="Set a new password for a forgotten one, with a code that was given for it or a recovery code",
    responses=gives_nothing(refuses=SIGNS_IN, says="The new password is set, and every session has ended."),
    openapi_extra=anonymously(PasswordReset),
)
def reset_password(
    visitor: Annotated[Visitor, Depends()], body: Annotated[PasswordReset, Depends(body_of(PasswordReset))]
) -> Response:
    """A new password."""
    visitor.signing_in.reset_password(body, address=visitor.address, now=visitor.now)
    return private(None)
