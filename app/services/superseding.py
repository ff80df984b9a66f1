"""A newer claim takes an older one's place once it sets; the older one stands again if the newer is refuted."""

from app.core import entries
from app.core.claim import Subject
from app.core.errors import CantrailError, Kind, invalid
from app.core.lifecycle import BINDING, State
from app.core.review import ClaimFacts
from app.core.scope import covers
from app.core.scoring import score_one
from app.persistence.queries import claims as queries
from app.persistence.queries import placements
from app.services.facts import facts_about
from app.services.work import Work


def check(old: ClaimFacts | None, new: ClaimFacts) -> None:
    """Raises where one claim cannot supersede another."""
    pointer = "/supersedes"
    if old is None or old.subject != new.subject:
        raise invalid(pointer, "no_such_claim", f"There is no claim {new.supersedes} on {new.subject.id}.")
    same = (
        old.publisher == new.publisher
        and old.statement.quantity is new.statement.quantity
        and old.statement.condition is new.statement.condition
    )
    if not same:
        raise invalid(
            pointer,
            "not_the_same_figure",
            f"{old.id} is another publisher's, quantity's or condition's: only a like claim is superseded.",
        )
    if not covers(new.statement.scope, old.statement.scope):
        raise invalid(
            pointer,
            "scope_not_covered",
            f"The scope of {old.id} reaches further than this one's. Widen this claim's scope, or leave the old claim.",
        )
    if old.state not in BINDING:
        raise CantrailError(
            Kind.CONFLICT,
            "not_now",
            f"{old.id} is {old.state}: only an approved or disputed claim is superseded.",
            details={"state": old.state},
        )


def supersede_where_due(work: Work, subject: Subject) -> None:
    """Enter that claims are superseded whose successors now set."""
    due = True
    while due:
        due = False
        pending = queries.pending_supersessions(work.session, subject=subject)
        if not pending:
            return
        facts, _ = facts_about(work.session, subject)
        for row in pending:
            if row.supersedes is not None and score_one(facts.claims[row.id], facts).sets:
                work.enter(
                    entries.ClaimSuperseded(claim=row.supersedes, by=row.id),
                    [f"claim:{row.supersedes}", f"claim:{row.id}", *work.streams_of(subject)],
                )
                due = True
                break


def revive_parted(work: Work, subject: Subject) -> None:
    """Enter that claims stand again whose successors were placed on another subject."""
    for row in placements.parted(work.session, subject=subject):
        if row.superseded_by is not None and row.state is State.SUPERSEDED:
            work.enter(
                entries.ClaimRevived(claim=row.id, instead_of=row.superseded_by),
                [f"claim:{row.id}", f"claim:{row.superseded_by}", *work.streams_of(subject)],
            )


def revive_instead_of(work: Work, subject: Subject, refuted: str) -> None:
    """Enter that what a refuted claim had superseded stands again."""
    for row in queries.superseded_by(work.session, claim=refuted):
        work.enter(
            entries.ClaimRevived(claim=row.id, instead_of=refuted),
            [f"claim:{row.id}", f"claim:{refuted}", *work.streams_of(subject)],
        )
