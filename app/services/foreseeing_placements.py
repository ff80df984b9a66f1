"""What a merger, a split or the undoing of either would change if somebody else agreed with it now: nothing is entered."""

from collections.abc import Iterator
from datetime import datetime
from typing import Final, NamedTuple

import msgspec

from app.core import entries
from app.core.claim import Subject, SubjectKind
from app.core.dossier import Facts
from app.core.entries import Entry, Payload
from app.core.lifecycle import BINDING, State
from app.core.mass import Unit
from app.core.placement import PlacementKind
from app.core.record import behind_both
from app.core.scoring import score_one
from app.persistence import ledger
from app.persistence.base import utc_text
from app.persistence.session import AnySession
from app.services.facts import facts_about
from app.services.foreseeing_figures import Foresight, WouldChange

_UNNAMED: Final = "P0"
"""The id of a placement that is not proposed yet."""


class Placing(NamedTuple):
    """A merger of `subject` into `other`, a split of claims and fitments from it onto `other`, or the undoing of
    `undoes`, which was of these two."""

    kind: PlacementKind
    subject: Subject
    other: Subject
    claims: tuple[str, ...] = ()
    fitments: tuple[str, ...] = ()
    undoes: str | None = None


class PlacementForeseen(msgspec.Struct, frozen=True):
    """The figures that would change, the claims and fitments that would be another subject's, and the claims that would
    stand again, and whose place others would take. What a fitment limits is in no figure of its own."""

    changed: WouldChange
    moved: list[str]
    fitments: tuple[str, ...]
    revived: list[str]
    superseded: list[str]


def foresee(session: AnySession, placing: Placing, account: str, now: datetime, unit: Unit) -> PlacementForeseen:
    """Work out what would change, as if whoever asks agreed now."""
    pair = [placing.subject, placing.other]
    facts, _ = facts_about(session, placing.subject, beside=[placing.other])
    seq, at = ledger.head(session) + 1, utc_text(now)
    entry = Entry(seq, at, account, _streams(placing), _payload(placing, facts))
    foresight = Foresight(session, pair, [entry], unit)
    homes = {id: claim.subject for id, claim in foresight.facts.claims.items()}
    foresight.facts.apply(entry)
    revived, superseded = _follow(foresight.facts, pair, entry)
    return PlacementForeseen(
        changed=foresight.would_change(),
        moved=[id for id, claim in foresight.facts.claims.items() if claim.subject != homes[id]],
        fitments=placing.fitments,
        revived=revived,
        superseded=superseded,
    )


def _streams(placing: Placing) -> tuple[str, ...]:
    moved = [f"claim:{each}" for each in placing.claims]
    moved += [Subject(SubjectKind.FITMENT, each).stream for each in placing.fitments]
    return (placing.subject.stream, placing.other.stream, *moved)


def _payload(placing: Placing, facts: Facts) -> Payload:
    """The entry by which it would come into force."""
    subject, other = placing.subject, placing.other
    match placing.kind:
        case PlacementKind.MERGER:
            behind = behind_both(facts.records[subject], facts.records[other])
            return entries.SubjectsMerged(placement=_UNNAMED, subject=subject, into=other, confirmed_by=behind)
        case PlacementKind.SPLIT:
            return entries.ClaimsPlaced(
                placement=_UNNAMED, subject=subject, onto=other, claims=placing.claims, fitments=placing.fitments
            )
        case PlacementKind.UNDOING:
            undoes = placing.undoes or _UNNAMED
            return entries.PlacementUndone(placement=_UNNAMED, undoes=undoes, subject=subject, other=other)


def _follow(facts: Facts, pair: list[Subject], entry: Entry) -> tuple[list[str], list[str]]:
    """Take in what is entered right after it, as `superseding` does: claims stand again whose successors went elsewhere,
    and give way to those that now set."""
    revived: list[str] = []
    superseded: list[str] = []

    def enter(payload: Payload) -> None:
        seq = entry.seq + 1 + len(revived) + len(superseded)
        facts.apply(Entry(seq, entry.at, entry.actor, (), payload))

    for home in dict.fromkeys(facts.in_force(each) for each in pair):
        for claim in facts.claims_on(home):
            by = facts.claims.get(claim.superseded_by or "")
            if claim.state is State.SUPERSEDED and by is not None and by.subject != home:
                enter(entries.ClaimRevived(claim=claim.id, instead_of=by.id))
                revived.append(claim.id)
        while (due := next(_due(facts, home), None)) is not None:
            older, newer = due
            enter(entries.ClaimSuperseded(claim=older, by=newer))
            superseded.append(older)
    return revived, superseded


def _due(facts: Facts, home: Subject) -> Iterator[tuple[str, str]]:
    """The claims on a subject that still stand though a newer one on it sets, each with that one."""
    for claim in facts.claims_on(home):
        older = facts.claims.get(claim.supersedes or "")
        if older is None or older.subject != home or older.state not in BINDING:
            continue
        if claim.state in BINDING and score_one(claim, facts).sets:
            yield older.id, claim.id
