"""A claim's row and the rows under it, as the fold of its stream says them."""

from collections.abc import Sequence
from typing import Any, Final

from sqlalchemy import Connection, delete, insert, update

from app.core.review import ClaimFacts, years_after
from app.persistence.base import table_of
from app.persistence.models import Citation, Claim, Decision, Dispute, Reading, Row, Settlement
from app.persistence.session import WriteSession

_UNDER: Final[tuple[type[Row], ...]] = (Settlement, Dispute, Decision, Reading, Citation)
"""The tables under a claim, each before those that it points at."""


def write(session: WriteSession, claim: ClaimFacts) -> None:
    """Make the tables say of one claim what the fold says, whatever they said before."""
    connection = session.connection()
    claims = table_of(Claim)
    changed = connection.execute(update(claims).where(claims.c.id == claim.id).values(_row(claim)))
    if changed.rowcount == 0:
        connection.execute(insert(claims), {"id": claim.id, **_row(claim)})
    else:
        for row in _UNDER:
            table = table_of(row)
            connection.execute(delete(table).where(table.c.claim == claim.id))
    _insert(connection, Citation, claim.citations, claim=claim.id)
    _insert(connection, Reading, claim.readings, claim=claim.id)
    _insert(connection, Decision, claim.reviews, claim=claim.id)
    _insert(connection, Dispute, claim.disputes, claim=claim.id)
    for dispute in claim.disputes:
        _insert(connection, Settlement, dispute.votes, claim=claim.id, dispute=dispute.id)


def next_aged(claim: ClaimFacts) -> str | None:
    """The date on which time next does something to a claim: its review-by date, or the next whole year after it."""
    if claim.review_by is None or claim.overdue_years is None:
        return claim.review_by
    return years_after(claim.review_by, claim.overdue_years + 1)


def _row(claim: ClaimFacts) -> dict[str, Any]:
    return {
        "seq": claim.seq,
        "subject_kind": claim.subject.kind,
        "subject_id": claim.subject.id,
        "quantity": claim.statement.quantity,
        "condition": claim.statement.condition,
        "state": claim.state,
        "statement": claim.statement,
        "source_type": claim.source_type,
        "publisher": claim.publisher,
        "author": claim.author,
        "interest": claim.interest,
        "supersedes": claim.supersedes,
        "superseded_by": claim.superseded_by,
        "answers_rejection": claim.answers_rejection,
        "answer_sha256": claim.answer_sha256,
        "approvals": len(claim.approvals),
        "submitted_at": claim.submitted_at,
        "review_by": claim.review_by,
        "overdue_years": claim.overdue_years,
        "next_aged": next_aged(claim),
    }


def _insert(connection: Connection, row: type[Row], facts: Sequence[Any], **ids: str) -> None:
    """The facts' own words are the columns; what a table lacks (a dispute's votes) has a table of its own."""
    table = table_of(row)
    rows = [{name: getattr(fact, name) for name in fact.__struct_fields__ if name in table.c} | ids for fact in facts]
    if rows:
        connection.execute(insert(table), rows)
