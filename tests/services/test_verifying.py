"""Whatever is flipped, cut out or slipped in is told; a registry that is well is told to be well, also while it is
written."""

import shutil
import tempfile
from collections.abc import Callable
from pathlib import Path
from threading import Event, Thread

import pytest
from sqlalchemy import delete, insert, text, update
from sqlmodel import select

from app.adapters.checkpoint_file import CheckpointFile
from app.adapters.evidence_store import FolderEvidenceStore
from app.adapters.signing_key import FileSigningKey
from app.core.account_entries import OPERATOR, RoleGiven
from app.core.merkle import leaf_hash
from app.core.permissions import Role
from app.persistence.auditing import StoredEntry, Strays, stored_entries, table_rows
from app.persistence.base import table_of
from app.persistence.engines import sqlite_connection
from app.persistence.models import Account, HeldText, LedgerHead, LedgerNode, LedgerStream
from app.persistence.projection import PROJECTED
from app.persistence.replaying import replayed
from app.persistence.session import Database
from app.services import accounts, governing, taking_down, verifying
from app.services.checkpoints import Checkpoints
from app.services.findings import Findings, nothing_told
from app.services.inputs import NewTakedown
from app.services.verifying import Report
from app.services.verifying_ledger import read
from app.services.verifying_tables import _compare_table, compare
from tests.persistence.story import whole_life
from tests.persistence.tampering import (
    entry_of,
    first_row,
    flipped,
    lawless,
    lose,
    set_column,
    set_entry,
    stored_body,
    unguard,
)
from tests.services.trade import PEOPLE, Trade

At = Callable[[Database], Checkpoints]


@pytest.fixture
def checkpoints_at(tmp_path: Path) -> At:
    """The checkpoints of a database, in two files."""
    key = FileSigningKey(tmp_path / "signing-key")
    key.make("roofs.example.org")
    places = CheckpointFile(tmp_path / "checkpoint"), CheckpointFile(tmp_path / "copy")
    return lambda database: Checkpoints(database, key, *places)


@pytest.fixture
def checkpoints(database: Database, checkpoints_at: At) -> Checkpoints:
    return checkpoints_at(database)


@pytest.fixture
def kept(trade: Trade, checkpoints: Checkpoints) -> Checkpoints:
    """A registry in which something has happened, with a checkpoint that was published along the way."""
    entrust(trade)
    trade.dispute("other writer", trade.approve(trade.claim()))
    checkpoints.publish()
    trade.claim(paper=trade.paper())
    return checkpoints


def entrust(trade: Trade) -> None:
    """Tell the ledger what everybody is trusted with."""
    with trade.database.write() as session:
        for name, role in PEOPLE.items():
            accounts.set_role(session, name=name, role=role, now=trade.now)


def verify(trade: Trade, checkpoints: Checkpoints) -> Report:
    return verifying.verify(trade.database, trade.store, checkpoints)


def wrong(report: Report) -> dict[str, list[str]]:
    """What is wrong, by check, as sentences."""
    assert report.fine is not any(check.wrong for check in report.checks)
    return {
        check.name: [f"{each.where}: {each.what}" for each in check.findings] for check in report.checks if check.wrong
    }


def test_a_registry_that_is_well_is_told_to_be_well(trade: Trade, kept: Checkpoints) -> None:
    told: list[tuple[str, int, int]] = []
    report = verifying.verify(trade.database, trade.store, kept, lambda *each: told.append(each))
    assert wrong(report) == {}
    assert report.fine
    assert report.size == trade.database.probe()
    looked_at = {check.name: check.looked_at for check in report.checks}
    assert looked_at["entries"] == report.size
    assert looked_at["checkpoints"] == 2
    assert looked_at["evidence"] >= 2
    assert min(looked_at[name] for name in ("database", "tree", "head", "tables", "accounts", "texts")) >= 1
    assert {what for what, done, of in told if done == of} >= {"entries", "replay", "tables", "texts", "evidence"}


