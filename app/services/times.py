"""Times as people send them, to times as the ledger writes them."""

from datetime import datetime

from app.core.errors import invalid
from app.persistence.base import utc_text


def ledger_time(text: str, pointer: str) -> str:
    """An RFC 3339 time with its zone, as the ledger writes times. Raises bad input."""
    try:
        moment = datetime.fromisoformat(text)
        return utc_text(moment)
    except ValueError as error:
        raise invalid(
            pointer, "bad_time", "Give an entry's number, or a time with its zone like 2026-11-25T09:30:00Z."
        ) from error
