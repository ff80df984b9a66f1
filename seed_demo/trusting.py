"""Tells the ledger who of the scenario is trusted with what."""

from datetime import datetime

from app.core.permissions import Role
from app.persistence.session import Database
from app.services import accounts
from seed_demo.accounts import ACCOUNTS


def enter_roles(database: Database, now: datetime) -> None:
    """Enter everybody's role: last, so that the numbers by which the scenario's things are named stay as they are."""
    with database.write() as session:
        for each in ACCOUNTS:
            accounts.set_role(session, name=each["name"], role=Role(each["role"]), now=now)
