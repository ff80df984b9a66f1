"""Kept answers, by digest."""

from app.persistence.models import KeptReceipt
from app.persistence.session import AnySession


def kept_receipt(session: AnySession, *, digest: str) -> KeptReceipt | None:
    """One kept answer, or what is left of it where it was removed."""
    return session.get(KeptReceipt, digest)
