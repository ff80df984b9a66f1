"""Publishers as people call them: by a part of their name."""

from typing import Final

from app.persistence.queries import subjects as queries
from app.persistence.session import AnySession
from app.services.views.records import PublisherView, shown_publishers

MOST: Final = 20


def publishers_like(session: AnySession, words: str) -> list[PublisherView]:
    """The publishers with some words in their name, or with them for an id; the first few."""
    return shown_publishers(session, queries.publishers_like(session, words=words, limit=MOST))
