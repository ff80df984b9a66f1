"""Accounts of every role, each with a token."""

from app.bootstrap import Registry
from app.core.permissions import MAY, Role
from app.persistence import stores
from app.services import accounts

Headers = dict[str, str]
People = dict[str, Headers]

ROLES = {
    "contributor": Role.CONTRIBUTOR,
    "reviewer": Role.REVIEWER,
    "second reviewer": Role.REVIEWER,
    "third reviewer": Role.REVIEWER,
    "fourth reviewer": Role.REVIEWER,
    "steward": Role.STEWARD,
    "disabled": Role.STEWARD,
}


def let_in(registry: Registry) -> People:
    """Everybody's headers. The disabled account had its token before it was disabled."""
    people: People = {"anonymous": {}}
    with registry.database.write() as session:
        now = registry.clock.now()
        for name, role in ROLES.items():
            accounts.add(session, name=name, role=role, now=now)
            issued = accounts.issue_token(session, name=name, label="test", scopes=MAY[role], now=now)
            people[name] = {"Authorization": f"Bearer {issued.token}"}
        # Nothing of this is in the ledger: the stories of tests begin at its first entries.
        stores.disable_account(session, account=accounts.named(session, "disabled"), now=now)
    return people
