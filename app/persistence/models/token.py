"""Tokens: what a program shows to write in somebody's name. Only the hash is kept."""

from datetime import datetime

from sqlmodel import Field

from app.persistence.base import WORDS, Packed, Row, UtcText, sha256_hex


class Token(Row, table=True):
    """One token of one account."""

    __table_args__ = (sha256_hex("token_sha256"),)

    id: str = Field(sa_type=WORDS, primary_key=True)
    account_id: str = Field(sa_type=WORDS, foreign_key="account.id", index=True)
    name: str = Field(sa_type=WORDS)
    token_sha256: str = Field(sa_type=WORDS, unique=True)
    scopes: tuple[str, ...] = Field(sa_type=Packed(tuple[str, ...]))
    created_at: datetime = Field(sa_type=UtcText())
    expires_at: datetime | None = Field(default=None, sa_type=UtcText())
    revoked_at: datetime | None = Field(default=None, sa_type=UtcText())
    last_used_at: datetime | None = Field(default=None, sa_type=UtcText())
