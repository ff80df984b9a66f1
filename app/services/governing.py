"""Who is trusted: roles given and taken, accounts disabled and forgotten. The ledger has each, under pseudonyms.

What is taken ends at once: sessions with every change of role, tokens too where an account is disabled.
"""

from datetime import datetime, timedelta
from typing import Final

import msgspec

from app.core.account_entries import AccountDisabled, AccountEnabled, AccountReset, RoleGiven
from app.core.entries import Payload
from app.core.errors import CantrailError, Kind
from app.core.permissions import MAY, Role, Scope, may_govern
from app.persistence import people_stores, projection, stores
from app.persistence.models import Account, Purpose
from app.persistence.queries import accounts as queries
from app.persistence.queries import people
from app.persistence.session import WriteSession
from app.services import one_time_passwords, sessions, track_records
from app.services.people_inputs import NewRole
from app.services.work import Work

RESET_LASTS: Final = timedelta(hours=24)


class ResetCode(msgspec.Struct, frozen=True):
    """A code with which somebody sets a new password, once. It is shown this once."""

    account: str
    code: str
    expires_at: datetime


def give_role(work: Work, id: str, new: NewRole) -> None:
    """A steward gives somebody another role, after the track record was shown: its digest is quoted. Raises a conflict
    where it says something else by now, and forbidden where whoever promotes could have taken the account over."""
    account = _other(work, id)
    _refuse_ones_own_reset(work, account, new.role)
    record = track_records.track_record(work.session, account).digest
    if record != new.record:
        raise CantrailError(
            Kind.CONFLICT,
            "record_changed",
            f"The track record of {id} has changed since it was shown. Look at it again, and quote its digest.",
        )
    set_role(work.session, account, new.role, actor=work.account, now=work.now, record=record)


def set_role(
    session: WriteSession, account: Account, role: Role, *, actor: str, now: datetime, record: str | None = None
) -> None:
    """Give an account another role; its sessions end, so that it proves anew what the role asks for, and tokens that
    reach beyond the role are revoked: promoted again, they would reach there again. Raises a conflict where no steward
    would be left. A role that the account has and the ledger does not know of is entered."""
    if account.role is role:
        if track_records.role_entered(session, account.id) is not role:
            _enter(session, RoleGiven(account=account.id, role=role, record=record), account, actor, now)
        return
    _keep_a_steward(session, account)
    stores.set_role(session, account=account, role=role)
    people_stores.drop_codes(session, account_id=account.id, purpose=Purpose.RESET)
    sessions.end_all(session, account.id)
    for token in queries.live_tokens(session, account_id=account.id):
        if not MAY[role].issuperset(token.scopes):
            stores.revoke_token(session, token=token, now=now)
    _enter(session, RoleGiven(account=account.id, role=role, record=record), account, actor, now)


def disable(work: Work, id: str) -> None:
    """A steward disables somebody's account."""
    disable_account(work.session, _other(work, id), actor=work.account, now=work.now)


def disable_account(session: WriteSession, account: Account, *, actor: str, now: datetime) -> None:
    """Disable an account: its tokens and sessions end at once. Raises a conflict where no steward would be left."""
    if account.disabled_at is not None:
        return
    _keep_a_steward(session, account)
    stores.disable_account(session, account=account, now=now)
    people_stores.drop_codes(session, account_id=account.id, purpose=Purpose.RESET)
    sessions.end_all(session, account.id)
    _enter(session, AccountDisabled(account=account.id), account, actor, now)


def enable(work: Work, id: str) -> None:
    """A steward enables a disabled account again."""
    enable_account(work.session, _other(work, id), actor=work.account, now=work.now)


def enable_account(session: WriteSession, account: Account, *, actor: str, now: datetime) -> None:
    """Enable an account again. Its tokens stay revoked. Raises a conflict where it was forgotten."""
    if account.forgotten_at is not None:
        raise CantrailError(Kind.CONFLICT, "account_forgotten", f"{account.id} was forgotten: nobody is behind it.")
    if account.disabled_at is None:
        return
    people_stores.enable_account(session, account=account)
    _enter(session, AccountEnabled(account=account.id), account, actor, now)


