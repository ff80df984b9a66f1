"""An outsider who keeps only the last checkpoint sees every rewriting, and exactly what it is."""

import json
from collections.abc import Callable, Iterator
from pathlib import Path

import httpx
import msgspec
import pytest

from app.adapters.checkpoint_file import CheckpointFile
from app.adapters.ledger_client import LARGE, SMALL, HttpLedger
from app.adapters.signing_key import FileSigningKey, Verifier
from app.core.checkpoint import Checkpoint
from app.core.errors import CantrailError, Kind
from app.core.signed_note import Note, Signature, VerifierKey, formatted, verifier_key
from app.persistence import ledger, tree
from app.persistence.session import Database
from app.services import proofs
from app.services.checkpoints import Checkpoints
from app.services.following import Followed, Pinned, follow, held_against, pinned_in
from tests.persistence.tampering import lose
from tests.persistence.test_ledger import add

SIZE = 11


class Told:
    """A registry that answers over HTTP, from its database or with whatever a test puts in its place."""

    def __init__(self, database: Database, key: FileSigningKey) -> None:
        self.database = database
        self.key = key
        self.says: dict[str, httpx.Response] = {}
        self.asked: list[str] = []

    def note(self, size: int | None = None, root: bytes | None = None) -> str:
        with self.database.read() as session:
            of = ledger.head(session) if size is None else size
            over = root or tree.root(session, size=of)
        name = self.key.verifier()
        text = Checkpoint(name.name, of, over).text
        return formatted(Note(text, (Signature(name.name, name.id, self.key.sign(text.encode())),)))

    def __call__(self, request: httpx.Request) -> httpx.Response:
        answer = self.answer(request)
        # As it would come over a wire: nothing of it is read yet.
        return httpx.Response(answer.status_code, headers=answer.headers, stream=httpx.ByteStream(answer.content))

    def answer(self, request: httpx.Request) -> httpx.Response:
        self.asked.append(request.url.path)
        path = request.url.path.removeprefix("/roofs/api/v1/ledger")
        if path in self.says:
            return self.says[path]
        query = {name: int(value) for name, value in request.url.params.items()}
        with self.database.read() as session:
            match path:
                case "/checkpoint":
                    return httpx.Response(200, text=self.note())
                case "/key":
                    return httpx.Response(200, json={"key": self.key.verifier().text})
                case "/entries":
                    shown = proofs.stored_entries(session, after=query["after"], limit=3)
                    return httpx.Response(200, content=msgspec.json.encode(shown))
                case "/proof/consistency":
                    proof = proofs.consistency(session, earlier=query["from"], size=query["to"])
                    return httpx.Response(200, content=msgspec.json.encode(proof))
        return httpx.Response(404)


@pytest.fixture
def told(database: Database, tmp_path: Path) -> Told:
    key = FileSigningKey(tmp_path / "key")
    key.make("roofs.example.org")
    for number in range(SIZE):
        add(database, f"p{number}")
    return Told(database, key)


Look = Callable[..., Followed]


@pytest.fixture
def look(told: Told) -> Iterator[Look]:
    remote = HttpLedger("https://registry.test/roofs/", transport=httpx.MockTransport(told))

    def looked(kept: Pinned | None = None, *, key: VerifierKey | None = None, entries: bool = False) -> Followed:
        return follow(remote, kept, key=key, by=Verifier(), entries=entries)

    yield looked
    remote.close()


def refused(look: Look, code: str, kept: Pinned | None, *, entries: bool = False, kind: Kind = Kind.CONFLICT) -> str:
    with pytest.raises(CantrailError) as error:
        look(kept, entries=entries)
    assert (error.value.kind, error.value.code) == (kind, code), error.value.message
    return error.value.message


def test_the_first_look_pins_the_key_and_the_next_goes_on_from_it(told: Told, look: Look) -> None:
    first = look()
    assert (first.earlier, first.present.size, first.keep.key) == (None, SIZE, told.key.verifier())
    assert pinned_in(first.keep.text, None) == first.keep
    for number in range(5):
        add(told.database, f"more-{number}")
        seen = look(first.keep)
        assert (seen.earlier, seen.present.size) == (first.present, SIZE + number + 1)
    assert look(seen.keep).present == seen.present
    assert look(seen.keep, entries=True).hashed == SIZE + 5
    assert "/roofs/api/v1/ledger/entries" in told.asked


