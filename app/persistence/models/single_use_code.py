"""Codes that work once: recovery codes, and the code with which a forgotten password is set anew."""

from datetime import datetime
from enum import StrEnum

from sqlmodel import Field

from app.persistence.base import WORDS, EnumText, Row, UtcText, one_of, sha256_hex


class Purpose(StrEnum):
    """What a code stands in for: a one-time password, or a password."""

    RECOVERY = "recovery"
    RESET = "reset"


class SingleUseCode(Row, table=True):
    """One code, by its hash; used, it is deleted."""

    __tablename__ = "single_use_code"
    __table_args__ = (one_of("purpose", Purpose), sha256_hex("code_sha256"))

    code_sha256: str = Field(sa_type=WORDS, primary_key=True)
    account_id: str = Field(sa_type=WORDS, foreign_key="account.id", index=True)
    purpose: Purpose = Field(sa_type=EnumText(Purpose))
    created_at: datetime = Field(sa_type=UtcText())
    expires_at: datetime | None = Field(default=None, sa_type=UtcText())
