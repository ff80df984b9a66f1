"""The rows of the desk: what an entry makes wait, or takes off. Their order also follows from what is asked for, which
no entry tells: it is worked out when they are written, and again when counts come in or a day has passed."""

from collections.abc import Iterable
from typing import Any, Final

from sqlalchemy import bindparam, delete, update

from app.core import entries
from app.core.claim import Quantity, Subject, SubjectKind
from app.core.desk import KNOWN_FROM, Due, WorkKind, place, work_on
from app.core.entries import Entry
from app.core.lifecycle import BINDING, UNDECIDED
from app.core.review import ClaimFacts
from app.core.sketch import WORTH_COMPARING
from app.persistence.base import adding_to, table_of
from app.persistence.models import DeskWork
from app.persistence.queries import desk as queries
from app.persistence.queries import documents
from app.persistence.session import WriteSession

MOST_COPIES: Final = 5
"""A document is proposed as a copy of this many others at most: the likest."""

_WORK: Final = table_of(DeskWork)
_ROW: Final = (_WORK.c.kind == bindparam("of_kind")) & (_WORK.c.about == bindparam("of_about"))
_REMOVE: Final = delete(_WORK).where(_ROW)
_REPLACE: Final = update(_WORK).where(_ROW)


def clear(session: WriteSession) -> None:
    """Take everything off the desk, for a rebuild."""
    session.connection().execute(delete(_WORK))


def write(session: WriteSession, claim: ClaimFacts) -> None:
    """Bring the desk up to one claim."""
    known = queries.work_of(session, claim=claim.id)
    due = {(each.kind, each.about): each for each in work_on(claim)}
    kept = {
        key
        for key, row in known.items()
        if (key[0] is WorkKind.DERIVED_AGAIN and claim.state in BINDING) or (key in due and due[key].since == row.since)
    }
    _remove(session, known.keys() - kept)
    fresh = [each for key, each in due.items() if key not in kept]
    if fresh:
        lowers = claim.state in UNDECIDED and any(row.lowers for row in known.values())
        _add(session, fresh, about=_about(session, claim), lowers=lowers)


def look_again(session: WriteSession, claim: ClaimFacts, since: str | None) -> None:
    """Put a claim that is worked back on the desk to be looked at again, or with None take it off."""
    row = queries.work_of(session, claim=claim.id).get((WorkKind.DERIVED_AGAIN, claim.id))
    if since is None and row is not None:
        _remove(session, [(WorkKind.DERIVED_AGAIN, claim.id)])
    elif since is not None and row is None:
        _add(session, [Due(WorkKind.DERIVED_AGAIN, claim.id, since)], about=_about(session, claim))


def set_lowers(session: WriteSession, claim: str, *, lowers: bool) -> None:
    """Say of an undecided claim whether it would lower what two reviewers approved."""
    rows = (row for row in queries.rows(session, claim=claim) if row.lowers is not lowers)
    _replace(session, [{**row.model_dump(), "lowers": lowers} for row in rows])


def put_in_order(session: WriteSession, rows: Iterable[tuple[DeskWork, int, bool]]) -> int:
    """Give work its place anew: how often it was asked for in vain, and whether a newcomer brought it. Gives how many
    places changed."""
    changed = [
        {**row.model_dump(), "asked": asked, "newcomer": newcomer}
        for row, asked, newcomer in rows
        if (row.asked, row.newcomer) != (asked, newcomer)
    ]
    _replace(session, changed)
    return len(changed)


def follow(session: WriteSession, entry: Entry) -> None:
    """Bring the desk up to an entry that is about no claim."""
    payload = entry.payload
    match payload:
        case entries.VehicleAdded() | entries.CarrierAdded() | entries.FixingAdded():
            kind = SubjectKind(payload.type.removesuffix("_added"))
            keep_record(session, Subject(kind, payload.slug), since=entry.at, author=entry.actor)
        case entries.FitmentAdded():
            id = entries.named(entries.FITMENT, entry.seq)
            keep_record(session, Subject(SubjectKind.FITMENT, id), since=entry.at, author=entry.actor)
        case entries.RecordConfirmed():
            keep_record(session, payload.subject, since=entry.at, author=None)
        case entries.PagesRead(document=document):
            _propose_copies(session, document, entry.at)
        case entries.CopyJudged(reviewer=True):
            _remove(session, [(WorkKind.NEAR_COPY, _pair(payload.document, payload.of))])
        case entries.DocumentTakenDown(document=document):
            _remove(session, [(WorkKind.NEAR_COPY, about) for about in queries.near_copies(session, document=document)])
        case _:
            pass


