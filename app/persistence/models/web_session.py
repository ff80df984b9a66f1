"""Sessions: who is signed in with a browser. Only the hash of what the browser shows is kept."""

from datetime import datetime

from sqlmodel import Field

from app.persistence.base import WORDS, Row, UtcText, sha256_hex


class WebSession(Row, table=True):
    """One sign-in that lasts. It is over at `expires_at`, or when nothing was asked in it for long enough; ended, it is
    deleted. `second_factor` says whether a one-time password was shown for it."""

    __tablename__ = "web_session"
    __table_args__ = (sha256_hex("token_sha256"),)

    token_sha256: str = Field(sa_type=WORDS, primary_key=True)
    account_id: str = Field(sa_type=WORDS, foreign_key="account.id", index=True)
    second_factor: bool
    created_at: datetime = Field(sa_type=UtcText())
    last_seen_at: datetime = Field(sa_type=UtcText())
    expires_at: datetime = Field(sa_type=UtcText(), index=True)
