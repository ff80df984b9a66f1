"""An entry's effect on the tables. The tables are the ledger's index: `rebuild` makes the same ones from it again."""

from collections.abc import Callable, Sequence
from datetime import datetime
from typing import Any, Final

from sqlalchemy import delete, text

from app.core import entries
from app.core.entries import Entry, Payload, named
from app.core.review import ClaimFacts, claim_facts, claim_named_by
from app.persistence import claim_rows, desk_rows, document_rows, enquiry_rows, ledger, placement_rows
from app.persistence.base import adding_to, table_of
from app.persistence.models import (
    Carrier,
    Citation,
    Claim,
    CopyJudgement,
    Correction,
    Decision,
    Dispute,
    Document,
    Enquiry,
    Fitment,
    Fixing,
    Gear,
    MismatchJudgement,
    Placement,
    Publisher,
    Reading,
    Row,
    Settlement,
    Sketch,
    Snapshot,
    StandingConfirmation,
    SubjectConfirmation,
    TakenInput,
    Vehicle,
)
from app.persistence.session import WriteSession

PROJECTED: Final[tuple[type[Row], ...]] = (
    Publisher,
    Vehicle,
    Carrier,
    Fixing,
    Gear,
    Fitment,
    Document,
    Snapshot,
    Sketch,
    CopyJudgement,
    SubjectConfirmation,
    StandingConfirmation,
    Correction,
    Placement,
    Claim,
    TakenInput,
    Citation,
    Reading,
    MismatchJudgement,
    Decision,
    Dispute,
    Settlement,
    Enquiry,
)
"""The tables that the ledger gives, each after those that its foreign keys point at."""

_PROGRESS_EVERY: Final = 100


def record(session: WriteSession, *, actor: str, now: datetime, streams: Sequence[str], payload: Payload) -> Entry:
    """Append an entry and bring the tables up to it, in the session's one transaction."""
    entry = ledger.append(session, actor=actor, now=now, streams=streams, payload=payload)
    project(session, entry)
    # What the session has read of these tables may be out of date now: it forgets it, and the next look reads again.
    for seen in [each for each in session.identity_map.values() if isinstance(each, PROJECTED)]:
        session.expunge(seen)
    return entry


def rebuild(session: WriteSession, *, progress: Callable[[int, int], None] | None = None) -> None:
    """Empty every projected table and make it again from the ledger. `progress` is told entries done, and of how many.

    Readers go on with the old tables until it commits. A claim's rows depend on its whole stream and on nothing else,
    so each claim is written once, and not once for each of its entries.
    """
    if session.get_bind().dialect.name == "postgresql":
        session.connection().execute(text("SET LOCAL statement_timeout = 0"))
    for row in reversed(PROJECTED):
        session.connection().execute(delete(table_of(row)))
    desk_rows.clear(session)
    last = ledger.head(session)
    claims: dict[str, None] = {}
    for entry in ledger.every_entry(session):
        claim = claim_touched(entry)
        if claim is None:
            project(session, entry)
        else:
            claims[claim] = None
        if progress is not None and entry.seq % _PROGRESS_EVERY == 0:
            progress(entry.seq - len(claims), last)
    for done, claim in enumerate(claims, start=last - len(claims) + 1):
        facts = claim_now(session, claim)
        claim_rows.write(session, facts)
        desk_rows.write(session, facts)
        if progress is not None and done % _PROGRESS_EVERY == 0:
            progress(done, last)
    if progress is not None:
        progress(last, last)


def claim_touched(entry: Entry) -> str | None:
    """The claim whose rows an entry changes, if it changes one's."""
    if isinstance(entry.payload, entries.ClaimSubmitted):
        return named(entries.CLAIM, entry.seq)
    return claim_named_by(entry.payload)


def claim_now(session: WriteSession, claim: str) -> ClaimFacts:
    """A claim by itself, from the fold of its whole stream, on the subject that it is on now."""
    facts = claim_facts(ledger.entries_of(session, streams=[f"claim:{claim}"], up_to=None))
    return placement_rows.at_home(session, facts)


def project(session: WriteSession, entry: Entry) -> None:
    """Bring the tables up to one entry, the last of the ledger or the next of a rebuild."""
    claim = claim_touched(entry)
    if claim is not None:
        facts = claim_now(session, claim)
        claim_rows.write_last(session, facts, entry)
        desk_rows.write(session, facts)
        return
    payload = entry.payload
    match payload:
        case entries.PublisherAdded():
            _insert(session, Publisher, _said(payload), seq=entry.seq)
        case entries.VehicleAdded(years=years):
            _insert(session, Vehicle, _said(payload), seq=entry.seq, first_year=years.first, last_year=years.last)
        case entries.CarrierAdded():
            _insert(session, Carrier, _said(payload), seq=entry.seq)
        case entries.FixingAdded():
            _insert(session, Fixing, _said(payload), seq=entry.seq)
        case entries.GearAdded():
            _insert(session, Gear, _said(payload), seq=entry.seq)
        case entries.FitmentAdded():
            _insert(session, Fitment, _said(payload), seq=entry.seq, id=named(entries.FITMENT, entry.seq))
        case (
            entries.DocumentAdded()
            | entries.DocumentAddressed()
            | entries.SnapshotKept()
            | entries.AddressChecked()
            | entries.PagesRead()
            | entries.CopyJudged()
            | entries.DocumentTakenDown()
        ):
            document_rows.write(session, entry, payload)
        case entries.EnquiryOpened() | entries.EnquiryClosed() | entries.EnquiryLapsed():
            enquiry_rows.write(session, entry, payload)
        case entries.RecordConfirmed():
            _confirm(session, entry, payload)
        case (
            entries.RecordCorrected()
            | entries.MergerProposed()
            | entries.SplitProposed()
            | entries.UndoingProposed()
            | entries.PlacementDropped()
            | entries.SubjectsMerged()
            | entries.ClaimsPlaced()
            | entries.PlacementUndone()
        ):
            placement_rows.write(session, entry, payload)
        case _:
            # What is left changes no table: the method in force is read from the ledger.
            pass
    desk_rows.follow(session, entry)


_NOT_COLUMNS: Final = frozenset({"years", "distinct_from"})


def _said(payload: Payload) -> dict[str, Any]:
    """What an entry says, by column: the tables have the entries' own words."""
    return {name: getattr(payload, name) for name in payload.__struct_fields__ if name not in _NOT_COLUMNS}


def _insert(session: WriteSession, row: type[Row], said: dict[str, Any], **more: Any) -> None:
    table = table_of(row)
    confirmed = {"confirmed": False} if "confirmed" in table.c else {}
    session.connection().execute(adding_to(row), {**said, **more, **confirmed})


def _confirm(session: WriteSession, entry: Entry, payload: entries.RecordConfirmed) -> None:
    subject = payload.subject
    connection = session.connection()
    connection.execute(
        adding_to(SubjectConfirmation),
        {
            "seq": entry.seq,
            "subject_kind": subject.kind,
            "subject_id": subject.id,
            "reviewer": entry.actor,
            "document": payload.document,
            "at": entry.at,
        },
    )
    reviewers = placement_rows.standing_behind(session, subject)
    placement_rows.stand_behind(session, subject, dict.fromkeys([*reviewers, entry.actor]))
