"""One's own account: password, one-time passwords, recovery codes, tokens and interests. All of it in a session."""

from typing import Annotated, Final

from fastapi import APIRouter, Depends
from starlette.responses import Response

from app.persistence.session import WriteSession
from app.services import interests, one_time_passwords, sessions, tokens
from app.services.accounts import IssuedToken
from app.services.interests import InterestsView
from app.services.one_time_passwords import Enrolment, RecoveryCodes
from app.services.people_inputs import Confirmed, Interests, NewPassword, NewToken, Proof
from app.services.sessions import Opened, SignedIn
from app.services.tokens import TokenView
from app.services.views.people import own_account
from app.services.views.records import Page
from app.web import cookies
from app.web.api.sessions import LEAVES, SIGNS_IN
from app.web.describing import gives, gives_nothing, in_session, takes_query
from app.web.edge import body_of, query_of
from app.web.lists import Paged
from app.web.signed_in import Entered, Member, private

router = APIRouter(prefix="/account", tags=["accounts"])

_SETS: Final = tuple(sorted({*SIGNS_IN, 404, 409}))


@router.post(
    "/password",
    status_code=204,
    summary="Change one's password. Every other session ends, and this one gets another cookie",
    responses=gives_nothing(refuses=SIGNS_IN),
    openapi_extra=in_session(NewPassword),
)
def change_password(
    entered: Annotated[Entered, Depends()], body: Annotated[NewPassword, Depends(body_of(NewPassword))]
) -> Response:
    """Another password."""
    now = entered.now
    opened = entered.registry.signing_in.change_password(entered.signed_in, body, address=entered.address, now=now)
    return cookies.put(private(None), opened, now)


@router.post(
    "/one-time-password",
    status_code=201,
    summary="Begin with one-time passwords: a secret for an authenticator, shown this once",
    responses=gives(Enrolment, 201, refuses=_SETS, says="The secret. It counts once a code has confirmed it."),
    openapi_extra=in_session(Proof),
)
def enrol(entered: Annotated[Entered, Depends()], body: Annotated[Proof, Depends(body_of(Proof))]) -> Response:
    """A secret."""
    entered.prove(body)
    sealer = entered.registry.sealer
    return entered.change(
        lambda session, signed_in, now: one_time_passwords.enrol(
            session, sealer, own_account(session, signed_in.caller), now
        ),
        201,
    )


@router.post(
    "/one-time-password/confirmation",
    status_code=201,
    summary="Turn one-time passwords on with a first code. Other sessions end; recovery codes are shown this once",
    responses=gives(RecoveryCodes, 201, refuses=_SETS, says="They are on."),
    openapi_extra=in_session(Confirmed),
)
def confirm(
    entered: Annotated[Entered, Depends()], body: Annotated[Confirmed, Depends(body_of(Confirmed))]
) -> Response:
    """On."""
    sealer, now = entered.registry.sealer, entered.now

    def turn_on(session: WriteSession, signed_in: SignedIn, _: object) -> tuple[RecoveryCodes, Opened]:
        account = own_account(session, signed_in.caller)
        codes = one_time_passwords.confirm(session, sealer, account.id, body.code, now)
        sessions.end_all(session, account.id)
        return codes, sessions.open_session(session, account, second_factor=True, now=now)

    codes, opened = entered.changed(turn_on)
    return cookies.put(private(codes, 201), opened, now)


@router.post(
    "/one-time-password/removal",
    status_code=204,
    summary="Turn one-time passwords off, or begin again with another authenticator. Every session ends",
    responses=gives_nothing(refuses=_SETS),
    openapi_extra=in_session(Proof),
)
def turn_off(member: Annotated[Member, Depends()], body: Annotated[Proof, Depends(body_of(Proof))]) -> Response:
    """Off."""
    member.prove(body)

    def off(session: WriteSession, signed_in: SignedIn, _: object) -> None:
        one_time_passwords.turn_off(session, signed_in.caller.account)
        sessions.end_all(session, signed_in.caller.account)

    return cookies.take(member.change(off))


@router.post(
    "/recovery-codes",
    status_code=201,
    summary="Make recovery codes again: all earlier ones are void, and these are shown this once",
    responses=gives(RecoveryCodes, 201, refuses=_SETS, says="The codes."),
    openapi_extra=in_session(Proof),
)
def renew_codes(member: Annotated[Member, Depends()], body: Annotated[Proof, Depends(body_of(Proof))]) -> Response:
    """Ten codes."""
    member.prove(body)
    return member.change(
        lambda session, signed_in, now: one_time_passwords.renewed(session, signed_in.caller.account, now), 201
    )


@router.get(
    "/tokens",
    summary="One's own tokens that are not revoked, without their secrets",
    responses=gives(Page[TokenView], refuses=LEAVES, says="Some tokens."),
    openapi_extra={**in_session(), **takes_query(Paged)},
)
def list_tokens(member: Annotated[Member, Depends()], asked: Annotated[Paged, Depends(query_of(Paged))]) -> Response:
    """One's tokens."""
    return member.show(
        lambda session, signed_in: tokens.page(
            session, signed_in.caller.account, after=asked.cursor or "", limit=asked.limit
        )
    )


@router.post(
    "/tokens",
    status_code=201,
    summary="Make a token for a program. Its secret is shown this once",
    responses=gives(IssuedToken, 201, refuses=_SETS, says="The token."),
    openapi_extra=in_session(NewToken),
)
def issue(member: Annotated[Member, Depends()], body: Annotated[NewToken, Depends(body_of(NewToken))]) -> Response:
    """A token."""
    member.prove(Proof(password=body.password, code=body.code))
    return member.change(lambda session, signed_in, now: tokens.issue(session, signed_in, body, now), 201)


@router.delete(
    "/tokens/{id}",
    status_code=204,
    summary="Revoke one's own token",
    responses=gives_nothing(refuses=(*LEAVES, 404)),
    openapi_extra=in_session(),
)
def revoke(id: str, member: Annotated[Member, Depends()]) -> Response:
    """No token any more."""
    return member.change(lambda session, signed_in, now: tokens.revoke(session, signed_in.caller.account, id, now))


@router.get(
    "/interests",
    summary="One's own interests that are in force",
    responses=gives(InterestsView, refuses=LEAVES, says="The interests."),
    openapi_extra=in_session(),
)
def get_interests(member: Annotated[Member, Depends()]) -> Response:
    """Whom one works for, and whose things one sells."""
    return member.show(lambda session, signed_in: interests.view(session, signed_in.caller.account, member.now))


@router.put(
    "/interests",
    summary="Say whose employee one is and whose things one sells; what is left out is dropped",
    responses=gives(InterestsView, refuses=_SETS, says="The interests in force now."),
    openapi_extra=in_session(Interests),
)
def put_interests(
    member: Annotated[Member, Depends()], body: Annotated[Interests, Depends(body_of(Interests))]
) -> Response:
    """All of one's interests."""
    return member.change(
        lambda session, signed_in, now: interests.declare(session, signed_in.caller.account, body, now)
    )
