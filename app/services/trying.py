"""What a claim would come to if it were entered now: submitted in a transaction that is undone, and scored from what it
would have entered. Nothing is kept."""

from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from typing import TypeVar

import msgspec

from app.core import entries
from app.core.claim import Interest, SourceType, Subject, SubjectKind, total_grams
from app.core.confidence import Explanation
from app.core.dossier import Facts, fold
from app.core.entries import REVIEW, Entry, named
from app.core.errors import CantrailError
from app.core.lifecycle import UNDECIDED
from app.core.mass import SAME_WITHIN_G, Unit
from app.core.plate import changes
from app.core.review import ClaimFacts, Decision
from app.core.scoring import ScoredClaim, dossier_of, score_one
from app.persistence.queries import documents
from app.persistence.session import AnySession, Database, WriteSession
from app.services import claims, page_reading, superseding
from app.services.facts import entries_about
from app.services.inputs import NewClaim
from app.services.ports import EvidenceStore
from app.services.views.plates import ChangedView, changed_view
from app.services.views.records import text_of
from app.services.work import Work

T = TypeVar("T")

REVIEWERS = ("first reviewer", "second reviewer")
"""Two who are imagined: no account is called so."""


class Other(msgspec.Struct, frozen=True):
    """Another claim of the same quantity and condition. `same`: it states the same figure; `open`: it still takes
    evidence; `older`: the new claim may take its place."""

    scored: ScoredClaim
    same: bool
    open: bool
    older: bool


class Tried(msgspec.Struct, frozen=True):
    """A claim as it would be entered, its confidence then and once two reviewers had read the same and approved it, and
    what that would change on its vehicle's plate."""

    claim: ClaimFacts
    now: Explanation
    approved: Explanation
    others: tuple[Other, ...]
    plate: tuple[ChangedView, ...]


class _UndoneError(Exception):
    """Ends a transaction that is not to be kept."""


def undone(database: Database, do: Callable[[WriteSession], T]) -> T:
    """Do something in a transaction, and undo it. Raises what it raises."""
    found: list[T] = []

    def unit(session: WriteSession) -> None:
        found[:] = [do(session)]
        raise _UndoneError

    with suppress(_UndoneError):
        database.run(unit)
    return found[0]


def tried(database: Database, work_in: Callable[[WriteSession], Work], new: NewClaim, unit: Unit) -> Tried:
    """What a claim would come to, plate figures in kg or lb. Raises whatever entering it would raise."""

    def enter(session: WriteSession) -> tuple[str, list[Entry], Facts, Entry]:
        work = work_in(session)
        before, _ = entries_about(session, subject)
        id = claims.submit(work, new)
        after, _ = entries_about(session, subject)
        facts = fold(after)
        seen = list(_seen(session, work.store, facts.claims[id], after[-1]))
        return id, before, fold(seen, facts), [*after, *seen][-1]

    subject = Subject(new.subject.kind, new.subject.id)
    id, before, facts, last = undone(database, enter)
    claim = facts.claims[id]
    now, others = score_one(claim, facts).explanation, tuple(_others(claim, facts))
    _approve(claim, facts, last)
    return Tried(
        claim=claim,
        now=now,
        approved=score_one(facts.claims[id], facts).explanation,
        others=others,
        plate=_plate(before, facts, subject, unit),
    )


def _seen(session: AnySession, store: EvidenceStore, claim: ClaimFacts, last: Entry) -> Iterator[Entry]:
    """What the machine will see on the pages cited, where they were read already."""
    if claim.source_type is SourceType.ACCESSORY_DERIVED:
        return
    for number, cited in enumerate(claim.citations, 1):
        document = documents.document(session, id=cited.document)
        if document is None or document.pages is None or document.sha256 is None:
            continue
        pages = page_reading.pages_of(store, document.text_sha256)
        outcome, page, found = page_reading.search(
            claim.statement, pages, cited.page, document.language, text_of(session, cited.quote_sha256)
        )
        payload = entries.CitationRead(
            claim.id, cited.id, document.sha256, outcome, page, None if found is None else found.box
        )
        yield _imagined(last, number, entries.SYSTEM, claim, payload)


def _approve(claim: ClaimFacts, facts: Facts, last: Entry) -> None:
    """Let two reviewers approve a claim, and it take the place of the one that it supersedes."""
    approvals = list(_approvals(claim, last))
    fold(approvals, facts)
    if claim.supersedes is not None and score_one(facts.claims[claim.id], facts).sets:
        over = entries.ClaimSuperseded(claim=claim.supersedes, by=claim.id)
        facts.apply(_imagined(approvals[-1], 1, entries.SYSTEM, claim, over))


def _approvals(claim: ClaimFacts, last: Entry) -> Iterator[Entry]:
    for place, reviewer in enumerate(REVIEWERS):
        number = 2 * place + 1
        reading = entries.ReadingKeyed(claim.id, claim.statement, (), claim.derivation)
        yield _imagined(last, number, reviewer, claim, reading)
        decided = entries.ClaimDecided(
            claim.id, named(REVIEW, last.seq + number), Decision.APPROVE, None, "", Interest.NONE
        )
        yield _imagined(last, number + 1, reviewer, claim, decided)


def _imagined(last: Entry, further: int, actor: str, claim: ClaimFacts, payload: entries.Payload) -> Entry:
    return Entry(last.seq + further, last.at, actor, (f"claim:{claim.id}", claim.subject.stream), payload)


def _others(claim: ClaimFacts, facts: Facts) -> Iterator[Other]:
    """The claims beside which this one would stand, the newest first."""
    said = claim.statement
    alike = [
        each
        for each in facts.claims_on(claim.subject)
        if each.id != claim.id
        and (each.statement.quantity, each.statement.condition) == (said.quantity, said.condition)
    ]
    for other in sorted(alike, key=lambda other: -other.seq):
        yield Other(
            score_one(other, facts),
            same=_same(claim, other, facts),
            open=other.state in UNDECIDED and not other.approvals,
            older=_older(claim, other),
        )


def _same(claim: ClaimFacts, other: ClaimFacts, facts: Facts) -> bool:
    one, two = claim.statement, other.statement
    if (one.basis, one.bound, one.applies_to, one.scope) != (two.basis, two.bound, two.applies_to, two.scope):
        return False
    counts = facts.counts_for(claim.subject)
    here, there = total_grams(one, counts), total_grams(two, counts)
    if here is None or there is None:
        return one.stated == two.stated
    return abs(here - there) <= SAME_WITHIN_G


def _older(claim: ClaimFacts, other: ClaimFacts) -> bool:
    if claim.publisher is None:
        return False
    try:
        superseding.check(other, claim)
    except CantrailError:
        return False
    return True


def _plate(before: Iterable[Entry], after: Facts, subject: Subject, unit: Unit) -> tuple[ChangedView, ...]:
    if subject.kind is not SubjectKind.VEHICLE or (then := dossier_of(after, subject)) is None:
        return ()
    return tuple(changed_view(subject.id, each, unit) for each in changes(dossier_of(fold(before), subject), then))
