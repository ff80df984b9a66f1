"""Load what the ledger says: the facts about a subject, and its dossier, as of any entry."""

from typing import NamedTuple

from app.core.claim import Subject
from app.core.dossier import Facts, fold, links
from app.core.entries import METHOD_STREAM
from app.core.errors import CantrailError, Kind
from app.core.scoring import Dossier, dossier_of
from app.persistence import ledger
from app.persistence.session import AnySession


class Loaded(NamedTuple):
    """A dossier, and the streams on which it depends."""

    dossier: Dossier
    streams: frozenset[str]


def facts_about(session: AnySession, subject: Subject, up_to: int | None = None) -> tuple[Facts, frozenset[str]]:
    """Everything the ledger says that answers about a subject depend on, and the streams it came from."""
    first = {subject.stream, METHOD_STREAM}
    own = ledger.entries_of(session, streams=sorted(first), up_to=up_to)
    linked = links(own) - first
    # The fold takes entries in order, so what is linked is merged in by number.
    further = ledger.entries_of(session, streams=sorted(linked), up_to=up_to) if linked else []
    merged = {entry.seq: entry for entry in (*own, *further)}
    return fold(merged[seq] for seq in sorted(merged)), frozenset(first | linked)


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
