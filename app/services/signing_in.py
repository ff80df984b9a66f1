"""Signing in, and proving again that it is oneself. Passwords are hashed between transactions, never within one."""

import re
import unicodedata
from datetime import datetime
from typing import Final, NamedTuple

from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Role
from app.persistence import people_stores
from app.persistence.models import Account, Purpose
from app.persistence.queries import accounts as queries
from app.persistence.session import AnySession, Database, WriteSession
from app.services import accounts, attempts, one_time_passwords, sessions
from app.services.accounts import AccountView
from app.services.passwords import Passwords, refuse_weak
from app.services.people_inputs import NewAccount, NewPassword, PasswordReset, Proof, SignIn
from app.services.ports import Sealer
from app.services.sessions import Opened, SignedIn

_PSEUDONYM: Final = re.compile(r"a-[0-9a-f]{16}")


class Tried(NamedTuple):
    """A try with a right password: whose, which hash it was checked against, and how the try was counted."""

    account: str
    password_hash: str
    rehashed: str | None
    attempt: attempts.Attempt


class SigningIn:
    """Who somebody is. Every wrong answer is the same answer, after the same work, and is counted."""

    def __init__(self, database: Database, sealer: Sealer, passwords: Passwords) -> None:
        self._database = database
        self._sealer = sealer
        self._passwords = passwords

    def sign_in(self, new: SignIn, *, address: str, now: datetime, instead_of: str | None = None) -> Opened:
        """Open a session, in the place of one that was there. Raises `sign_in_failed`, `too_many_tries`, `signing_in_busy`."""
        tried = self._try(plain_name(new.name), new.password, address, now)

        def unit(session: WriteSession) -> Opened:
            account = self._proven(session, tried, new.code, now)
            if instead_of is not None:
                people_stores.end_session(session, token_sha256=sessions.hashed(instead_of))
            second_factor = one_time_passwords.is_on(session, account.id)
            return sessions.open_session(session, account, second_factor=second_factor, now=now)

        return self._database.run(unit)

    def prove(self, signed_in: SignedIn, proof: Proof, *, address: str, now: datetime) -> None:
        """Prove that it is still who signed in. Raises as `sign_in` does."""
        tried = self._try(self._name_of(signed_in), proof.password, address, now)
        self._database.run(lambda session: self._proven(session, tried, proof.code, now))

    def change_password(self, signed_in: SignedIn, new: NewPassword, *, address: str, now: datetime) -> Opened:
        """Another password, and another token for this session; every other session ends. Raises as `sign_in` does, and
        bad input for a password that is not taken."""
        name = self._name_of(signed_in)
        refuse_weak(new.password, words_of(name))
        tried = self._try(name, new.current, address, now)
        hashed = self._passwords.hashed(new.password)

        def unit(session: WriteSession) -> Opened:
            account = self._proven(session, tried._replace(rehashed=None), new.code, now)
            people_stores.set_password(session, account=account, password_hash=hashed)
            sessions.end_all(session, account.id)
            second_factor = one_time_passwords.is_on(session, account.id)
            return sessions.open_session(session, account, second_factor=second_factor, now=now)

        return self._database.run(unit)

    def reset_password(self, new: PasswordReset, *, address: str, now: datetime) -> None:
        """A new password with a code in the place of the old one; every session ends. Raises as `sign_in` does."""
        name = plain_name(new.name)
        refuse_weak(new.password, words_of(name))
        attempt = self._database.run(lambda session: self._begin(session, name, address, now))
        hashed = self._passwords.hashed(new.password)

        def unit(session: WriteSession) -> None:
            account = _live(session, name)
            if account is None or not self._resets(session, account, new, now):
                raise failed()
            people_stores.set_password(session, account=account, password_hash=hashed)
            people_stores.drop_codes(session, account_id=account.id, purpose=Purpose.RESET)
            sessions.end_all(session, account.id)
            attempts.succeeded(session, attempt, account=account.id, now=now)

        self._database.run(unit)

    def register(self, new: NewAccount, *, address: str, now: datetime) -> AccountView:
        """Let somebody in, as a contributor. Raises a conflict where the name is taken, and bad input for a name or
        password that is not taken."""
        name = chosen_name(new.name)
        refuse_weak(new.password, words_of(name))
        self._database.run(lambda session: attempts.begin_elsewhere(session, self._sealer, address=address, now=now))
        hashed = self._passwords.hashed(new.password)

        def unit(session: WriteSession) -> AccountView:
            added = accounts.add(session, name=name, role=Role.CONTRIBUTOR, now=now)
            people_stores.set_password(session, account=accounts.named(session, name), password_hash=hashed)
            return added

        return self._database.run(unit)

    def set_password(self, name: str, password: str) -> None:
        """Give an account a password, as the operator does; its sessions end. Raises not_found, and bad input for a
        password that is not taken."""
        refuse_weak(password, words_of(name))
        hashed = self._passwords.hashed(password)

        def unit(session: WriteSession) -> None:
            account = accounts.named(session, name)
            people_stores.set_password(session, account=account, password_hash=hashed)
            sessions.end_all(session, account.id)

        self._database.run(unit)

    def _name_of(self, signed_in: SignedIn) -> str:
        with self._database.read() as session:
            account = queries.account(session, id=signed_in.caller.account)
        return "" if account is None else account.name

    def _begin(self, session: WriteSession, name: str, address: str, now: datetime) -> attempts.Attempt:
        account = _live(session, name)
        return attempts.begin(
            session,
            self._sealer,
            name=name,
            account=None if account is None else account.id,
            address=address,
            now=now,
        )

    def _try(self, name: str, password: str, address: str, now: datetime) -> Tried:
        """Count the try, then check the password. The count comes first, so that many tries at once are many tries."""

        def unit(session: WriteSession) -> tuple[attempts.Attempt, Account | None]:
            return self._begin(session, name, address, now), _live(session, name)

        attempt, account = self._database.run(unit)
        kept = None if account is None else account.password_hash
        checked = self._passwords.check(password, kept)
        if account is None or kept is None or not checked.right:
            raise failed()
        return Tried(account.id, kept, checked.rehashed, attempt)

    def _proven(self, session: WriteSession, tried: Tried, code: str | None, now: datetime) -> Account:
        """The account, once the code is right too where one is needed."""
        account = queries.account(session, id=tried.account)
        # While the password was hashed, it may have been changed or the account disabled.
        if account is None or account.disabled_at is not None or account.password_hash != tried.password_hash:
            raise failed()
        if one_time_passwords.is_on(session, account.id) and not (
            code is not None and one_time_passwords.uses(session, self._sealer, account.id, code, now)
        ):
            raise failed()
        if tried.rehashed is not None:
            people_stores.set_password(session, account=account, password_hash=tried.rehashed)
        attempts.succeeded(session, tried.attempt, account=account.id, now=now)
        return account

    def _resets(self, session: WriteSession, account: Account, new: PasswordReset, now: datetime) -> bool:
        if one_time_passwords.is_on(session, account.id) and not (
            new.code is not None and one_time_passwords.uses(session, self._sealer, account.id, new.code, now)
        ):
            return False
        # A stolen sheet of recovery codes is one thing that somebody has, however many codes are on it.
        proves_more = new.code is None or one_time_passwords.is_of_authenticator(new.code)
        purposes = tuple(Purpose) if proves_more else (Purpose.RESET,)
        return any(one_time_passwords.uses_code(session, account.id, new.reset, purpose, now) for purpose in purposes)


def failed() -> CantrailError:
    """What every wrong name, password and code is answered."""
    return CantrailError(
        Kind.UNAUTHENTICATED,
        "sign_in_failed",
        "The name, the password or the code is wrong. Where one-time passwords are on, send a fresh one as `code`.",
    )


def plain_name(name: str) -> str:
    """A name as it is kept: composed characters, and no space around it."""
    return unicodedata.normalize("NFC", name).strip()


def chosen_name(name: str) -> str:
    """A name that somebody chooses. Raises bad input for one that cannot be read, or that looks like a pseudonym."""
    plain = plain_name(name)
    if not plain or not plain.isprintable():
        raise invalid("/name", "bad_name", "Give a name of letters, digits and signs that can be read.")
    if _PSEUDONYM.fullmatch(plain):
        raise invalid("/name", "bad_name", "This looks like the registry's own name for an account. Choose another.")
    return plain


def words_of(name: str) -> list[str]:
    """The words of a name, none of which its password may have in it."""
    return [name, *re.split(r"[\W_]+", name)]


def _live(session: AnySession, name: str) -> Account | None:
    account = queries.account_named(session, name=name)
    return None if account is None or account.disabled_at is not None else account
