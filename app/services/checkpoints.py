"""Checkpoints of the ledger: signed, kept before they are handed out, and held against the ledger ever after.

The last one is kept in the data folder and, if one is named, in a second place. Whatever is kept, the ledger must go on
from it: where it does not, entries were lost or rewritten, and nothing more may be written.
"""

import logging
from collections.abc import Iterator, Sequence
from contextlib import ExitStack
from threading import Lock
from typing import Final

import msgspec

from app.core.checkpoint import Checkpoint, checkpoint_in
from app.core.errors import CantrailError, Kind
from app.core.signed_note import Note, Signature, VerifierKey, formatted, is_signed_by, parsed
from app.persistence import ledger, tree
from app.persistence.session import AnySession, Database
from app.services.ports import CheckpointPlace, SigningKey, Verifier

_log: Final = logging.getLogger(__name__)


class Kept(msgspec.Struct, frozen=True):
    """What is kept in one place: a checkpoint, or why it cannot be read as one of this registry's."""

    where: str
    checkpoint: Checkpoint | None = None
    trouble: str | None = None


class Checkpoints:
    """A registry's checkpoints: the first place must take each before it is handed out, the others should."""

    def __init__(self, database: Database, key: SigningKey, first: CheckpointPlace, *others: CheckpointPlace) -> None:
        self.key = key
        self._database = database
        self._first = first
        self._others = others
        self._turn = Lock()
        self._last: tuple[int, str] | None = None
        self._failing: dict[str, str] = {}

    def current(self) -> str:
        """The present head, signed: the same note until an entry is added. Raises as `publish` does."""
        size = self._database.probe()
        last = self._last
        return last[1] if last is not None and last[0] == size else self.publish()

    def publish(self) -> str:
        """Sign the present head and keep it in every place. Gives the note.

        Raises unavailable: `ledger_cut_short` where the ledger does not go on from what is kept, so that no size is
        ever signed with two roots; `checkpoint_not_kept` and `checkpoint_unreadable` where the first place fails;
        `no_signing_key`; `storage_unavailable`.
        """
        with self._turn, ExitStack() as stack:
            stack.enter_context(self._first.alone())
            places = [self._first, *(each for each in self._others if self._entered(stack, each))]
            # Read before the ledger is: what another process publishes meanwhile must not look like a loss.
            kept = [self.kept_in(each) for each in places]
            if kept[0].trouble is not None:
                raise _unreadable(kept[0])
            with self._database.read() as session:
                refusal = self._refusal(session, kept)
                if refusal is not None:
                    self._database.refuse_writes(refusal)
                    raise refusal
                size = ledger.head(session)
                root = tree.root(session, size=size)
            note = self._signed(size, root)
            for place, before in zip(places, kept, strict=True):
                self._keep(place, before, size, note)
            self._last = (size, note)
            return note

    def _entered(self, stack: ExitStack, place: CheckpointPlace) -> bool:
        try:
            stack.enter_context(place.alone())
        except CantrailError as error:
            self._fails(place, error.message)
            return False
        return True

    def _signed(self, size: int, root: bytes) -> str:
        verifier = self.key.verifier()
        text = Checkpoint(verifier.name, size, root).text
        return formatted(Note(text, (Signature(verifier.name, verifier.id, self.key.sign(text.encode())),)))

    def _keep(self, place: CheckpointPlace, before: Kept, size: int, note: str) -> None:
        """Replace what is kept in a place, unless it is of this size already. What is there was held against the
        ledger; what could not be is never replaced."""
        if before.trouble is not None:
            self._fails(place, before.trouble)
            return
        if before.checkpoint is None or before.checkpoint.size < size:
            try:
                place.write(note)
            except CantrailError as error:
                if place is self._first:
                    raise
                self._fails(place, error.message)
                return
        self._failing.pop(place.name, None)

    def _fails(self, place: CheckpointPlace, why: str) -> None:
        if self._failing.get(place.name) != why:
            _log.warning("A second copy of the checkpoint could not be kept: %s", why)
        self._failing[place.name] = why

    # What is kept

    def kept_in(self, place: CheckpointPlace, *, signed: bool = True) -> Kept:
        """What is kept in one place; what is not signed by this registry is a trouble, unless that is not asked for."""
        try:
            said = place.read()
            if said is None:
                return Kept(place.name)
            return Kept(place.name, self.read(said) if signed else checkpoint_in(parsed(said).text))
        except CantrailError as error:
            return Kept(place.name, trouble=f"{place.name}: {error.message}")

    def kept(self, *, signed: bool = True) -> list[Kept]:
        """What is kept in each place."""
        return [self.kept_in(place, signed=signed) for place in (self._first, *self._others)]

    def read(self, said: str) -> Checkpoint:
        """A checkpoint of this registry's from its note. Raises as `signed_checkpoint` does, and `no_signing_key`."""
        return signed_checkpoint(said, self.key.verifier(), self.key)

    def refusal(self) -> CantrailError | None:
        """Why nothing may be written: the ledger is shorter than a kept checkpoint, or not its continuation; None where
        all is well. A few dozen reads, whatever the size. Raises `storage_unavailable`."""
        found = self._refused(signed=False)
        # Signatures are looked at only where something is wrong: a damaged copy must not stop the registry. Without the
        # key nobody can tell, and whatever was kept counts.
        return self._refused(signed=True) if found is not None and self.key.exists() else found

    def _refused(self, *, signed: bool) -> CantrailError | None:
        kept = self.kept(signed=signed)
        if all(each.checkpoint is None for each in kept):
            return None
        with self._database.read() as session:
            return self._refusal(session, kept)

    def guard(self) -> None:
        """Let the database refuse every write where there is a reason to."""
        refusal = self.refusal()
        if refusal is not None:
            _log.error("%s", refusal.message)
            self._database.refuse_writes(refusal)

    def _refusal(self, session: AnySession, kept: Sequence[Kept]) -> CantrailError | None:
        for each in kept:
            if each.checkpoint is None:
                continue
            try:
                told = contradiction(session, each.checkpoint)
            except CantrailError as error:
                if error.code != "ledger_damaged":
                    raise
                return error
            if told is not None:
                return cut_short(f"{told} ({each.where})")
        return None

    def troubles(self) -> Iterator[str]:
        """What whoever runs the registry should see to: the refusal to write, places that cannot be read or written."""
        refusal = self._database.refusal
        if refusal is not None:
            yield refusal.message
        for each in self.kept():
            failing = self._failing.get(each.where)
            if each.trouble is not None or failing is not None:
                yield each.trouble or failing or ""