def test_a_key_from_elsewhere_is_gone_by(told: Told, look: Look, tmp_path: Path) -> None:
    assert look(key=told.key.verifier()).present.size == SIZE
    assert "/roofs/api/v1/ledger/key" not in told.asked
    other = FileSigningKey(tmp_path / "other")
    other.make("roofs.example.org")
    with pytest.raises(CantrailError) as error:
        look(key=other.verifier())
    assert error.value.code == "ledger_key_changed"


def test_entries_that_are_gone_are_told(told: Told, look: Look) -> None:
    kept = look().keep
    lose(told.database, SIZE - 4)
    message = refused(look, "ledger_truncated", kept)
    assert f"shows {SIZE - 4} entries" in message
    assert "4 entries are gone" in message


@pytest.mark.parametrize("more", [0, 1, 6], ids=["as long", "one longer", "longer"])
def test_a_tail_written_anew_is_told(told: Told, look: Look, more: int) -> None:
    kept = look().keep
    lose(told.database, SIZE - 4)
    for number in range(4 + more):
        add(told.database, f"other-{number}")
    message = refused(look, "ledger_forked", kept)
    assert "was rewritten" in message
    assert ("two roots for one size" in message) is (more == 0)


def test_a_fork_with_the_proof_of_the_genuine_ledger_is_told(told: Told, look: Look) -> None:
    kept = look().keep
    add(told.database, "one more")
    with told.database.read() as session:
        proof = msgspec.json.encode(proofs.consistency(session, earlier=SIZE, size=SIZE + 1))
    told.says["/proof/consistency"] = httpx.Response(200, content=proof)
    told.says["/checkpoint"] = httpx.Response(200, text=told.note(SIZE + 1, b"r" * 32))
    refused(look, "ledger_forked", kept)


def test_another_key_and_a_bad_signature_are_told_apart(told: Told, look: Look, tmp_path: Path) -> None:
    kept = look().keep
    note = told.note()
    broken = note.replace(f"\n{SIZE}\n", f"\n{SIZE + 1}\n")
    told.says["/checkpoint"] = httpx.Response(200, text=broken)
    assert "not signed by its key" in refused(look, "bad_signature", kept)
    told.says.clear()
    told.key = FileSigningKey(tmp_path / "new-key")
    told.key.make("roofs.example.org")
    message = refused(look, "ledger_key_changed", kept)
    assert kept.key.text in message
    assert told.key.verifier().text in message


def test_what_was_kept_is_checked_too(told: Told, look: Look) -> None:
    kept = look().keep
    refused(look, "bad_signature", Pinned(kept.key, kept.note.replace(f"\n{SIZE}\n", "\n3\n")))


def test_entries_that_do_not_give_the_root_are_told(told: Told, look: Look) -> None:
    with told.database.read() as session:
        shown = json.loads(msgspec.json.encode(proofs.stored_entries(session, after=0, limit=SIZE)))

    def gives(items: list[object]) -> None:
        told.says["/entries"] = httpx.Response(200, json={"items": items, "next": None, "head": SIZE})

    changed = json.loads(json.dumps(shown["items"]))
    changed[4]["entry"]["actor"] = "somebody else"
    gives(changed)
    assert "hash to the root" in refused(look, "ledger_forked", None, entries=True)
    gives([*shown["items"][:4], *shown["items"][5:]])
    assert "entry 6 where entry 5 belongs" in refused(look, "ledger_forked", None, entries=True)
    gives([])
    assert "gives 0 entries" in refused(look, "ledger_truncated", None, entries=True)


