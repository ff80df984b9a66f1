"""The ledger looked through from its first entry: each entry by itself, its rows of the index, and the tree over all."""

import json
from collections.abc import Iterator
from typing import Any, Final

import msgspec
import rfc8785

from app.core import entries
from app.core.entries import Entry
from app.core.merkle import EMPTY_ROOT, HASH_SIZE, Tree, leaf_hash
from app.persistence import auditing
from app.persistence.auditing import StoredEntry, Strays
from app.persistence.session import AnySession
from app.services.findings import Findings, Progress
from app.services.verifying_accounts import Trust

_FILES: Final = frozenset({"text_sha256"})
"""Members that name a file by its hash, and not a text."""


class LedgerSeen:
    """What the whole ledger came to: its size, its root, the root at each size that was asked for, the texts that it
    names, whom it trusts, and whether its entries can be replayed at all."""

    def __init__(self, sizes: set[int]) -> None:
        self.size = 0
        self.root = EMPTY_ROOT
        self.roots: dict[int, bytes] = {0: EMPTY_ROOT}
        self.texts: dict[str, int] = {}
        self.trust = Trust()
        self.readable = True
        self._sizes = sizes

    def note(self, tree: Tree) -> None:
        """Remember the tree's root where it is wanted."""
        if tree.size in self._sizes:
            self.roots[tree.size] = tree.root()


class LedgerCheck:
    """Goes through the ledger once."""

    def __init__(self, session: AnySession, sizes: set[int]) -> None:
        self.entries = Findings("entries")
        self.tree = Findings("tree")
        self.head = Findings("head")
        self.seen = LedgerSeen(sizes)
        self._session = session
        self._tree = Tree()
        self._last_at: Any = ""
        self._unbroken = True

    def run(self, progress: Progress) -> None:
        """Look at everything. Raises `storage_damaged` where it cannot be read."""
        heads = auditing.heads(self._session)
        of = heads[0][1] if heads and isinstance(heads[0][1], int) else 0
        strays = Strays([], [])
        for some in auditing.stored_entries(self._session, strays):
            for each in some:
                self._look(each)
            progress("entries", self.entries.looked_at, max(of, self.entries.looked_at))
        for stream, seq in strays.streams:
            self.entries.add(f"stream {_short(stream)}", f"it has entry {_short(seq)}, which is not there")
        for seq, level in strays.nodes:
            self.tree.add(f"node {_short(level)} at {_short(seq)}", "it belongs to no entry")
        self.seen.root = self._tree.root()
        self._look_at_head(heads)

    def _look(self, row: StoredEntry) -> None:
        self.entries.looked_at += 1
        where = f"entry {_short(row.seq)}"
        if row.seq != self.seen.size + 1:
            self.entries.add(where, f"it follows entry {self.seen.size}: what stood between is gone")
            self.seen.readable = self._unbroken = False
        self.seen.size = row.seq if isinstance(row.seq, int) else self.seen.size + 1
        entry, faults = read(row)
        if entry is None:
            self.seen.readable = False
        else:
            self.seen.trust.follow(entry)
        for fault in faults:
            self.entries.add(where, fault)
        if _is_before(row.at, self._last_at):
            self.entries.add(where, "it is earlier than the entry before it")
        self._last_at = row.at
        for name in _texts(row.body):
            self.seen.texts.setdefault(name, self.seen.size)
        self._grow(row)

    def _grow(self, row: StoredEntry) -> None:
        if not self._unbroken:
            return
        leaf = leaf_hash(row.body) if isinstance(row.body, bytes) else bytes(HASH_SIZE)
        expected = dict(self._tree.add(leaf))
        self.seen.note(self._tree)
        self.tree.looked_at += len(expected)
        for level in expected.keys() | row.nodes.keys():
            where = f"node {_short(level)} at {row.seq}"
            if level not in row.nodes:
                self.tree.add(where, "it is not stored")
            elif level not in expected:
                self.tree.add(where, "there is no such node in the tree")
            elif row.nodes[level] != expected[level]:
                self.tree.add(where, "it is not the hash of what is below it")

    def _look_at_head(self, heads: list[tuple[Any, ...]]) -> None:
        self.head.looked_at = len(heads)
        wanted = (1, self.seen.size, self._last_at)
        if [row[:3] for row in heads] != [wanted]:
            self.head.add("ledger_head", f"it should say {wanted[1:]}, and holds {_short([row[1:3] for row in heads])}")
        # Where there are none, the next entry finds them in the tree.
        if self._unbroken and any(row[3] not in {None, self._tree.tops()} for row in heads):
            self.head.add(
                "ledger_head", "its tops are not those of the tree, and the next entry would not be joined to it"
            )


def read(row: StoredEntry) -> tuple[Entry | None, list[str]]:
    """The entry that a row's body is, if it can be read, and all that is wrong with the row."""
    faults: list[str] = []
    if not isinstance(row.body, bytes):
        return None, ["its body is not bytes"]
    if leaf_hash(row.body) != row.leaf_hash:
        faults.append("its body does not hash to its leaf hash")
    if not _is_canonical(row.body):
        faults.append("its body is not canonical JSON")
    try:
        entry = entries.read(row.body)
    except (msgspec.MsgspecError, ValueError, RecursionError) as error:
        return None, [*faults, f"its body cannot be read as an entry: {error}"]
    said = {
        "seq": entry.seq,
        "at": entry.at,
        "actor": entry.actor,
        "type": entry.payload.type,
        "version": entry.payload.version,
    }
    faults.extend(
        f"its column {name} has {_short(getattr(row, name))}, its body {_short(value)}"
        for name, value in said.items()
        if getattr(row, name) != value
    )
    faults.extend(f"it is not in the stream {each}" for each in sorted(set(entry.streams) - row.streams))
    faults.extend(
        f"it is in the stream {_short(each)}, which it does not name" for each in row.streams - set(entry.streams)
    )
    return entry, faults


def _is_canonical(body: bytes) -> bool:
    try:
        return rfc8785.dumps(json.loads(body)) == body
    except (ValueError, RecursionError):
        return False


def _is_before(at: Any, last: Any) -> bool:
    return isinstance(at, str) and isinstance(last, str) and at < last


def _texts(body: Any) -> Iterator[str]:
    """The hashes of the texts that an entry names."""
    try:
        yield from _named(msgspec.json.decode(body).get("payload"))
    except (msgspec.MsgspecError, ValueError, TypeError, AttributeError, RecursionError):
        # What cannot be read has been told of already.
        return


def _named(value: Any) -> Iterator[str]:
    if isinstance(value, dict):
        for name, member in value.items():
            if name.endswith("_sha256") and name not in _FILES and isinstance(member, str):
                yield member
            else:
                yield from _named(member)
    elif isinstance(value, list):
        for item in value:
            yield from _named(item)


def _short(value: Any) -> str:
    shown = repr(value)
    return shown if len(shown) <= 80 else f"{shown[:79]}…"
