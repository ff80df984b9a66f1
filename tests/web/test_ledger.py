"""What the ledger shows to those who check it, checked as they would."""

import json
from hashlib import sha256
from typing import Any, Final

import pytest
import rfc8785

from app.adapters.signing_key import verifies
from app.bootstrap import Registry
from app.core.checkpoint import checkpoint_in
from app.core.errors import CantrailError, Kind
from app.core.merkle import Tree, consistency_holds, inclusion_holds, leaf_hash
from app.core.signed_note import is_signed_by, parsed, verifier_key
from tests.conftest import DATABASES
from tests.persistence.tampering import lose, set_entry, unguard
from tests.web.people import People
from tests.web.story import API, Trade
from tests.web.talking import Client

LEDGER = f"{API}/ledger"
on_both = pytest.mark.parametrize("database_url", DATABASES, indirect=True)


@pytest.fixture
def database_url(request: pytest.FixtureRequest) -> str:
    """The address of an empty registry: on SQLite, where a test does not say that it is for both."""
    return str(request.getfixturevalue(f"{getattr(request, 'param', 'sqlite')}_url"))


@pytest.fixture
def head(registry: Registry, client: Client, people: People) -> int:
    """A registry in which something has happened; how many entries it has."""
    Trade(client, people)
    return registry.database.probe()


def read(client: Client, path: str, **query: Any) -> Any:
    answer = client.get(f"{LEDGER}{path}", params=query)
    assert answer.status_code == 200, answer.text
    return answer.json()


def every_entry(client: Client) -> list[Any]:
    found: list[Any] = []
    after: str | None = "0"
    while after is not None:
        page = read(client, "/entries", after=after, limit=20)
        found += page["items"]
        after = page["next"]
    return found


@on_both
def test_an_outsider_can_work_the_signed_root_out_from_the_entries(client: Client, head: int) -> None:
    tree = Tree()
    for seq, each in enumerate(every_entry(client), start=1):
        body = rfc8785.dumps(each["entry"])
        assert each["entry"]["seq"] == seq
        assert each["leaf_hash"] == sha256(b"\0" + body).hexdigest()
        tree.add(leaf_hash(body))
    answer = client.get(f"{LEDGER}/checkpoint")
    assert answer.headers["content-type"] == "text/plain; charset=utf-8"
    note = parsed(answer.text)
    found = checkpoint_in(note.text)
    key = read(client, "/key")
    assert (found.origin, found.size, found.root) == (key["origin"], head, tree.root())
    assert is_signed_by(note, verifier_key(key["key"]), verifies)
    assert key["key"].split("+")[1] == key["id"]
    assert client.get(f"{LEDGER}/checkpoint").text == answer.text


@on_both
def test_entries_are_sent_as_the_bytes_that_are_stored(registry: Registry, client: Client, head: int) -> None:
    answer = client.get(f"{LEDGER}/entries", params={"after": head - 1})
    shown = json.loads(answer.text)["items"][0]["entry"]
    assert rfc8785.dumps(shown) in answer.content
    assert read(client, "/entries", after=head) == {"items": [], "next": None, "head": head}
    assert read(client, "/entries", after=2**31 - 1)["items"] == []


def test_every_inclusion_proof_holds(client: Client, head: int) -> None:
    for seq in range(1, head + 1):
        for size in {seq, head}:
            told = read(client, "/proof/inclusion", seq=seq, size=size)
            assert inclusion_holds(
                index=seq - 1,
                size=told["size"],
                leaf=bytes.fromhex(told["leaf_hash"]),
                proof=[bytes.fromhex(each) for each in told["hashes"]],
                root=bytes.fromhex(told["root"]),
            )
    assert read(client, "/proof/inclusion", seq=1) == read(client, "/proof/inclusion", seq=1, size=head)


def test_every_consistency_proof_holds(client: Client, head: int) -> None:
    for earlier in range(1, head + 1):
        told = read(client, "/proof/consistency", **{"from": earlier, "to": head})
        assert (told["from"], told["to"]) == (earlier, head)
        assert consistency_holds(
            earlier=earlier,
            earlier_root=bytes.fromhex(told["from_root"]),
            size=head,
            root=bytes.fromhex(told["to_root"]),
            proof=[bytes.fromhex(each) for each in told["hashes"]],
        )
    assert read(client, "/proof/consistency", **{"from": 3}) == read(
        client, "/proof/consistency", **{"from": 3, "to": head}
    )