@pytest.mark.parametrize(
    ("path", "answer", "code"),
    [
        ("/checkpoint", httpx.Response(200, text="nothing of the kind"), "bad_signature"),
        ("/checkpoint", httpx.Response(200, content=b"\xff\xfe"), "registry_nonsense"),
        ("/checkpoint", httpx.Response(200, content=b"x" * (SMALL + 1)), "registry_nonsense"),
        ("/checkpoint", httpx.Response(302, headers={"Location": "https://elsewhere.test/"}), "registry_refused"),
        ("/checkpoint", httpx.Response(503), "registry_refused"),
        ("/checkpoint", httpx.Response(200, content=b"", headers={"Content-Encoding": "gzip"}), "registry_nonsense"),
        ("/proof/consistency", httpx.Response(200, json={"hashes": ["zz"]}), "registry_nonsense"),
        ("/proof/consistency", httpx.Response(200, json={"hashes": ["00" * 31]}), "registry_nonsense"),
        ("/proof/consistency", httpx.Response(200, json={"hashes": ["00" * 32] * 65}), "registry_nonsense"),
        ("/proof/consistency", httpx.Response(200, json={"hashes": []}), "ledger_forked"),
        ("/proof/consistency", httpx.Response(200, json=[]), "registry_nonsense"),
        ("/proof/consistency", httpx.Response(200, content=b"[" * 5000), "registry_nonsense"),
        ("/entries", httpx.Response(200, json={"items": [{"entry": {"seq": "1"}}]}), "registry_nonsense"),
        ("/entries", httpx.Response(200, json={"items": [{"entry": {"seq": 2**40}}]}), "registry_nonsense"),
        ("/entries", httpx.Response(200, json={"items": [{"entry": {"seq": 1, "n": 2**60}}]}), "registry_nonsense"),
        ("/entries", httpx.Response(200, content=b'{"items":[' + b" " * LARGE + b"]}"), "registry_nonsense"),
    ],
)
def test_a_hostile_registry_is_refused(told: Told, look: Look, path: str, answer: httpx.Response, code: str) -> None:
    kept = look().keep
    add(told.database, "one more")
    told.says[path] = answer
    with pytest.raises(CantrailError) as error:
        look(kept, entries=True)
    assert error.value.code == code
    assert error.value.kind in {Kind.CONFLICT, Kind.UNAVAILABLE}


def test_a_registry_that_does_not_answer_is_told(look: Look) -> None:
    def fail(request: httpx.Request) -> httpx.Response:
        raise httpx.ConnectError("refused")

    remote = HttpLedger("http://registry.test", transport=httpx.MockTransport(fail))
    with pytest.raises(CantrailError, match="cannot be asked") as error:
        remote.checkpoint()
    assert error.value.code == "registry_unreachable"
    remote.close()


def test_a_registry_that_trickles_is_given_up(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("app.adapters.ledger_client.WHOLE_S", 0.0)
    trickle = httpx.MockTransport(lambda _: httpx.Response(200, content=iter([b"a", b"b"])))
    remote = HttpLedger("http://registry.test", transport=trickle)
    with pytest.raises(CantrailError, match="had not answered in full"):
        remote.checkpoint()
    remote.close()


@pytest.mark.parametrize(
    "address", ["", "ftp://a", "https://", "https://a?b=c", "https://a#b", "https://me:word@a", "http://[::1"]
)
def test_an_address_that_is_none_is_refused(address: str) -> None:
    with pytest.raises(CantrailError) as error:
        HttpLedger(address)
    assert error.value.code == "bad_address"


# A kept checkpoint against the registry here


def test_a_kept_checkpoint_is_held_against_the_ledger_here(told: Told, tmp_path: Path) -> None:
    checkpoints = Checkpoints(told.database, told.key, CheckpointFile(tmp_path / "checkpoint"))
    kept = pinned_in(checkpoints.publish(), told.key.verifier())
    add(told.database, "one more")
    with told.database.read() as session:
        assert held_against(session, kept, told.key).size == SIZE
    lose(told.database, SIZE - 1)
    add(told.database, "another")
    with told.database.read() as session, pytest.raises(CantrailError, match="lost or rewritten since") as error:
        held_against(session, kept, told.key)
    assert error.value.code == "ledger_forked"
    other = FileSigningKey(tmp_path / "other")
    other.make("roofs.example.org")
    with told.database.read() as session, pytest.raises(CantrailError) as changed:
        held_against(session, kept, other)
    assert changed.value.code == "ledger_key_changed"


def test_a_file_says_whose_key_it_goes_by(told: Told, tmp_path: Path) -> None:
    key, note = told.key.verifier(), told.note()
    assert pinned_in(note, key) == pinned_in(f"{key.text}\n{note}", key) == Pinned(key, note)
    with pytest.raises(CantrailError, match="Name the registry's key"):
        pinned_in(note, None)
    other = FileSigningKey(tmp_path / "other")
    other.make("x")
    with pytest.raises(CantrailError, match="the one kept is"):
        pinned_in(f"{key.text}\n{note}", other.verifier())
    assert verifier_key(key.text) == key
