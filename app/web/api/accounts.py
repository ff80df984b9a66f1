"""Accounts: letting oneself in, and for stewards who is who, who is trusted, and who is no more."""

from typing import Annotated, Final

from fastapi import APIRouter, Depends, Request
from starlette.responses import Response

from app.core.errors import CantrailError, Kind
from app.services import governing
from app.services.accounts import AccountView
from app.services.governing import ResetCode
from app.services.people_inputs import NewAccount, NewReset, NewRole
from app.services.views.people import AccountLine, AccountWhole, account_page, account_whole
from app.services.views.records import Page
from app.services.work import Work
from app.web.api.sessions import LEAVES
from app.web.describing import anonymously, gives, gives_nothing, in_session, signed_in, takes_query
from app.web.edge import Bearer, body_of, query_of, registry_of
from app.web.lists import ListAccounts
from app.web.signed_in import Member, Visitor, private

router = APIRouter(prefix="/accounts", tags=["accounts"])

_GOVERNS: Final = (400, 401, 403, 404, 408, 409, 413, 415, 422, 500, 503)


@router.post(
    "",
    status_code=201,
    summary="Make oneself an account, as a contributor, where the registry is open to that",
    responses=gives(AccountView, 201, refuses=(400, 403, 408, 409, 413, 415, 422, 429, 500, 503), says="The account."),
    openapi_extra=anonymously(NewAccount),
)
def register(
    visitor: Annotated[Visitor, Depends()], body: Annotated[NewAccount, Depends(body_of(NewAccount))]
) -> Response:
    """An account."""
    if not visitor.registry.settings.open_registration:
        raise CantrailError(
            Kind.FORBIDDEN, "registration_closed", "Accounts are made by the operator here. Ask for one."
        )
    return private(visitor.signing_in.register(body, address=visitor.address, now=visitor.now), 201)


@router.get(
    "",
    summary="Accounts by name, for stewards",
    responses=gives(Page[AccountLine], refuses=LEAVES, says="Some accounts."),
    openapi_extra={**signed_in(), **takes_query(ListAccounts)},
)
def list_accounts(
    request: Request,
    bearer: Annotated[Bearer, Depends()],
    asked: Annotated[ListAccounts, Depends(query_of(ListAccounts))],
) -> Response:
    """Everybody, or everybody of a role."""
    with registry_of(request).database.read() as session:
        page = account_page(
            session, bearer.caller(session), after=asked.cursor or "", limit=asked.limit, role=asked.role
        )
        response = private(page)
        response.background = bearer.noting()
    return response


@router.get(
    "/{id}",
    summary="One account with its track record, for stewards and whoever it belongs to",
    responses=gives(AccountWhole, refuses=(*LEAVES, 404), says="The account."),
    openapi_extra=signed_in(),
)
def get_account(id: str, request: Request, bearer: Annotated[Bearer, Depends()]) -> Response:
    """Somebody, with what they have done."""
    registry = registry_of(request)
    with registry.database.read() as session:
        response = private(account_whole(session, bearer.caller(session), id, registry.clock.now()))
        response.background = bearer.noting()
    return response


@router.post(
    "/{id}/role",
    summary="Give somebody another role, after their track record was shown. Their sessions end",
    responses=gives(AccountWhole, refuses=_GOVERNS, says="The account."),
    openapi_extra=in_session(NewRole),
)
def give_role(
    id: str, member: Annotated[Member, Depends()], body: Annotated[NewRole, Depends(body_of(NewRole))]
) -> Response:
    """Another role."""

    def give(work: Work) -> AccountWhole:
        governing.give_role(work, id, body)
        return account_whole(work.session, work.caller, id, work.now)

    return member.govern(give)


@router.post(
    "/{id}/disabling",
    status_code=204,
    summary="Disable an account: its tokens and sessions end at once",
    responses=gives_nothing(refuses=_GOVERNS),
    openapi_extra=in_session(),
)
def disable(id: str, member: Annotated[Member, Depends()]) -> Response:
    """Disabled."""
    return member.govern(lambda work: governing.disable(work, id))


@router.post(
    "/{id}/enabling",
    status_code=204,
    summary="Enable a disabled account again. Its tokens stay revoked",
    responses=gives_nothing(refuses=_GOVERNS),
    openapi_extra=in_session(),
)
def enable(id: str, member: Annotated[Member, Depends()]) -> Response:
    """Enabled."""
    return member.govern(lambda work: governing.enable(work, id))


@router.post(
    "/{id}/reset-code",
    status_code=201,
    summary="A code with which a contributor sets a new password, shown this once",
    responses=gives(ResetCode, 201, refuses=_GOVERNS, says="The code."),
    openapi_extra=in_session(NewReset),
)
def reset(
    id: str, member: Annotated[Member, Depends()], body: Annotated[NewReset, Depends(body_of(NewReset))]
) -> Response:
    """A code."""
    return member.govern(lambda work: governing.reset(work, id, one_time_password=body.one_time_password), 201)


@router.post(
    "/{id}/forgetting",
    status_code=204,
    summary="Forget who is behind an account: the name goes, the pseudonym and what it entered stay",
    responses=gives_nothing(refuses=_GOVERNS),
    openapi_extra=in_session(),
)
def forget(id: str, member: Annotated[Member, Depends()]) -> Response:
    """Forgotten."""
    return member.govern(lambda work: governing.forget(work, id))
