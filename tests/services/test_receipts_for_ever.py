"""An answer asked again as of then is the answer that was given, whatever was entered since, and however it is kept."""

import random
from contextlib import suppress
from pathlib import Path

import msgspec

from app.adapters.backup_folder import BackupFolder, NewBackupFolder
from app.adapters.evidence_store import FolderEvidenceStore
from app.core.errors import CantrailError
from app.persistence import migrate, projection
from app.persistence.session import Database
from app.services import restoring
from app.services.answering import Answers
from app.services.asked import BudgetIn, LimitIn
from app.services.backing_up import back_up
from app.services.kept import NewKept, StandingView, keep, look
from tests.night import tonight
from tests.services.histories import Receipts, Region, Taken, WideLife, types_entered
from tests.services.outdoors import Outdoors
from tests.services.test_random_histories import ROOF
from tests.services.trade import Trade

NAMES = (
    *("Aldous", "Brimble", "Corvane", "Dunmoor", "Eskel", "Fennick", "Gorsely", "Hallow"),
    *("Inverlea", "Jessop", "Kestrow", "Lanner", "Morrick", "Nettle", "Ostler", "Purslow"),
)
HAPPENED = {
    "citation_read",
    "claim_aged",
    "claim_decided",
    "claim_derived",
    "claim_disputed",
    "claim_submitted",
    "copy_judged",
    "dispute_lapsed",
    "dispute_settled",
    "document_taken_down",
    "enquiry_closed",
    "enquiry_lapsed",
    "enquiry_opened",
    "fitment_added",
    "pages_read",
    "record_confirmed",
    "record_corrected",
    "subjects_merged",
}
"""What a history of thousands of entries has in it, whatever else."""


def kept_of(taken: Taken) -> NewKept:
    """The question of an answer that was taken, as it is kept."""
    if isinstance(taken.asked, BudgetIn):
        return NewKept(budget=taken.asked)
    assert taken.subject is not None
    plain = msgspec.to_builtins(taken.asked)
    return msgspec.convert({"limit": {**plain, "subject": msgspec.to_builtins(taken.subject)}}, NewKept, strict=False)


def test_receipts_from_all_over_a_long_history_come_out_the_same(outdoors: Outdoors, tmp_path: Path) -> None:
    database = outdoors.database
    rng = random.Random("a long life")
    region = Region(outdoors, rng, NAMES)
    book = Receipts()
    kept: list[Taken] = []

    def take(life: WideLife) -> None:
        if rng.random() < 0.1:
            with suppress(CantrailError):
                taken = book.take(outdoors.answers, life, rng)
                if rng.random() < 0.25:
                    shown = keep(database, outdoors.answers, kept_of(taken), outdoors.now)
                    assert shown.receipt == taken.receipt
                    kept.append(taken)

    # PostgreSQL is a process of its own, and each of these thousands of transactions waits for it several times.
    region.live(tonight(1800, 5000) if database.is_sqlite else 400, take)
    if database.is_sqlite:
        assert types_entered(database) >= HAPPENED
    assert book.check(database) > (50 if database.is_sqlite else 10)

    def looked_up(of: Database) -> list[StandingView]:
        with of.read() as session:
            return [look(session, taken.receipt.digest, after=0) for taken in kept]

    found = looked_up(database)
    assert [msgspec.json.encode(each.answer) for each in found] == [
        msgspec.json.encode(msgspec.json.decode(taken.body)) for taken in kept
    ]
    assert {"stands", "lowered"} <= {str(each.standing) for each in found} or not database.is_sqlite

    with database.write() as session:
        projection.rebuild(session)
    book.check(database)
    assert looked_up(database) == found

    restored = backed_up_and_restored(outdoors, tmp_path)
    book.check(restored)
    assert looked_up(restored) == found
    restored.dispose()


def backed_up_and_restored(outdoors: Outdoors, folder: Path) -> Database:
    """The registry, by way of a backup, in a database of its own."""
    with NewBackupFolder(folder / "backup") as backup:
        back_up(outdoors.database, outdoors.store, backup, now=outdoors.now, kept={})
    restored = Database(f"sqlite:///{folder / 'restored.sqlite3'}")
    restoring.restore(
        restoring.looked_at(BackupFolder(folder / "backup")), restored, FolderEvidenceStore(folder / "restored")
    )
    restoring.go_live(restored)
    assert migrate.is_current(restored)
    return restored


def test_a_question_in_other_words_has_a_digest_of_its_own_from_the_beginning(trade: Trade) -> None:
    """What is remembered of one question is never the answer to another that means the same: the digest is over what
    was asked, and asked again as of then it is worked out anew."""
    trade.approve(trade.claim())
    words = ({"roofs": ["bare", "track"]}, {"roofs": ["track", "bare"]}, {"roofs": ["track", "bare", "bare"]})
    asked = [msgspec.convert({"condition": "on_road", "context": each}, LimitIn) for each in words]
    asked += [
        msgspec.convert({"condition": "on_road", "min_confidence": each}, LimitIn, strict=False)
        for each in ("1", "1.0")
    ]
    for question in asked:
        first = msgspec.json.decode(trade.answers.limit(ROOF, question).body)["receipt"]
        as_of = msgspec.structs.replace(question, as_of=first["as_of"])
        again = msgspec.json.decode(Answers(trade.database, 5).limit(ROOF, as_of).body)["receipt"]
        assert again == first
