"""One-time passwords (RFC 6238): setting them up, checking a code, and the recovery codes that stand in for one."""

import re
import secrets
from base64 import b32encode
from datetime import datetime
from hashlib import sha256
from typing import Final

import msgspec
import pyotp
from pyotp.exceptions import OTPVerificationError

from app.core.errors import CantrailError, Kind, invalid
from app.persistence import people_stores as stores
from app.persistence.models import Account, Purpose
from app.persistence.queries import people as queries
from app.persistence.session import AnySession, WriteSession
from app.services.ports import Sealer

ISSUER: Final = "Cantrail"
WINDOW: Final = 1
"""How many steps of half a minute a clock may be off."""

RECOVERY_CODES: Final = 10
_CODE_BYTES: Final = 15
_GROUP: Final = 6
_DIGITS: Final = re.compile(r"[0-9]{6}", re.ASCII)


class Enrolment(msgspec.Struct, frozen=True):
    """A secret for an authenticator, shown this once: by itself and as an address to be drawn as a square code."""

    secret: str
    address: str


class RecoveryCodes(msgspec.Struct, frozen=True):
    """Codes that each stand in for one one-time password, shown this once."""

    codes: list[str]


def is_on(session: AnySession, account: str) -> bool:
    """Whether an account's one-time passwords are set up."""
    kept = queries.one_time_password(session, account_id=account)
    return kept is not None and kept.confirmed_at is not None


def enrol(session: WriteSession, sealer: Sealer, account: Account, now: datetime) -> Enrolment:
    """A new secret. It counts once a code has confirmed it; until then it can be made again. Raises a conflict where
    one-time passwords are on."""
    if is_on(session, account.id):
        raise CantrailError(
            Kind.CONFLICT, "one_time_password_on", "One-time passwords are on. Turn them off first, to begin again."
        )
    secret = pyotp.random_base32()
    stores.put_one_time_password(session, account_id=account.id, sealed=sealer.seal(secret, account.id), now=now)
    return Enrolment(secret, pyotp.TOTP(secret).provisioning_uri(name=account.name, issuer_name=ISSUER))


def confirm(session: WriteSession, sealer: Sealer, account: str, code: str, now: datetime) -> RecoveryCodes:
    """Turn one-time passwords on with a first code, and give recovery codes. Raises a conflict where nothing is to be
    confirmed, and bad input for a wrong code."""
    kept = queries.one_time_password(session, account_id=account)
    if kept is None or kept.confirmed_at is not None:
        raise CantrailError(
            Kind.CONFLICT, "nothing_to_confirm", "No secret waits to be confirmed. Begin with a new one."
        )
    step = _step(sealer.unseal(kept.sealed, account), code, now)
    if step is None:
        raise invalid("/code", "wrong_code", "This is not the code of this moment. Check the clock of your device.")
    stores.confirm_one_time_password(session, kept=kept, now=now)
    stores.step_used(session, kept=kept, step=step)
    return renew_recovery_codes(session, account, now)


def is_of_authenticator(code: str) -> bool:
    """Whether a code has the form of a one-time password; a recovery code has letters."""
    return _DIGITS.fullmatch(code.strip()) is not None


def uses(session: WriteSession, sealer: Sealer, account: str, code: str, now: datetime) -> bool:
    """Whether a code is good, a one-time password or a recovery code; it is used up then."""
    given = code.strip()
    if not is_of_authenticator(given):
        return uses_code(session, account, given, Purpose.RECOVERY, now)
    kept = queries.one_time_password(session, account_id=account)
    if kept is None or kept.confirmed_at is None:
        return False
    step = _step(sealer.unseal(kept.sealed, account), given, now)
    if step is None or (kept.last_step is not None and step <= kept.last_step):
        return False
    stores.step_used(session, kept=kept, step=step)
    return True


def turn_off(session: WriteSession, account: str) -> None:
    """No one-time passwords any more, and no recovery codes."""
    stores.drop_one_time_password(session, account_id=account)


def renew_recovery_codes(session: WriteSession, account: str, now: datetime) -> RecoveryCodes:
    """New recovery codes in the place of all earlier ones."""
    codes = [new_code() for _ in range(RECOVERY_CODES)]
    stores.put_codes(
        session, account_id=account, purpose=Purpose.RECOVERY, hashes=[hashed(each) for each in codes], now=now
    )
    return RecoveryCodes(codes)


def renewed(session: WriteSession, account: str, now: datetime) -> RecoveryCodes:
    """New recovery codes. Raises a conflict where one-time passwords are off."""
    if not is_on(session, account):
        raise CantrailError(
            Kind.CONFLICT,
            "one_time_password_off",
            "Recovery codes stand in for one-time passwords: turn those on first.",
        )
    return renew_recovery_codes(session, account, now)


def new_code() -> str:
    """A code that works once: 120 random bits, in four groups of letters and digits. So much cannot be guessed from a
    plain hash."""
    letters = b32encode(secrets.token_bytes(_CODE_BYTES)).decode().lower()
    return "-".join(letters[at : at + _GROUP] for at in range(0, len(letters), _GROUP))


def hashed(code: str) -> str:
    """What is kept of a code, however it was typed."""
    return sha256(re.sub(r"[\s-]", "", code).lower().encode()).hexdigest()


def uses_code(session: WriteSession, account: str, code: str, purpose: Purpose, now: datetime) -> bool:
    """Whether a code for a purpose is an account's; it is used up then."""
    kept = queries.code(session, code_sha256=hashed(code))
    if kept is None or kept.account_id != account or kept.purpose is not purpose:
        return False
    if kept.expires_at is not None and kept.expires_at <= now:
        return False
    stores.use_code(session, code=kept)
    return True


def _step(secret: str, code: str, now: datetime) -> int | None:
    """The time step whose code this is, if it is one's of now, or next to it."""
    given = code.strip()
    if _DIGITS.fullmatch(given) is None:
        return None
    try:
        return pyotp.TOTP(secret).verify_and_get_timecode(given, for_time=now, valid_window=WINDOW)
    except OTPVerificationError:
        return None
