"""Load what the ledger says: the facts about a subject, and its dossier, as of any entry."""

from collections.abc import Callable, Collection
from typing import NamedTuple

from app.core.claim import Subject, SubjectKind
from app.core.dossier import Facts, copies, fold, joined_by, links, taken_in
from app.core.entries import METHOD_STREAM, Entry, FitmentAdded
from app.core.errors import CantrailError, Kind
from app.core.scoring import Dossier, dossier_of
from app.persistence import ledger
from app.persistence.queries import placements, subjects
from app.persistence.session import AnySession


class Loaded(NamedTuple):
    """A dossier, and the streams on which it depends."""

    dossier: Dossier
    streams: frozenset[str]


class Surrounded(NamedTuple):
    """A dossier, and the facts that it comes from: nobody may add to these."""

    dossier: Dossier
    facts: Facts


Around = Callable[[Subject], Surrounded]
"""Gives a subject's dossier with the facts around it, all as one session sees them. Raises not_found."""


def facts_about(
    session: AnySession, subject: Subject, up_to: int | None = None, *, beside: Collection[Subject] = ()
) -> tuple[Facts, frozenset[str]]:
    """Everything the ledger says that answers about a subject depend on, and the streams it came from; and likewise
    about some others beside it."""
    history, streams = entries_about(session, subject, up_to, beside=beside)
    return fold(history), streams


def entries_about(
    session: AnySession, subject: Subject, up_to: int | None = None, *, beside: Collection[Subject] = ()
) -> tuple[list[Entry], frozenset[str]]:
    """The entries that answers about a subject depend on, oldest first, and the streams they came from; and likewise
    about some others beside it."""
    merged: dict[int, Entry] = {}
    streams: set[str] = set()

    def read(wanted: set[str]) -> list[Entry]:
        found = ledger.entries_of(session, streams=sorted(wanted), up_to=up_to) if wanted else []
        merged.update((entry.seq, entry) for entry in found)
        streams.update(wanted)
        return found

    whole: set[str] = set()
    wanted = {subject.stream, METHOD_STREAM, *(each.stream for each in beside)}
    while wanted:
        own = read(wanted)
        whole |= wanted
        linked = read(links(own) - streams)
        while further := (copies(linked) | joined_by(linked)) - streams:
            linked = read(further)
        # What a claim is worked back from, and what a subject is one with, has to be known as well as the thing itself.
        wanted = ({each.stream for each in taken_in(own)} | joined_by(own)) - whole
    # The fold takes entries in order, so what was read in turns is merged by number.
    return [merged[seq] for seq in sorted(merged)], frozenset(streams)


def load(session: AnySession, subject: Subject, up_to: int | None = None) -> Loaded | None:
    """A subject's dossier as of an entry (None: the last), or None where there was no such subject then."""
    dossier, _, streams = _read(session, subject, up_to)
    return None if dossier is None else Loaded(dossier, streams)


def load_around(session: AnySession, subject: Subject) -> tuple[Surrounded, frozenset[str]]:
    """A subject's dossier with the facts around it, and the streams on which they depend. Raises not_found."""
    dossier, facts, streams = _read(session, subject, None)
    if dossier is None:
        raise not_found(subject)
    return Surrounded(dossier, facts), streams


def _read(session: AnySession, subject: Subject, up_to: int | None) -> tuple[Dossier | None, Facts, frozenset[str]]:
    facts, streams = facts_about(session, subject, up_to)
    return dossier_of(facts, subject), facts, streams


def not_found(subject: Subject) -> CantrailError:
    """There is no such subject."""
    return CantrailError(
        Kind.NOT_FOUND,
        f"no_such_{subject.kind}",
        f"There is no {subject.kind} {subject.id!r} in the registry. Find its id with the list of {subject.kind}s.",
        details={"kind": subject.kind, "id": subject.id},
    )


def merged(subject: Subject, into: Subject) -> CantrailError:
    """A subject was merged into another one: nothing new is entered about it."""
    return CantrailError(
        Kind.CONFLICT,
        "merged",
        f"{subject.id} is one with {into.id} and is answered as that. Send this about {into.id}.",
        details={"kind": subject.kind, "id": subject.id, "into": into.id},
    )


def refuse_merged(session: AnySession, *subjects: Subject) -> None:
    """Raises where one of these was merged into another."""
    for subject in subjects:
        into = placements.answered_as(session, subject=subject)
        if into != subject:
            raise merged(subject, into)


def makers_of(session: AnySession, facts: Facts, subject: Subject) -> frozenset[str]:
    """The makers of a subject and of all that was merged into it: a maker entered twice goes by both names. A fitment's
    are those of its carrier."""
    payload = facts.records[subject].payload
    one = Subject(SubjectKind.CARRIER, payload.carrier) if isinstance(payload, FitmentAdded) else subject
    merged_into_it = {
        record.payload.maker
        for record in facts.records.values()
        if not isinstance(record.payload, FitmentAdded) and facts.in_force(record.subject) == facts.in_force(one)
    }
    return frozenset({maker_of(session, facts, subject), *merged_into_it})


def maker_of(session: AnySession, facts: Facts, subject: Subject) -> str:
    """The maker to whom a subject belongs: a fitment belongs to its carrier's."""
    payload = facts.records[subject].payload
    if isinstance(payload, FitmentAdded):
        carrier = subjects.carrier(session, slug=payload.carrier)
        return "" if carrier is None else carrier.maker
    return payload.maker