NONSENSE: Final[list[tuple[str, dict[str, Any], str, str | None]]] = [
    ("/proof/inclusion", {}, "/seq", "missing"),
    ("/proof/inclusion", {"seq": 0}, "/seq", None),
    ("/proof/inclusion", {"seq": 9999}, "/seq", "no_such_entry"),
    ("/proof/inclusion", {"seq": 3, "size": 2}, "/seq", "no_such_entry"),
    ("/proof/inclusion", {"seq": 1, "size": 9999}, "/size", "no_such_size"),
    ("/proof/inclusion", {"seq": 1, "size": 2**40}, "/size", None),
    ("/proof/inclusion", {"seq": "one"}, "/seq", None),
    ("/proof/consistency", {}, "/from", "missing"),
    ("/proof/consistency", {"from": 9999}, "/from", "no_such_size"),
    ("/proof/consistency", {"from": 3, "to": 2}, "/from", "no_such_size"),
    ("/proof/consistency", {"from": 1, "to": 9999}, "/to", "no_such_size"),
    ("/entries", {"after": -1}, "/after", None),
    ("/entries", {"limit": 201}, "/limit", None),
    ("/entries", {"cursor": 1}, "/cursor", "unknown_member"),
]


def test_what_makes_no_sense_is_refused(client: Client, head: int) -> None:
    for path, query, pointer, code in NONSENSE:
        answer = client.get(f"{LEDGER}{path}", params=query)
        assert answer.status_code == 422, (path, query, answer.text)
        (fault,) = answer.json()["errors"]
        assert fault["pointer"] == pointer, (path, query)
        assert code in {None, fault["code"]}, (path, query)


def test_a_damaged_entry_is_not_shown_as_if_it_were_one(registry: Registry, client: Client, head: int) -> None:
    unguard(registry.database)
    set_entry(registry.database, 3, body=b"{")
    answer = client.get(f"{LEDGER}/entries")
    assert (answer.status_code, answer.json()["code"]) == (503, "ledger_damaged")
    assert "entry 3" in answer.json()["detail"]


def test_without_a_key_nothing_is_signed(registry: Registry, client: Client, head: int) -> None:
    registry.settings.signing_key.unlink()
    for path in ("/key", "/checkpoint"):
        answer = client.get(f"{LEDGER}{path}")
        assert (answer.status_code, answer.json()["code"]) == (503, "no_signing_key")


@on_both
def test_a_ledger_cut_short_is_read_and_not_written(
    registry: Registry, client: Client, people: People, head: int
) -> None:
    assert client.get("/readyz").json() == {"status": "ready"}
    client.get(f"{LEDGER}/checkpoint")
    lose(registry.database, head - 2)
    registry.checkpoints.guard()
    body = {"name": "Orrin Works", "kind": "vehicle_maker"}
    refused = client.post(f"{API}/publishers", json=body, headers=people["contributor"])
    assert (refused.status_code, refused.json()["code"]) == (503, "ledger_cut_short")
    assert "docs/running.md" in refused.json()["detail"]
    ready = client.get("/readyz")
    assert (ready.status_code, ready.json()["code"]) == (503, "ledger_cut_short")
    assert client.get("/healthz").status_code == 200
    assert client.get(f"{API}/publishers").status_code == 200
    checkpoint = client.get(f"{LEDGER}/checkpoint")
    assert (checkpoint.status_code, checkpoint.json()["code"]) == (503, "ledger_cut_short")


def test_readiness_tells_of_a_place_that_fails(registry: Registry, client: Client, head: int) -> None:
    client.get(f"{LEDGER}/checkpoint")
    registry.settings.checkpoint.write_text("something else")
    told = client.get("/readyz")
    assert told.status_code == 200
    (warning,) = told.json()["warnings"]
    assert str(registry.settings.checkpoint) in warning


def test_a_refusal_is_told_each_time_anew(registry: Registry, head: int) -> None:
    registry.database.refuse_writes(CantrailError(Kind.UNAVAILABLE, "ledger_cut_short", "Lost."))
    for _ in range(2):
        with pytest.raises(CantrailError, match="Lost"), registry.database.write():
            pass
