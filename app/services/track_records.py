"""What somebody has done here, in numbers: what a steward looks at before trusting them with more."""

from hashlib import sha256

import msgspec
import rfc8785

from app.core.account_entries import AccountDisabled, AccountEnabled, AccountReset, RoleGiven
from app.core.permissions import Role
from app.persistence import ledger
from app.persistence.base import utc_text
from app.persistence.models import Account
from app.persistence.queries import track_records as queries
from app.persistence.session import AnySession


class Trusted(msgspec.Struct, frozen=True):
    """That an account was given a role, disabled, enabled again or given a reset code: the ledger's entry, with who did
    it. A role that was given before roles were entered is not here."""

    entry: int
    at: str
    by: str
    event: str
    role: str | None


class TrackRecord(msgspec.Struct, frozen=True):
    """What an account has done. `mismatch_rate` is the part of its blind readings that the claim went beyond, null
    before the first. `digest` names exactly these numbers."""

    since: str
    claims: dict[str, int]
    rejections: dict[str, int]
    readings: int
    mismatches: int
    mismatch_rate: float | None
    decisions: dict[str, int]
    overturned: int
    disputes: dict[str, int]
    trusted: list[Trusted]
    digest: str


def track_record(session: AnySession, account: Account) -> TrackRecord:
    """An account's track record as of now."""
    readings, mismatches = queries.readings(session, account=account.id)
    record = TrackRecord(
        since=utc_text(account.created_at),
        claims=queries.claims_by_state(session, account=account.id),
        rejections=queries.rejections_by_code(session, account=account.id),
        readings=readings,
        mismatches=mismatches,
        mismatch_rate=round(mismatches / readings, 4) if readings else None,
        decisions=queries.decisions(session, account=account.id),
        overturned=queries.overturned(session, account=account.id),
        disputes=queries.disputes(session, account=account.id),
        trusted=trusted(session, account.id),
        digest="",
    )
    said = {"account": account.id, "role": str(account.role), **msgspec.to_builtins(record)}
    return msgspec.structs.replace(record, digest=f"sha256:{sha256(rfc8785.dumps(said)).hexdigest()}")


def trusted(session: AnySession, account: str) -> list[Trusted]:
    """When an account was given which role, and by whom, as the ledger has it."""
    found = []
    for entry in ledger.entries_of(session, streams=[f"account:{account}"], up_to=None):
        match entry.payload:
            case RoleGiven(role=role):
                found.append(Trusted(entry.seq, entry.at, entry.actor, entry.payload.type, role))
            case AccountDisabled() | AccountEnabled() | AccountReset():
                found.append(Trusted(entry.seq, entry.at, entry.actor, entry.payload.type, None))
            case _:
                continue
    return found


def role_entered(session: AnySession, account: str) -> Role:
    """The role that an account has by the ledger; a contributor's where it was given none."""
    given = [each.role for each in trusted(session, account) if each.role is not None]
    return Role(given[-1]) if given else Role.CONTRIBUTOR
