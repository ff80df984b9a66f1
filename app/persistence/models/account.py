"""Accounts: who stands behind the pseudonymous ids in the ledger. The only place that holds a name, and can forget it."""

from datetime import datetime

from sqlmodel import Field

from app.core.permissions import Role
from app.persistence.base import WORDS, EnumText, Row, UtcText, one_of


class Account(Row, table=True):
    """One person's account. Once forgotten it has its own id in the place of a name."""

    __table_args__ = (one_of("role", Role),)

    id: str = Field(sa_type=WORDS, primary_key=True)
    name: str = Field(sa_type=WORDS, unique=True)
    role: Role = Field(sa_type=EnumText(Role))
    created_at: datetime = Field(sa_type=UtcText())
    disabled_at: datetime | None = Field(default=None, sa_type=UtcText())
    password_hash: str | None = Field(default=None, sa_type=WORDS)
    forgotten_at: datetime | None = Field(default=None, sa_type=UtcText())