def keep_record(session: WriteSession, subject: Subject, *, since: str, author: str | None) -> None:
    """Put a record on the desk until it is confirmed, and then take it off. Gear is left out: what its record says
    raises nothing."""
    if subject.kind is SubjectKind.GEAR:
        return
    about = f"{subject.kind}.{subject.id}"
    if queries.is_confirmed(session, subject=subject):
        _remove(session, [(WorkKind.RECORD, about)])
    elif not queries.waits(session, kind=WorkKind.RECORD, about=about):
        told = {
            "subject_kind": subject.kind,
            "subject_id": subject.id,
            "maker": queries.maker_of(session, subject=subject),
            "author": author,
        }
        _add(session, [Due(WorkKind.RECORD, about, since)], about=told)


def _propose_copies(session: WriteSession, document: str, at: str) -> None:
    judged = {
        each.of if each.document == document else each.document
        for each in documents.judgements(session, document=document)
        if each.reviewer
    }
    found = documents.alike(session, document=document, at_least=WORTH_COMPARING, limit=MOST_COPIES)
    pairs = [_pair(document, each.document) for each in found if each.document not in judged]
    fresh = [each for each in pairs if not queries.waits(session, kind=WorkKind.NEAR_COPY, about=each)]
    _add(session, [Due(WorkKind.NEAR_COPY, each, at) for each in fresh], about={})


def _pair(one: str, other: str) -> str:
    """Two documents, the older first."""
    return ".".join(sorted((one, other), key=lambda each: int(each[1:])))


def _about(session: WriteSession, claim: ClaimFacts) -> dict[str, Any]:
    return {
        "claim": claim.id,
        "subject_kind": claim.subject.kind,
        "subject_id": claim.subject.id,
        "quantity": claim.statement.quantity,
        "maker": queries.maker_of(session, subject=claim.subject),
        "publisher": claim.publisher,
        "author": claim.author,
    }


_NOBODY: Final = dict.fromkeys(("claim", "subject_kind", "subject_id", "quantity", "maker", "publisher", "author"))


def _add(session: WriteSession, due: list[Due], *, about: dict[str, Any], lowers: bool = False) -> None:
    if not due:
        return
    told: dict[str, Any] = {**_NOBODY, **about}
    quantity: Quantity | None = told["quantity"]
    asked = 0
    if told["subject_kind"] is not None:
        subject = Subject(told["subject_kind"], told["subject_id"])
        asked = queries.asked_in_vain(session, subject=subject, quantity=quantity)
    newcomer = told["author"] is not None and is_newcomer(session, told["author"])
    rows = [
        _placed(
            {**told, "kind": each.kind, "about": each.about, "since": each.since, "lowers": lowers},
            asked=asked,
            newcomer=newcomer,
        )
        for each in due
    ]
    session.connection().execute(adding_to(DeskWork), rows)


def is_newcomer(session: WriteSession, account: str) -> bool:
    """Whether two reviewers have approved fewer of an account's claims than it takes to be known."""
    return queries.approved_claims(session, author=account, most=KNOWN_FROM) < KNOWN_FROM


def _placed(row: dict[str, Any], *, asked: int, newcomer: bool) -> dict[str, Any]:
    stands = place(row["since"], asked=asked, newcomer=newcomer, lowers=row["lowers"])
    return {**row, "asked": asked, "newcomer": newcomer, "turn": stands.turn, "stands_at": stands.stands_at}


def _replace(session: WriteSession, rows: list[dict[str, Any]]) -> None:
    for row in rows:
        placed = _placed(row, asked=row["asked"], newcomer=row["newcomer"])
        changed = {name: placed[name] for name in ("lowers", "asked", "newcomer", "turn", "stands_at")}
        session.connection().execute(_REPLACE.values(changed), {"of_kind": row["kind"], "of_about": row["about"]})


def _remove(session: WriteSession, keys: Iterable[tuple[WorkKind, str]]) -> None:
    gone = [{"of_kind": kind, "of_about": about} for kind, about in keys]
    if gone:
        session.connection().execute(_REMOVE, gone)
