"""Follow a registry's ledger from outside: whoever keeps only its last checkpoint sees whether history was rewritten."""

import msgspec

from app.core.checkpoint import Checkpoint
from app.core.errors import CantrailError, Kind
from app.core.merkle import EMPTY_ROOT, Tree, consistency_holds, leaf_hash
from app.core.signed_note import VerifierKey, verifier_key
from app.persistence.session import AnySession
from app.services.checkpoints import contradiction, signed_checkpoint
from app.services.findings import Progress, nothing_told
from app.services.ports import RemoteLedger, SigningKey, Verifier


class Pinned(msgspec.Struct, frozen=True):
    """What an outsider keeps: the key that they go by, and the last checkpoint that they saw."""

    key: VerifierKey
    note: str

    @property
    def text(self) -> str:
        """As it is kept: the key on the first line, then the signed note."""
        return f"{self.key.text}\n{self.note}"


class Followed(msgspec.Struct, frozen=True):
    """What was seen: the earlier checkpoint if one was kept, the present one, how many entries were hashed, and what is
    to be kept from now on."""

    earlier: Checkpoint | None
    present: Checkpoint
    hashed: int
    keep: Pinned


def pinned_in(said: str, key: VerifierKey | None) -> Pinned:
    """What is kept, from its file: a note with the key above it, or a note alone where the key is given. Raises
    `bad_verifier_key`, and `ledger_key_changed` where both are there and differ."""
    first, _, rest = said.partition("\n")
    if "+" not in first:
        if key is None:
            raise _fault("no_key_kept", "This file has no key on its first line. Name the registry's key with --key.")
        return Pinned(key, said)
    own = verifier_key(first)
    if key is not None and key != own:
        raise _fault("ledger_key_changed", f"The key given is {key.text}, and the one kept is {own.text}.")
    return Pinned(own, rest)


def follow(
    remote: RemoteLedger,
    kept: Pinned | None,
    *,
    key: VerifierKey | None,
    by: Verifier,
    entries: bool = False,
    progress: Progress | None = None,
) -> Followed:
    """See whether a registry's ledger goes on from what was kept. Nothing of it is to be kept unless this returns.

    Raises conflict, each with what exactly was seen: `ledger_key_changed`, `bad_signature`, `ledger_truncated`,
    `ledger_forked`; and whatever the remote raises.
    """
    pinned = kept.key if kept is not None else key or verifier_key(remote.key())
    earlier = None if kept is None else signed_checkpoint(kept.note, pinned, by)
    note = remote.checkpoint()
    present = _present(remote, note, pinned, by)
    if earlier is not None:
        _goes_on(remote, earlier, present)
    hashed = _hash_all(remote, present, progress or nothing_told) if entries else 0
    return Followed(earlier, present, hashed, Pinned(pinned, note))


def held_against(session: AnySession, pinned: Pinned, by: SigningKey) -> Checkpoint:
    """Hold a checkpoint that was kept elsewhere against this registry's own ledger. Raises conflict:
    `ledger_key_changed`, `bad_signature`, `ledger_truncated`, `ledger_forked`; and `ledger_damaged`."""
    own = by.verifier()
    if pinned.key != own:
        raise _key_changed(pinned.key, own.text)
    earlier = signed_checkpoint(pinned.note, pinned.key, by)
    told = contradiction(session, earlier)
    if told is not None:
        raise _fault("ledger_forked", f"{told}. The checkpoint kept is genuine: entries were lost or rewritten since.")
    return earlier


def _present(remote: RemoteLedger, note: str, pinned: VerifierKey, by: Verifier) -> Checkpoint:
    try:
        return signed_checkpoint(note, pinned, by)
    except CantrailError as error:
        if error.code != "bad_signature":
            raise _fault(
                "bad_signature", f"What the registry gives as its checkpoint is none. {error.message}"
            ) from error
        named = remote.key()
        if named.strip() != pinned.text:
            raise _key_changed(pinned, named) from error
        raise _fault("bad_signature", f"The registry's checkpoint is not signed by its key. {error.message}") from error


def _goes_on(remote: RemoteLedger, earlier: Checkpoint, present: Checkpoint) -> None:
    if present.size < earlier.size:
        raise _fault(
            "ledger_truncated",
            f"The registry shows {present.size} entries, and you hold its signed checkpoint over {earlier.size}: "
            f"{earlier.size - present.size} entries are gone.",
        )
    if present.size == earlier.size:
        if present.root != earlier.root:
            raise _forked(earlier, present, "it has signed two roots for one size")
        return
    proof = [] if earlier.size == 0 else remote.consistency(earlier.size, present.size)
    shown = consistency_holds(
        earlier=earlier.size, earlier_root=earlier.root, size=present.size, root=present.root, proof=proof
    )
    if not shown:
        raise _forked(earlier, present, "what it shows as proof does not lead from one to the other")


def _hash_all(remote: RemoteLedger, present: Checkpoint, progress: Progress) -> int:
    tree = Tree()
    while tree.size < present.size:
        some = remote.entries(tree.size)
        if not some:
            raise _fault(
                "ledger_truncated",
                f"The registry gives {tree.size} entries, and its checkpoint is over {present.size}.",
            )
        for seq, body in some[: present.size - tree.size]:
            if seq != tree.size + 1:
                raise _fault("ledger_forked", f"The registry gives entry {seq} where entry {tree.size + 1} belongs.")
            tree.add(leaf_hash(body))
        progress("entries", tree.size, present.size)
    root = tree.root() if tree.size else EMPTY_ROOT
    if root != present.root:
        raise _fault(
            "ledger_forked",
            f"The {present.size} entries that the registry gives hash to the root {root.hex()}, "
            f"and its signed checkpoint says {present.root.hex()}.",
        )
    return tree.size


def _forked(earlier: Checkpoint, present: Checkpoint, why: str) -> CantrailError:
    return _fault(
        "ledger_forked",
        f"The ledger was rewritten: you hold {earlier.size} entries with the root {earlier.root.hex()}, the registry now "
        f"shows {present.size} with the root {present.root.hex()}, and {why}.",
    )


def _key_changed(pinned: VerifierKey, named: str) -> CantrailError:
    return _fault(
        "ledger_key_changed",
        f"The registry signs with another key than the one that you go by: now {named.strip()[:300]!r}, "
        f"before {pinned.text!r}. Ask whoever runs it why, by another way than its own pages.",
    )


def _fault(code: str, message: str) -> CantrailError:
    return CantrailError(Kind.CONFLICT, code, message)
