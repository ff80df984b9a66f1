"""Idempotency keys: what was answered to a request that may be sent again."""

from datetime import datetime

from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText, sha256_hex


class IdempotencyKey(Row, table=True):
    """One account's key, the request it came with, and the answer; written in the transaction of what it answers."""

    __tablename__ = "idempotency_key"
    __table_args__ = (sha256_hex("request_sha256"),)

    account_id: str = Field(sa_type=WORDS, primary_key=True, foreign_key="account.id")
    key: str = Field(sa_type=WORDS, primary_key=True)
    request_sha256: str = Field(sa_type=WORDS)
    status: int
    body: bytes
    created_at: datetime = Field(sa_type=UtcText(), index=True)
