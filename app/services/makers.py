"""Makers by name, for whoever enters what they make."""

from app.core.errors import invalid
from app.core.evidence import MAKERS, PublisherKind
from app.persistence.queries import subjects as queries
from app.persistence.session import AnySession
from app.services import subjects
from app.services.inputs import NewPublisher
from app.services.work import Work

LISTED = 500


def makers(session: AnySession, kind: PublisherKind) -> list[str]:
    """The names of makers of one kind, to choose from: so many at most."""
    found = [row.name or row.slug for row in queries.publisher_names(session) if row.kind == kind]
    return sorted(found, key=str.casefold)[:LISTED]


def maker_called(session: AnySession, named: str) -> str | None:
    """The slug of the maker that somebody named, by its slug or its name, however it is spelt in capitals."""
    wanted = named.casefold()
    row = queries.publisher(session, slug=named)
    if row is not None and row.kind in MAKERS:
        return row.slug
    known = (each for each in queries.publisher_names(session) if each.kind in MAKERS)
    return next((each.slug for each in known if (each.name or "").casefold() == wanted), None)


def maker_for(work: Work, named: str, kind: PublisherKind, *, enter: bool, distinct_from: list[str]) -> str:
    """The slug of the maker that somebody named; entered first, where that is wanted and nobody has. Raises bad input
    for one that is not known, and a conflict for one that resembles others, as `add_publisher` does."""
    known = maker_called(work.session, named)
    if known is not None:
        return known
    if not enter:
        raise invalid(
            "/maker",
            "no_such_maker",
            f"No maker here is called {named}. Check how it is spelt, or say below that it is new.",
        )
    return subjects.add_publisher(work, NewPublisher(name=named, kind=kind, distinct_from=distinct_from))
