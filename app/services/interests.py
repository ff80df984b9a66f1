"""Declared interests: whom somebody works for and whose things they sell, and what they then do not decide on."""

from datetime import datetime, timedelta
from typing import Final

import msgspec

from app.core.claim import Interest, Subject
from app.core.dossier import Facts
from app.core.errors import invalid
from app.core.review import ClaimFacts
from app.persistence import people_stores as stores
from app.persistence.base import utc_text
from app.persistence.models import DeclaredInterest
from app.persistence.queries import people as queries
from app.persistence.queries import subjects
from app.persistence.session import AnySession, WriteSession
from app.services.facts import makers_of
from app.services.people_inputs import Interests
from app.services.work import Work

DROPPED_FOR: Final = timedelta(days=90)
"""How long an interest that was dropped stays in force."""


class InterestView(msgspec.Struct, frozen=True):
    """An interest in force. One that was dropped is so until a day."""

    publisher: str
    kind: str
    declared_at: str
    until: str | None


class InterestsView(msgspec.Struct, frozen=True):
    """Somebody's interests in force."""

    interests: list[InterestView]


def view(session: AnySession, account: str, now: datetime) -> InterestsView:
    """Somebody's interests in force."""
    return InterestsView(
        [
            InterestView(
                each.publisher,
                each.kind,
                utc_text(each.declared_at),
                None if each.dropped_at is None else utc_text(each.dropped_at + DROPPED_FOR),
            )
            for each in _in_force(session, account, now)
        ]
    )


def declare(session: WriteSession, account: str, new: Interests, now: datetime) -> InterestsView:
    """These are somebody's interests from now on. Raises bad input for a publisher that there is not."""
    wanted = {(each.publisher, Interest(each.kind)) for each in new.interests}
    for place, each in enumerate(new.interests):
        if subjects.publisher(session, slug=each.publisher) is None:
            raise invalid(
                f"/interests/{place}/publisher", "no_such_publisher", f"There is no publisher {each.publisher!r}."
            )
    for publisher, kind in sorted(wanted):
        stores.declare(session, account_id=account, publisher=publisher, kind=kind, now=now)
    for kept in queries.interests(session, account_id=account):
        if (kept.publisher, kept.kind) not in wanted:
            stores.drop_interest(session, kept=kept, now=now)
    return view(session, account, now)


def interest_in(work: Work, *publishers: str | None) -> Interest:
    """The interest that whoever does this has in one of some publishers, as their account says."""
    found = {each.kind for each in _in_force(work.session, work.account, work.now) if each.publisher in set(publishers)}
    return next((kind for kind in (Interest.EMPLOYER, Interest.SELLS) if kind in found), Interest.NONE)


def is_interested(work: Work, claim: ClaimFacts, facts: Facts) -> bool:
    """Whether whoever does this has an interest in a claim's publisher, or in the maker of what it is about."""
    makers = makers_of(work.session, facts, claim.subject)
    return interest_in(work, claim.publisher, *makers) is not Interest.NONE


def own_interest(work: Work, said: Interest, facts: Facts, subject: Subject, publisher: str | None) -> Interest:
    """What somebody says of their interest in a figure; where they say none, what their account says."""
    if said is not Interest.NONE:
        return said
    return interest_in(work, publisher, *makers_of(work.session, facts, subject))


def _in_force(session: AnySession, account: str, now: datetime) -> list[DeclaredInterest]:
    return [
        each
        for each in queries.interests(session, account_id=account)
        if each.dropped_at is None or now < each.dropped_at + DROPPED_FOR
    ]