def test_verifying_leaves_nothing_behind(
    trade: Trade, kept: Checkpoints, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    scratch = tmp_path / "scratch"
    scratch.mkdir()
    monkeypatch.setattr(tempfile, "tempdir", str(scratch))
    before = rows_of(trade.database)
    assert verify(trade, kept).fine
    assert rows_of(trade.database) == before
    assert list(scratch.iterdir()) == []


# Entries


def rows_of(database: Database) -> list[StoredEntry]:
    with database.read() as session:
        return [each for some in stored_entries(session, Strays([], [])) for each in some]


def test_every_bit_of_an_entry_is_told(database: Database) -> None:
    whole_life(database)
    rows = rows_of(database)
    for row in (rows[0], rows[len(rows) // 2], rows[-1]):
        assert read(row)[1] == []
        for bit in range(len(row.body) * 8):
            body = bytearray(row.body)
            body[bit // 8] ^= 1 << bit % 8
            assert read(row._replace(body=bytes(body)))[1], bit
        for bit in range(256):
            hash = bytearray(row.leaf_hash)
            hash[bit // 8] ^= 1 << bit % 8
            assert read(row._replace(leaf_hash=bytes(hash)))[1], bit
    for row in rows:
        for column in ("seq", "at", "actor", "type", "version"):
            assert read(row._replace(**{column: flipped(getattr(row, column))}))[1], column
        assert read(row._replace(streams=set()))[1]
        assert read(row._replace(streams={*row.streams, "vehicle:other"}))[1]


def test_a_bit_flipped_in_a_stored_body_is_told_by_its_number(trade: Trade, kept: Checkpoints) -> None:
    unguard(trade.database)
    body = bytearray(stored_body(trade.database, 5))
    body[-3] ^= 2
    set_entry(trade.database, 5, body=bytes(body))
    found = wrong(verify(trade, kept))
    assert any(each.startswith("entry 5: its body does not hash") for each in found["entries"])
    assert found["tree"]
    assert all("first" in each for each in found["checkpoints"])


def test_an_entry_rewritten_with_its_own_hash_is_told_by_the_tree(trade: Trade, kept: Checkpoints) -> None:
    unguard(trade.database)
    body = stored_body(trade.database, 2).replace(b"Orrin", b"Arrin")
    set_entry(trade.database, 2, body=body, leaf_hash=leaf_hash(body))
    assert entry_of(trade.database, 2)
    found = wrong(verify(trade, kept))
    assert "entries" not in found
    assert found["tree"][0].startswith("node 1 at 2:")
    assert found["tables"]
    assert found["checkpoints"]


@pytest.mark.parametrize(("column", "value"), [("at", "2020"), ("actor", "x"), ("type", "x"), ("version", 9)])
def test_a_column_of_an_entry_that_its_body_does_not_say_is_told(
    trade: Trade, kept: Checkpoints, column: str, value: object
) -> None:
    unguard(trade.database)
    set_entry(trade.database, 4, **{column: value})
    found = wrong(verify(trade, kept))
    assert any(f"its column {column}" in each for each in found["entries"])


def test_an_entry_cut_out_is_told(trade: Trade, kept: Checkpoints) -> None:
    unguard(trade.database)
    with trade.database.write() as session:
        session.connection().exec_driver_sql("DELETE FROM ledger_entry WHERE seq = 6")
    found = wrong(verify(trade, kept))
    assert "entry 7: it follows entry 5: what stood between is gone" in found["entries"]
    assert any("entry 6, which is not there" in each for each in found["entries"])
    assert "not compared" in found["tables"][0]


def test_the_last_entries_cut_off_are_told(trade: Trade, kept: Checkpoints) -> None:
    unguard(trade.database)
    with trade.database.write() as session:
        session.connection().exec_driver_sql(f"DELETE FROM ledger_entry WHERE seq = {trade.database.probe()}")
    found = wrong(verify(trade, kept))
    assert found["head"]
    assert found["entries"]
    assert found["tables"]


def test_a_stream_s_row_that_is_gone_wrong_or_added_is_told(trade: Trade, kept: Checkpoints) -> None:
    unguard(trade.database)
    stream = table_of(LedgerStream)
    last = trade.database.probe()
    with trade.database.write() as session:
        session.connection().execute(delete(stream).where(stream.c.seq == 3))
        session.connection().execute(update(stream).where(stream.c.seq == 4).values(stream="x"))
        session.connection().execute(
            insert(stream), [{"stream": "vehicle:y", "seq": 5}, {"stream": "z", "seq": last + 9}]
        )
    found = wrong(verify(trade, kept))
    assert set(found) == {"entries"}
    told = " ".join(found["entries"])
    for part in (
        "entry 3: it is not in",
        "entry 4: it is in the stream 'x'",
        "'vehicle:y'",
        f"entry {last + 9}, which",
    ):
        assert part in told


def test_a_node_that_is_gone_wrong_or_added_is_told(trade: Trade, kept: Checkpoints) -> None:
    unguard(trade.database)
    node = table_of(LedgerNode)
    with trade.database.write() as session:
        lawless(session)
        connection = session.connection()
        connection.execute(delete(node).where(node.c.seq == 2))
        connection.execute(update(node).where(node.c.seq == 4, node.c.level == 2).values(hash=b"x" * 32))
        connection.execute(insert(node), [{"seq": seq, "level": 1, "hash": b"y" * 32} for seq in (3, 9999)])
    found = wrong(verify(trade, kept))
    assert set(found) == {"tree"}
    assert sorted(each.partition(":")[0] for each in found["tree"]) == [
        "node 1 at 2",
        "node 1 at 3",
        "node 1 at 9999",
        "node 2 at 4",
    ]


def test_every_bit_of_the_head_is_told(trade: Trade, kept: Checkpoints) -> None:
    head = table_of(LedgerHead)
    with trade.database.read() as session:
        before = session.connection().execute(head.select()).one()
    for column in ("seq", "at", "tops"):
        with trade.database.write() as session:
            session.connection().execute(update(head).values({column: flipped(before._mapping[column])}))
        assert set(wrong(verify(trade, kept))) == {"head"}, column
        with trade.database.write() as session:
            session.connection().execute(update(head).values({column: before._mapping[column]}))
    assert verify(trade, kept).fine


# Tables


def streams_of(body: bytes) -> tuple[str, ...]:
    return verifying._streams_of(body)


def test_every_column_of_every_table_is_told(database: Database) -> None:
    """From the metadata: a table or a column that is new is among them."""
    whole_life(database)
    unguard(database)
    flips = 0
    with database.read() as session, replayed(session, streams_of, lambda *_: None) as replay:
        for row in PROJECTED:
            for column in table_of(row).c:
                found = Findings("tables")
                with pytest.raises(InterruptedError), database.write() as writing:
                    lawless(writing)
                    stored = first_row(writing, row)
                    set_column(writing, row, stored, column, flipped_of(stored[column.name], column))
                    _compare_table(found, row, table_rows(writing, row), table_rows(replay, row))
                    raise InterruptedError
                told = found.check().findings
                assert told, (row.__name__, column.name)
                assert told[0].where.startswith(table_of(row).name)
                assert column.primary_key or told[0].what.startswith(f"{column.name} is "), (row.__name__, column.name)
                flips += 1
        whole = Findings("tables")
        compare(whole, session, replay, nothing_told)
    assert whole.wrong == 0
    assert whole.looked_at > len(PROJECTED)
    assert flips > 100


def flipped_of(value: object, column: object) -> object:
    """A bit turned; where there was nothing, something of the column's own type, which PostgreSQL insists on."""
    numbers = {"INTEGER": 0, "BOOLEAN": True, "FLOAT": 0.0}
    return numbers.get(str(getattr(column, "type", "")), "0") if value is None else flipped(value)


def test_a_row_that_is_gone_or_added_is_told(trade: Trade, kept: Checkpoints) -> None:
    unguard(trade.database)
    with trade.database.write() as session:
        lawless(session)
        session.connection().exec_driver_sql("UPDATE publisher SET slug = 'zz' WHERE slug = 'pellwick'")
        session.connection().exec_driver_sql("UPDATE carrier SET maker = 'zz'")
    found = wrong(verify(trade, kept))
    assert set(found) == {"tables"}
    assert "publisher pellwick: the ledger gives this row, and it is not there" in found["tables"]
    assert "publisher zz: the ledger gives no such row" in found["tables"]


def test_a_ledger_that_cannot_be_replayed_is_told(trade: Trade, kept: Checkpoints) -> None:
    """An entry that is one by itself and goes on from nothing."""
    unguard(trade.database)
    body = stored_body(trade.database, 4).replace(b'"maker":"orrin"', b'"maker":"nobod"')
    assert body != stored_body(trade.database, 4)
    set_entry(trade.database, 4, body=body, leaf_hash=leaf_hash(body))
    found = wrong(verify(trade, kept))
    assert "cannot be replayed" in found["tables"][0]


# Who is trusted


def change_account(trade: Trade, name: str, **columns: object) -> str:
    """What somebody does who has the database and no role here. Gives the account's pseudonym."""
    account = table_of(Account)
    with trade.database.write() as session:
        session.connection().execute(update(account).where(account.c.name == name).values(**columns))
    return f"account {trade.account(name)}"


def test_a_role_that_nobody_gave_is_told(trade: Trade, kept: Checkpoints) -> None:
    raised = change_account(trade, "writer", role=Role.STEWARD)
    lowered = change_account(trade, "first", role=Role.CONTRIBUTOR)
    found = wrong(verify(trade, kept))
    assert found == {"accounts": found["accounts"]}
    assert set(found["accounts"]) == {
        f"{raised}: its role is 'steward'; by the ledger it is 'contributor'",
        f"{lowered}: its role is 'contributor'; by the ledger it is 'reviewer'",
    }


def test_an_account_enabled_or_disabled_by_nobody_is_told(trade: Trade, kept: Checkpoints) -> None:
    with trade.database.write() as session:
        accounts.disable(session, name="second", now=trade.now)
    assert wrong(verify(trade, kept)) == {}
    enabled = change_account(trade, "second", disabled_at=None)
    disabled = change_account(trade, "third", disabled_at=trade.now)
    assert set(wrong(verify(trade, kept))["accounts"]) == {
        f"{enabled}: by the ledger it is disabled",
        f"{disabled}: by the ledger it is not disabled",
    }


def test_an_account_that_is_gone_or_slipped_in_is_told(trade: Trade, kept: Checkpoints) -> None:
    account = table_of(Account)
    slipped_in = {"id": "a-0", "name": "nobody", "role": Role.REVIEWER, "created_at": trade.now}
    with trade.database.write() as session:
        session.connection().execute(delete(account).where(account.c.name == "fourth"))
        session.connection().execute(insert(account), [slipped_in])
    assert set(wrong(verify(trade, kept))["accounts"]) == {
        f"account {trade.account('fourth')}: the ledger trusts it, and it is not there",
        "account a-0: its role is 'reviewer'; by the ledger it is 'contributor'",
    }


def test_a_role_given_by_no_steward_is_told(trade: Trade, kept: Checkpoints) -> None:
    """Who has made themselves a steward in the table alone leaves entries that no steward could have made."""
    change_account(trade, "writer", role=Role.STEWARD)
    with trade.database.write() as session:
        rogue = accounts.named(session, "other writer")
        governing.set_role(session, rogue, Role.REVIEWER, actor=trade.account("writer"), now=trade.now)
    change_account(trade, "writer", role=Role.CONTRIBUTOR)
    assert wrong(verify(trade, kept)) == {
        "accounts": [f"entry {trade.database.probe()}: {trade.account('writer')} gave a role and was no steward"]
    }


def test_a_role_that_the_ledger_does_not_know_of_is_put_right_by_giving_it(trade: Trade, kept: Checkpoints) -> None:
    change_account(trade, "writer", role=Role.REVIEWER)
    for _ in range(2):
        with trade.database.write() as session:
            accounts.set_role(session, name="writer", role=Role.REVIEWER, now=trade.now)
    assert wrong(verify(trade, kept)) == {}
    last = entry_of(trade.database, trade.database.probe())
    assert (last.actor, last.payload) == (OPERATOR, RoleGiven(trade.account("writer"), Role.REVIEWER, None))
    assert not isinstance(entry_of(trade.database, trade.database.probe() - 1).payload, RoleGiven)


# Texts, evidence, the database itself


def test_a_text_that_is_changed_or_gone_is_told(trade: Trade, kept: Checkpoints) -> None:
    with trade.database.write() as session:
        first, second, *_ = session.exec(select(HeldText)).all()
        changed, gone = first.sha256, second.sha256
        first.content = f"{first.content}!"
        session.add(first)
        session.delete(second)
    found = wrong(verify(trade, kept))
    assert set(found) == {"texts"}
    assert f"text {changed}: it does not have this hash" in found["texts"]
    assert any(each.startswith(f"text {gone}: entry") for each in found["texts"])


@pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)
def test_a_text_that_is_no_text_is_told(trade: Trade, kept: Checkpoints) -> None:
    """SQLite holds bytes in a column of texts, and one bit of a row's header says which of the two they are. PostgreSQL
    has columns that hold texts alone."""
    with trade.database.write() as session:
        session.connection().exec_driver_sql("UPDATE text SET content = CAST(content || 'x' AS BLOB)")
    assert all("it does not have this hash" in each for each in wrong(verify(trade, kept))["texts"])


def test_a_text_that_was_taken_down_is_not_missed(trade: Trade, kept: Checkpoints) -> None:
    with trade.database.write() as session:
        text = session.exec(select(HeldText)).first()
        assert text is not None
        text.content, text.taken_down = None, "privacy"
        session.add(text)
    assert verify(trade, kept).fine


def test_every_bit_of_an_evidence_file_is_told(trade: Trade, kept: Checkpoints) -> None:
    file = next(path for path in sorted(trade.store._root.glob("*/*/*")) if path.is_file())
    content = file.read_bytes()
    for bit in range(len(content) * 8):
        damaged = bytearray(content)
        damaged[bit // 8] ^= 1 << bit % 8
        file.write_bytes(bytes(damaged))
        found = verifying._evidence(trade.database, trade.store, {file.name}, nothing_told)
        assert found.wrong == 1, bit
    assert set(wrong(verify(trade, kept))) == {"evidence"}
    file.write_bytes(content)
    assert verify(trade, kept).fine
    file.unlink()
    assert wrong(verify(trade, kept))["evidence"] == [f"file {file.name}: No file is held as {file.name!r}."]


def test_a_file_that_was_taken_down_is_not_missed(trade: Trade, kept: Checkpoints) -> None:
    paper = trade.paper()
    trade.do("steward", lambda work: taking_down.take_down(work, paper, NewTakedown("rights", "Asked for.")))
    with trade.database.read() as session:
        (digest,) = session.connection().execute(text(f"SELECT sha256 FROM document WHERE id = '{paper}'")).scalars()
    trade.store.remove(digest)
    assert verify(trade, kept).fine


def test_a_file_taken_down_while_it_is_looked_for_is_not_missed(trade: Trade, kept: Checkpoints) -> None:
    found = verifying._evidence(trade.database, trade.store, {"0" * 64}, nothing_told)
    assert found.wrong == 0


def test_what_sqlite_finds_wrong_is_told(sqlite_template: Path, tmp_path: Path, checkpoints_at: At) -> None:
    path = tmp_path / "registry.sqlite3"
    shutil.copyfile(sqlite_template, path)
    trade = Trade(Database(f"sqlite:///{path}"), tmp_path / "evidence")
    kept = checkpoints_at(trade.database)
    entrust(trade)
    assert verify(trade, kept).fine
    lawbreaker = sqlite_connection(str(path))
    lawbreaker.execute("PRAGMA foreign_keys = OFF")
    lawbreaker.execute("PRAGMA ignore_check_constraints = ON")
    lawbreaker.execute("UPDATE account SET role = 'king' WHERE name = 'third'")
    lawbreaker.execute(
        "INSERT INTO idempotency_key (account_id, key, request_sha256, status, body, created_at) "
        f"VALUES ('nobody', 'k', '{'0' * 64}', 200, x'00', '2026')"
    )
    lawbreaker.close()
    found = wrong(verify(trade, kept))
    assert set(found) == {"database", "accounts"}
    assert any("CHECK constraint failed in account" in each for each in found["database"])
    assert any(each.startswith("idempotency_key, row 1: it points at a row of account") for each in found["database"])
    trade.database.dispose()


# Checkpoints


def test_a_registry_that_lost_entries_is_told_by_what_was_published(trade: Trade, kept: Checkpoints) -> None:
    published = kept.kept()[0].checkpoint
    assert published is not None
    lose(trade.database, published.size - 2)
    found = wrong(verify(trade, kept))
    assert set(found) == {"checkpoints"}
    assert len(found["checkpoints"]) == 2
    assert f"published over {published.size} entries, and there are {published.size - 2}" in found["checkpoints"][0]


def test_a_tail_written_anew_is_told_although_all_else_agrees(trade: Trade, kept: Checkpoints) -> None:
    published = kept.kept()[0].checkpoint
    assert published is not None
    lose(trade.database, published.size - 2)
    while trade.database.probe() < published.size + 3:
        trade.paper()
    found = wrong(verify(trade, kept))
    assert set(found) == {"checkpoints"}
    assert f"the first {published.size} entries are not those" in found["checkpoints"][0]


def test_a_kept_checkpoint_that_is_damaged_is_told(trade: Trade, kept: Checkpoints, tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    copy.write_text(copy.read_text().replace("roofs", "roots"))
    found = wrong(verify(trade, kept))
    assert set(found) == {"checkpoints"}
    assert len(found["checkpoints"]) == 1
    assert "no good signature" in found["checkpoints"][0]


# While it is written


def test_a_registry_is_verified_while_it_is_written(trade: Trade, kept: Checkpoints) -> None:
    stop = Event()
    failed: list[BaseException] = []

    def go_on() -> None:
        try:
            while not stop.is_set():
                trade.claim(paper=trade.paper())
                kept.publish()
        except BaseException as error:
            failed.append(error)
            raise

    writer = Thread(target=go_on)
    before = trade.database.probe()
    writer.start()
    try:
        reports = [verifying.verify(trade.database, trade.store, kept) for _ in range(4)]
    finally:
        stop.set()
        writer.join()
    assert failed == []
    assert [wrong(report) for report in reports] == [{}] * 4
    assert trade.database.probe() > before
    assert reports[-1].size > reports[0].size


def test_an_empty_registry_is_well(database: Database, checkpoints: Checkpoints, tmp_path: Path) -> None:
    report = verifying.verify(database, FolderEvidenceStore(tmp_path / "evidence"), checkpoints)
    assert wrong(report) == {}
    assert report.size == 0