def forget(work: Work, id: str) -> None:
    """A steward forgets who is behind an account."""
    forget_account(work.session, _other(work, id), actor=work.account, now=work.now)


def forget_account(session: WriteSession, account: Account, *, actor: str, now: datetime) -> None:
    """Remove an account's name and all that lets anybody sign in to it. Its pseudonym, and what it entered, stays."""
    disable_account(session, account, actor=actor, now=now)
    people_stores.set_password(session, account=account, password_hash=None)
    one_time_passwords.turn_off(session, account.id)
    people_stores.forget_addresses(session, account_id=account.id)
    people_stores.forget_tokens(session, account_id=account.id)
    people_stores.forget_interests(session, account_id=account.id)
    people_stores.forget_name(session, account=account, now=now)


def shut_out(work: Work, id: str) -> None:
    """A steward ends somebody's sessions and revokes their tokens. The account goes on: they sign in again."""
    account = _other(work, id)
    sessions.end_all(work.session, account.id)
    for token in queries.live_tokens(work.session, account_id=account.id):
        stores.revoke_token(work.session, token=token, now=work.now)


def reset(work: Work, id: str, *, one_time_password: bool) -> ResetCode:
    """A steward gives a contributor a code for a new password, or turns their one-time passwords off as well.

    Not for those who review, or ever did: whoever could become one of them would have two voices.
    """
    account = _other(work, id)
    was_trusted = any(each.role not in {None, Role.CONTRIBUTOR} for each in track_records.trusted(work.session, id))
    if account.role is not Role.CONTRIBUTOR or was_trusted:
        raise CantrailError(
            Kind.FORBIDDEN,
            "operator_only",
            "Only the operator resets the password of somebody who reviews or has reviewed.",
        )
    return reset_account(work.session, account, one_time_password=one_time_password, actor=work.account, now=work.now)


def reset_account(
    session: WriteSession, account: Account, *, one_time_password: bool, actor: str, now: datetime
) -> ResetCode:
    """A code for a new password, in the place of any earlier one. The old password goes on until it is used."""
    if account.disabled_at is not None:
        raise CantrailError(Kind.CONFLICT, "account_disabled", f"The account {account.id} is disabled.")
    if one_time_password:
        one_time_passwords.turn_off(session, account.id)
        sessions.end_all(session, account.id)
    code = one_time_passwords.new_code()
    expires_at = now + RESET_LASTS
    people_stores.put_codes(
        session,
        account_id=account.id,
        purpose=Purpose.RESET,
        hashes=[one_time_passwords.hashed(code)],
        now=now,
        expires_at=expires_at,
    )
    _enter(session, AccountReset(account=account.id), account, actor, now)
    return ResetCode(account.id, code, expires_at)


def _other(work: Work, id: str) -> Account:
    """Somebody else's account, for a steward. Raises forbidden for one's own, and not_found."""
    may_govern(work.caller.role)
    work.require(Scope.REVIEW)
    if id == work.account:
        raise CantrailError(Kind.FORBIDDEN, "own_account", "Nobody governs their own account. Ask another steward.")
    account = queries.account(work.session, id=id)
    if account is None:
        raise CantrailError(Kind.NOT_FOUND, "no_such_account", f"There is no account {id!r}.")
    return account


def _refuse_ones_own_reset(work: Work, account: Account, role: Role) -> None:
    """Raises where a steward who has had a reset code for an account would let it decide: they may be who signs in."""
    reset_by = {each.by for each in track_records.trusted(work.session, account.id) if each.event == AccountReset.type}
    if role is not Role.CONTRIBUTOR and work.account in reset_by:
        raise CantrailError(
            Kind.FORBIDDEN,
            "reset_by_you",
            f"You gave out a reset code for {account.id}. Another steward, or the operator, trusts it with more.",
        )


def _keep_a_steward(session: WriteSession, account: Account) -> None:
    if account.role is Role.STEWARD and account.disabled_at is None and people.stewards_live(session) <= 1:
        raise CantrailError(
            Kind.CONFLICT, "last_steward", "This is the last steward. Let somebody else become one first."
        )


def _enter(session: WriteSession, payload: Payload, account: Account, actor: str, now: datetime) -> None:
    projection.record(session, actor=actor, now=now, streams=[f"account:{account.id}"], payload=payload)
