"""Accounts as they are shown: to oneself and to stewards. To everybody else an account is its pseudonym."""

from datetime import datetime

import msgspec

from app.core.errors import CantrailError, Kind
from app.core.permissions import Role, Scope, may_govern, require
from app.persistence.base import utc_text
from app.persistence.models import Account, Purpose
from app.persistence.queries import accounts as queries
from app.persistence.queries import people
from app.persistence.session import AnySession
from app.services import interests, one_time_passwords
from app.services.sessions import NEEDS_SECOND_FACTOR, SignedIn
from app.services.track_records import TrackRecord, track_record
from app.services.views.records import Page
from app.services.work import Caller


class WhoView(msgspec.Struct, frozen=True):
    """Who is asking, and what they may do. `needs_one_time_password`: nothing but reading, and setting those up. In a
    session `expires_at` is when it ends at the latest; with a token it is null."""

    id: str
    name: str
    role: str
    scopes: list[str]
    one_time_password: bool
    needs_one_time_password: bool
    recovery_codes: int
    expires_at: str | None


class AccountLine(msgspec.Struct, frozen=True):
    """An account, in a list for stewards."""

    id: str
    name: str
    role: str
    since: str
    disabled: bool
    forgotten: bool


class AccountWhole(msgspec.Struct, frozen=True):
    """An account with what it has done and whose interests it has, for stewards and whoever it belongs to."""

    id: str
    name: str
    role: str
    since: str
    disabled: bool
    forgotten: bool
    one_time_password: bool
    interests: list[interests.InterestView]
    record: TrackRecord


def who(session: AnySession, caller: Caller, signed_in: SignedIn | None) -> WhoView:
    """Who is asking."""
    account = account_of(session, caller.account)
    is_on = one_time_passwords.is_on(session, account.id)
    return WhoView(
        account.id,
        account.name,
        account.role,
        sorted(caller.scopes),
        is_on,
        account.role in NEEDS_SECOND_FACTOR and signed_in is not None and not signed_in.second_factor,
        people.codes_left(session, account_id=account.id, purpose=Purpose.RECOVERY),
        None if signed_in is None else utc_text(signed_in.expires_at),
    )


def account_page(
    session: AnySession, caller: Caller, *, after: str, limit: int, role: Role | None, named: str | None = None
) -> Page[AccountLine]:
    """Some accounts, for stewards; of one role, or by a part of their name."""
    _check_governs(caller)
    rows = people.accounts_page(session, after=after, limit=limit + 1, role=role, named=named)
    shown = [
        AccountLine(
            each.id,
            each.name,
            each.role,
            utc_text(each.created_at),
            each.disabled_at is not None,
            each.forgotten_at is not None,
        )
        for each in rows[:limit]
    ]
    return Page(shown, shown[-1].id if len(rows) > limit else None)


def account_whole(session: AnySession, caller: Caller, id: str, now: datetime) -> AccountWhole:
    """One account, for stewards and whoever it belongs to. Raises not_found."""
    if id != caller.account:
        _check_governs(caller)
    account = account_of(session, id)
    return AccountWhole(
        account.id,
        account.name,
        account.role,
        utc_text(account.created_at),
        account.disabled_at is not None,
        account.forgotten_at is not None,
        one_time_passwords.is_on(session, id),
        interests.view(session, id, now).interests,
        track_record(session, account),
    )


def _check_governs(caller: Caller) -> None:
    may_govern(caller.role)
    require(caller.role, caller.scopes, Scope.REVIEW)


def own_account(session: AnySession, caller: Caller) -> Account:
    """Whose session it is."""
    return account_of(session, caller.account)


def account_of(session: AnySession, id: str) -> Account:
    """An account by its pseudonym. Raises not_found."""
    account = queries.account(session, id=id)
    if account is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_account", f"There is no account {id!r}.")
    return account
