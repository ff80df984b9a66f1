"""One's own password, one-time passwords, recovery codes and tokens. What is shown once is in the answer to the form
that made it, and nowhere else."""

from fastapi import APIRouter
from starlette.responses import Response

from app.core.errors import CantrailError
from app.core.permissions import MAY, Role
from app.persistence.session import WriteSession
from app.services import one_time_passwords, sessions, tokens
from app.services.one_time_passwords import RecoveryCodes
from app.services.people_inputs import Confirmed, NewPassword, NewToken
from app.services.sessions import Opened, SignedIn
from app.services.views.people import own_account
from app.web import cookies
from app.web.pages.forms import Faulty, Filled, Sent
from app.web.pages.people_forms import again, prove, wanted, whole_number
from app.web.pages.square_codes import square_code
from app.web.pages.visiting import PageRoute, Visit, Visiting

router = APIRouter(prefix="/account", route_class=PageRoute, include_in_schema=False)

ON_A_PAGE = 50


@router.get("/password")
def ask_password(visit: Visiting) -> Response:
    """The old password and the new."""
    visit.entered()
    return visit.page("account_password.html", faulty=Faulty())


@router.post("/password")
def change_password(visit: Visiting, sent: Filled) -> Response:
    """Another password, and another cookie."""
    signed_in = visit.entered()
    try:
        new = wanted(
            NewPassword,
            current=sent.exact("_current"),
            password=sent.exact("_password"),
            code=sent.or_none("_code"),
        )
        opened = visit.registry.signing_in.change_password(signed_in, new, address=visit.address, now=visit.now)
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: visit.page("account_password.html", status, faulty=faulty))
    return cookies.put(visit.go("/account", done="password"), opened, visit.now)


# One-time passwords


@router.get("/one-time-password")
def ask_one_time_password(visit: Visiting) -> Response:
    """Whether they are on, and what there is to do."""
    visit.entered()
    return _one_time_password(visit)


@router.post("/one-time-password")
def enrol(visit: Visiting, sent: Filled) -> Response:
    """A secret for an authenticator."""
    try:
        prove(visit, sent)
        begun = visit.change(
            lambda session, signed_in: one_time_passwords.enrol(
                session, visit.registry.sealer, own_account(session, signed_in.caller), visit.now
            )
        )
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _one_time_password(visit, status, faulty, at="enrol"))
    return visit.page(
        "account_enrolment.html", begun=begun, square=square_code(begun.address), faulty=Faulty(), is_again=False
    )


@router.post("/one-time-password/confirmation")
def confirm(visit: Visiting, sent: Filled) -> Response:
    """On. Other sessions end; recovery codes are shown."""

    def turn_on(session: WriteSession, signed_in: SignedIn) -> tuple[RecoveryCodes, Opened]:
        account = own_account(session, signed_in.caller)
        code = wanted(Confirmed, code=sent.text("_code")).code
        codes = one_time_passwords.confirm(session, visit.registry.sealer, account.id, code, visit.now)
        sessions.end_all(session, account.id)
        return codes, sessions.open_session(session, account, second_factor=True, now=visit.now)

    try:
        codes, opened = visit.change(turn_on)
    except CantrailError as error:
        return again(
            visit,
            error,
            lambda status, faulty: visit.page(
                "account_enrolment.html", status, begun=None, square=None, faulty=faulty, is_again=True
            ),
        )
    visit.enter(opened)
    return cookies.put(visit.page("account_codes.html", codes=codes.codes, is_first=True), opened, visit.now)


@router.post("/one-time-password/removal")
def turn_off(visit: Visiting, sent: Filled) -> Response:
    """Off. Every session ends."""

    def off(session: WriteSession, signed_in: SignedIn) -> None:
        visit.need()
        one_time_passwords.turn_off(session, signed_in.caller.account)
        sessions.end_all(session, signed_in.caller.account)

    try:
        visit.need()
        prove(visit, sent)
        visit.change(off)
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _one_time_password(visit, status, faulty, at="removal"))
    return cookies.take(visit.go("/sign-in", done="one-time-password"))


@router.post("/recovery-codes")
def renew_codes(visit: Visiting, sent: Filled) -> Response:
    """Ten new codes; the old ones are void."""
    try:
        visit.need()
        prove(visit, sent)
        codes = visit.change(
            lambda session, _: one_time_passwords.renewed(session, visit.need().caller.account, visit.now)
        )
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _one_time_password(visit, status, faulty, at="codes"))
    return visit.page("account_codes.html", codes=codes.codes, is_first=False)


def _one_time_password(visit: Visit, status: int = 200, faulty: Faulty | None = None, at: str = "") -> Response:
    return visit.page("account_one_time_password.html", status, faulty=faulty or Faulty(), none_wrong=Faulty(), at=at)


# Tokens


@router.get("/tokens")
def list_tokens(visit: Visiting) -> Response:
    """One's tokens."""
    return _tokens(visit)


@router.post("/tokens")
def issue(visit: Visiting, sent: Filled) -> Response:
    """A token, whose secret is shown this once."""
    try:
        visit.need()
        new = wanted(
            NewToken,
            name=sent.text("name"),
            password=sent.exact("_password"),
            scopes=sent.many("scopes"),
            days=whole_number(sent.text("days")),
            code=sent.or_none("_code"),
        )
        prove(visit, sent)
        issued = visit.change(lambda session, _: tokens.issue(session, visit.need(), new, visit.now))
    except CantrailError as error:
        return again(visit, error, lambda status, faulty: _tokens(visit, status, sent, faulty))
    return visit.page("account_token.html", issued=issued)


@router.get("/tokens/{id}/revoking")
def ask_revoke(id: str, visit: Visiting) -> Response:
    """What revoking a token does."""
    account = visit.need().caller.account
    token = visit.read(lambda session: tokens.own(session, account, id))
    return visit.page("account_token_revoking.html", token=token)


@router.post("/tokens/{id}/revoking")
def revoke(id: str, visit: Visiting, sent: Filled) -> Response:
    """No token any more."""
    visit.need()
    visit.write(sent, lambda work: tokens.revoke(work.session, work.account, id, work.now))
    return visit.go("/account/tokens", done="revoked")


def _tokens(visit: Visit, status: int = 200, sent: Sent | None = None, faulty: Faulty | None = None) -> Response:
    signed_in = visit.need()
    after = "" if sent is not None else visit.request.query_params.get("cursor", "")
    return visit.page(
        "account_tokens.html",
        status,
        tokens=visit.read(lambda session: tokens.page(session, signed_in.caller.account, after=after, limit=ON_A_PAGE)),
        scopes=sorted(MAY[Role(signed_in.caller.role)]),
        typed={} if sent is None else sent.values(),
        chosen=[] if sent is None else sent.many("scopes"),
        faulty=faulty or Faulty(),
        done=visit.request.query_params.get("done") if sent is None else None,
        most=tokens.MOST,
    )
