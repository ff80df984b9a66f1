"""What the desk's order follows from beside the ledger's entries one by one: whether an undecided claim would lower a
vetted figure, whether what is worked back should be looked at again, and how often what was asked for."""

from collections.abc import Iterable
from typing import Final

from app.core.claim import Subject
from app.core.desk import lowers, unsettled_derivations
from app.persistence import desk_rows
from app.persistence.models import DeskWork
from app.persistence.queries import claims as claim_queries
from app.persistence.queries import desk as queries
from app.persistence.session import WriteSession
from app.services.facts import facts_about

_AT_ONCE: Final = 500


def relook(session: WriteSession, subject: Subject) -> None:
    """Something was decided about a subject: compare its undecided claims with what two reviewers approved, and look
    whether what is worked back from it still follows."""
    undecided = queries.undecided_on(session, subject=subject)
    if undecided:
        _compare(session, subject, undecided)
    look_at_dependents(session, subject)


def entered(session: WriteSession, subject: Subject, claim: str) -> None:
    """A claim was entered: compare it with what two reviewers approved."""
    _compare(session, subject, [claim])


def _compare(session: WriteSession, subject: Subject, claims: Iterable[str]) -> None:
    facts, _ = facts_about(session, subject)
    for id in claims:
        desk_rows.set_lowers(session, id, lowers=lowers(facts.claims[id], facts))


def look_at_dependents(session: WriteSession, subject: Subject) -> None:
    """Look whether what is worked back from a subject's claims still follows."""
    for other in claim_queries.depending_on(session, subject=subject):
        _look_at_derivations(session, other)


def _look_at_derivations(session: WriteSession, subject: Subject) -> None:
    facts, _ = facts_about(session, subject)
    unsettled = {claim.id: since for claim, since in unsettled_derivations(facts, facts.claims_on(subject))}
    for claim in facts.claims_on(subject):
        if claim.derivation is not None:
            desk_rows.look_again(session, claim, unsettled.get(claim.id))


def after_rebuild(session: WriteSession) -> None:
    """The rows were made anew from the ledger: compare what is to be compared."""
    for subject in queries.subjects_to_compare(session):
        relook(session, subject)
    for subject in claim_queries.subjects_working_back(session):
        _look_at_derivations(session, subject)


def every_day(session: WriteSession) -> int:
    """Give all work its place by what was asked for and who is known by now. Gives how many places changed."""
    changed = 0
    known: dict[str, bool] = {}
    after = ("", "")
    while some := queries.all_work(session, after=after, limit=_AT_ONCE):
        after = (some[-1].kind, some[-1].about)
        changed += desk_rows.put_in_order(session, [_weighed(session, row, known) for row in some])
        for row in some:
            session.expunge(row)
    return changed


def asked_for(session: WriteSession, subject: Subject) -> None:
    """Counts came in: give the work about a subject its place."""
    known: dict[str, bool] = {}
    work = queries.work_about(session, subject=subject)
    desk_rows.put_in_order(session, [_weighed(session, row, known) for row in work])
    for row in work:
        session.expunge(row)


def _weighed(session: WriteSession, row: DeskWork, known: dict[str, bool]) -> tuple[DeskWork, int, bool]:
    asked = 0
    if row.subject_kind is not None and row.subject_id is not None:
        subject = Subject(row.subject_kind, row.subject_id)
        asked = queries.asked_in_vain(session, subject=subject, quantity=row.quantity)
    if row.author is None:
        return row, asked, False
    if row.author not in known:
        known[row.author] = desk_rows.is_newcomer(session, row.author)
    return row, asked, known[row.author]
