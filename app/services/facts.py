"""Load what the ledger says: the facts about a subject, and its dossier, as of any entry."""

from collections.abc import Collection
from typing import NamedTuple

from app.core.claim import Subject
from app.core.dossier import Facts, copies, fold, links, taken_in
from app.core.entries import METHOD_STREAM, Entry
from app.core.errors import CantrailError, Kind
from app.core.scoring import Dossier, dossier_of
from app.persistence import ledger
from app.persistence.session import AnySession


class Loaded(NamedTuple):
    """A dossier, and the streams on which it depends."""

    dossier: Dossier
    streams: frozenset[str]


def facts_about(
    session: AnySession, subject: Subject, up_to: int | None = None, *, beside: Collection[Subject] = ()
) -> tuple[Facts, frozenset[str]]:
    """Everything the ledger says that answers about a subject depend on, and the streams it came from; and likewise
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
        while copied := copies(linked) - streams:
            linked = read(copied)
        # What a claim is worked back from has to be known as well as the claim itself.
        wanted = {each.stream for each in taken_in(own)} - whole
    # The fold takes entries in order, so what was read in turns is merged by number.
    return fold(merged[seq] for seq in sorted(merged)), frozenset(streams)


def load(session: AnySession, subject: Subject, up_to: int | None = None) -> Loaded | None:
    """A subject's dossier as of an entry (None: the last), or None where there was no such subject then."""
    facts, streams = facts_about(session, subject, up_to)
    dossier = dossier_of(facts, subject)
    return None if dossier is None else Loaded(dossier, streams)


def not_found(subject: Subject) -> CantrailError:
    """There is no such subject."""
    return CantrailError(
        Kind.NOT_FOUND,
        f"no_such_{subject.kind}",
        f"There is no {subject.kind} {subject.id!r} in the registry. Find its id with the list of {subject.kind}s.",
        details={"kind": subject.kind, "id": subject.id},
    )
