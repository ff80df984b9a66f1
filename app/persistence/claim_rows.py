"""A claim's row and the rows under it, as the fold of its stream says them."""

from collections.abc import Sequence
from typing import Any, Final

from sqlalchemy import Connection, bindparam, update

from app.core import entries
from app.core.entries import Entry
from app.core.review import ClaimFacts, years_after
from app.persistence.base import adding_to, table_of
from app.persistence.models import (
    Citation,
    Claim,
    Decision,
    Dispute,
    MismatchJudgement,
    Reading,
    Row,
    Settlement,
    TakenInput,
)
from app.persistence.session import WriteSession


def write(session: WriteSession, claim: ClaimFacts) -> None:
    """Write a claim of which the tables say nothing yet, whole."""
    connection = session.connection()
    connection.execute(adding_to(Claim), {"id": claim.id, **_row(claim)})
    _take(connection, claim)
    _insert(connection, Citation, claim.citations, claim=claim.id)
    _insert(connection, Reading, claim.readings, claim=claim.id)
    _insert(connection, MismatchJudgement, claim.judgements, claim=claim.id)
    _insert(connection, Decision, claim.reviews, claim=claim.id)
    _insert(connection, Dispute, claim.disputes, claim=claim.id)
    for dispute in claim.disputes:
        _insert(connection, Settlement, dispute.votes, claim=claim.id, dispute=dispute.id)


def write_last(session: WriteSession, claim: ClaimFacts, entry: Entry) -> None:
    """Bring a claim's rows up to its last entry: the claim's own, what that entry created, and its disputes' states."""
    seq = entry.seq
    if claim.seq == seq:
        write(session, claim)
        return
    connection = session.connection()
    connection.execute(_UPDATE_CLAIM, {"of": claim.id, **_row(claim)})
    if isinstance(entry.payload, entries.ClaimDerived):
        _take(connection, claim)
    if isinstance(entry.payload, entries.CitationRead):
        _look(connection, claim, entry.payload.citation)
    _insert(connection, Citation, _created(claim.citations, seq), claim=claim.id)
    _insert(connection, Reading, _created(claim.readings, seq), claim=claim.id)
    _insert(connection, MismatchJudgement, _created(claim.judgements, seq), claim=claim.id)
    _insert(connection, Decision, _created(claim.reviews, seq), claim=claim.id)
    _insert(connection, Dispute, _created(claim.disputes, seq), claim=claim.id)
    for dispute in claim.disputes:
        connection.execute(_UPDATE_DISPUTE, {"of": dispute.id, "state": dispute.state})
        _insert(connection, Settlement, _created(dispute.votes, seq), claim=claim.id, dispute=dispute.id)


_UPDATE_CLAIM: Final = update(table_of(Claim)).where(table_of(Claim).c.id == bindparam("of"))
_UPDATE_DISPUTE: Final = update(table_of(Dispute)).where(table_of(Dispute).c.id == bindparam("of"))


def _take(connection: Connection, claim: ClaimFacts) -> None:
    subjects = () if claim.derivation is None else sorted(claim.derivation.subjects)
    if subjects:
        rows = [{"claim": claim.id, "subject_kind": each.kind, "subject_id": each.id} for each in subjects]
        connection.execute(adding_to(TakenInput), rows)


def _look(connection: Connection, claim: ClaimFacts, citation: str) -> None:
    table = table_of(Citation)
    for each in claim.citations:
        if each.id == citation:
            seen = {name: getattr(each, name) for name in ("outcome", "found_page", "box", "read_sha256")}
            connection.execute(update(table).where(table.c.id == citation).values(seen))


def _created(facts: Sequence[Any], seq: int) -> list[Any]:
    """What one entry created: it bears the entry's number."""
    return [fact for fact in facts if fact.id[1:] == str(seq)]


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
        connection.execute(adding_to(row), rows)