def signed_checkpoint(said: str, key: VerifierKey, by: Verifier) -> Checkpoint:
    """A checkpoint from a note that a key must have signed, under its own name. Raises `bad_note`, `bad_checkpoint`,
    and `bad_signature`."""
    note = parsed(said)
    found = checkpoint_in(note.text)
    if found.origin != key.name or not is_signed_by(note, key, by.verifies):
        raise CantrailError(
            Kind.CONFLICT,
            "bad_signature",
            f"This checkpoint of {found.origin!r} has no good signature by {key.name}+{key.id.hex()}.",
        )
    return found


def contradiction(session: AnySession, checkpoint: Checkpoint) -> str | None:
    """In what the ledger is not the continuation of a checkpoint, as a sentence; None where it is.

    A few dozen reads. Raises `ledger_damaged` where the tree cannot be read.
    """
    size = ledger.head(session)
    if checkpoint.size > size:
        return f"The ledger has {size} entries, and a checkpoint of {checkpoint.size} was published"
    if size != ledger.last_seq(session):
        raise tree.damaged(size)
    if tree.root(session, size=checkpoint.size) != checkpoint.root:
        return f"The ledger's first {checkpoint.size} entries are not those of the checkpoint that was published"
    return None


def cut_short(why: str) -> CantrailError:
    """The refusal of every write to a ledger that has lost entries."""
    return CantrailError(
        Kind.UNAVAILABLE,
        "ledger_cut_short",
        f"{why}. Entries were lost or changed, so nothing is written until that is put right: restore a later backup. "
        "docs/running.md, under Proof, says what else can be done.",
    )


def _unreadable(kept: Kept) -> CantrailError:
    return CantrailError(Kind.UNAVAILABLE, "checkpoint_unreadable", kept.trouble or "")
