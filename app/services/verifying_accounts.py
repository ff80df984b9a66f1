"""Who is trusted with what: the account table held against the entries that say so."""

from app.core.account_entries import OPERATOR, AccountDisabled, AccountEnabled, RoleGiven
from app.core.entries import Entry
from app.core.permissions import Role
from app.persistence import auditing
from app.persistence.base import table_of
from app.persistence.models import Account
from app.persistence.session import AnySession
from app.services.findings import Findings


class Trust:
    """Who is trusted with what by the ledger, followed from its first entry on. Who was given no role is a
    contributor."""

    def __init__(self) -> None:
        self.roles: dict[str, str] = {}
        self.disabled: set[str] = set()
        self.faults: list[tuple[str, str]] = []

    def follow(self, entry: Entry) -> None:
        """Take an entry in."""
        match entry.payload:
            case RoleGiven(account=account, role=role):
                if entry.actor != OPERATOR and self.role(entry.actor) != Role.STEWARD:
                    self.faults.append((f"entry {entry.seq}", f"{entry.actor} gave a role and was no steward"))
                self.roles[account] = role
            case AccountDisabled(account=account):
                self.disabled.add(account)
            case AccountEnabled(account=account):
                self.disabled.discard(account)
            case _:
                return

    def role(self, account: str) -> str:
        """What an account is trusted with."""
        return self.roles.get(account, Role.CONTRIBUTOR)


def check(found: Findings, session: AnySession, trust: Trust) -> None:
    """Compare every account's role, and whether it is disabled. Raises `storage_damaged` where they cannot be read."""
    names = list(table_of(Account).c.keys())
    missing = {account for account, role in trust.roles.items() if role != Role.CONTRIBUTOR} - trust.disabled
    for where, what in trust.faults:
        found.add(where, what)
    for line in auditing.table_rows(session, Account):
        row = dict(zip(names, line, strict=True))
        found.looked_at += 1
        missing.discard(row["id"])
        where = f"account {row['id']}"
        if row["role"] != trust.role(row["id"]):
            found.add(where, f"its role is {row['role']!r}; by the ledger it is {str(trust.role(row['id']))!r}")
        if (row["disabled_at"] is not None) is not (row["id"] in trust.disabled):
            said = "disabled" if row["id"] in trust.disabled else "not disabled"
            found.add(where, f"by the ledger it is {said}")
    for account in sorted(missing):
        found.add(f"account {account}", "the ledger trusts it, and it is not there")
