"""The demo with a hundred thousand invented vehicles beside it, written in bulk: `registry(folder)` makes it once.

A few of them are far above the rest, as it is in the world: a maker with a twelfth of all vehicles, a rack that goes on
three thousand, somebody who enters four claims in ten, a handbook that thousands of claims cite, and one vehicle with
very many claims.
"""

import random
from collections.abc import Iterator
from datetime import UTC, datetime
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from app.adapters.evidence_store import FolderEvidenceStore
from app.adapters.sealing import FileSealer
from app.bootstrap import prepare
from app.core import entries
from app.core.claim import Basis, Condition, Interest, Quantity, SourceType, Statement, Subject, SubjectKind
from app.core.desk import Due, WorkKind, place, work_on
from app.core.entries import Entry
from app.core.gear import CATEGORIES
from app.core.mass import Per, Stated, Unit
from app.core.permissions import Role
from app.core.review import ClaimFacts, claim_facts
from app.core.scope import Scope, Years
from app.persistence import claim_rows
from app.persistence.base import table_of
from app.persistence.models import (
    Account,
    AskedCount,
    Carrier,
    Citation,
    Claim,
    Decision,
    DeskWork,
    Dispute,
    Document,
    Enquiry,
    Fitment,
    Fixing,
    Gear,
    HeldText,
    Publisher,
    Reading,
    StandingConfirmation,
    SubjectConfirmation,
    Vehicle,
)
from app.persistence.session import Database
from app.settings import Settings
from seed_demo.load import load
from tests.bench.bulk import Pen

VEHICLES: Final = 100_000
MAKERS: Final = 600
CARRIERS: Final = 5_000
FIXINGS: Final = 2_000
GEAR: Final = 5_000
DOCUMENTS: Final = 12_000
PEOPLE: Final = 3_000
REVIEWERS: Final = 40
ENQUIRIES: Final = 4_000
ASKED: Final = 30_000

BIG_MAKER: Final = "maker-0"
BUSY_VEHICLE: Final = "vehicle-7"
PLAIN_VEHICLE: Final = "vehicle-70001"
POPULAR_CARRIER: Final = "carrier-0"
BUSY_AUTHOR: Final = "ballast-0"

SYLLABLES: Final = (
    "vash",
    "quen",
    "tolb",
    "irr",
    "ozz",
    "merv",
    "skel",
    "drun",
    "phel",
    "gwim",
    "horz",
    "bext",
    "cawl",
    "dorv",
    "esk",
    "fynn",
    "grub",
    "hask",
    "jorl",
    "kelp",
    "lunt",
    "myrr",
    "nock",
    "obb",
    "pryd",
    "quab",
    "rusk",
    "swit",
    "thrab",
    "umb",
    "velk",
    "wosk",
    "xan",
    "yold",
    "zub",
    "ard",
    "brin",
    "clof",
    "dwel",
)
ON_VEHICLES: Final = (0, 0, 0, 0, 1, 1, 1, 2, 2, 4)
"""How many claims vehicles have: one in ten has four, and four in ten have none."""


def registry(folder: Path, database_url: str | None = None) -> Settings:
    """The large registry in a folder; it is made where it is not there yet, and then kept."""
    settings = Settings(data_dir=folder, database_url=database_url, rate_limits=False)
    made = folder / "made"
    if not made.exists():
        database = prepare(settings)
        store = FolderEvidenceStore(settings.evidence_dir)
        load(database, store, now=datetime.now(UTC), sealer=FileSealer(settings.sealing_key))
        _Filling(database).fill()
        database.dispose()
        made.touch()
    return settings


class _Filling:
    """Everything that is written beside the demo."""

    def __init__(self, database: Database) -> None:
        self._pen = Pen(database)
        self._chance = random.Random(11)
        self._reason = sha256(b"As the page in question has it.").hexdigest()
        self._documents: list[tuple[str, str]] = []
        self._fitted: list[tuple[str, str]] = []
        self._numbers = 0

    def fill(self) -> None:
        """Write it all."""
        self._people()
        self._records()
        self._papers()
        self._join()
        for number in range(VEHICLES):
            self._claims_on(number)
        self._enquire()
        self._ask()
        self._pen.close()

    # Who and what there is

    def _people(self) -> None:
        self._pen.row(HeldText, sha256=self._reason, content="As the page in question has it.")
        for number in range(PEOPLE):
            role = Role.REVIEWER if number >= PEOPLE - REVIEWERS else Role.CONTRIBUTOR
            self._pen.row(
                Account, id=f"ballast-{number}", name=f"somebody {number}", role=role, created_at=datetime.now(UTC)
            )

    def _author(self) -> str:
        busy = self._chance.random() < 0.4
        return BUSY_AUTHOR if busy else f"ballast-{self._chance.randrange(PEOPLE - REVIEWERS)}"

    def _records(self) -> None:
        pen, word = self._pen, self._word
        for number in range(MAKERS):
            said: dict[str, Any] = {
                "slug": f"maker-{number}",
                "kind": "vehicle_maker",
                "name": word(),
                "name_sha256": None,
                "importer_of": (),
            }
            self._record(Publisher, entries.PublisherAdded, "publisher", said, confirmable=False)
        for number in range(VEHICLES):
            maker = 0 if number % 12 == 7 else self._chance.randrange(MAKERS)
            first = self._chance.randint(1995, 2024)
            years = Years(first, min(first + 6, 2025) if self._chance.random() < 0.8 else None)
            made: dict[str, Any] = {"slug": f"vehicle-{number}", "maker": f"maker-{maker}", "model": word(), "series": self._series(),
                    "years": years, "bodies": ("dual_cab", "wagon"), "roofs": ("bare", "raised_rail"),
                    "markets": None}  # fmt: skip
            entry = pen.enter(
                BUSY_AUTHOR, [f"vehicle:vehicle-{number}"], entries.VehicleAdded(**made, distinct_from=())
            )
            row = {name: said for name, said in made.items() if name != "years"}
            confirmed = self._confirm(SubjectKind.VEHICLE, f"vehicle-{number}", entry, f"maker-{maker}")
            pen.row(Vehicle, **row, seq=entry.seq, first_year=years.first, last_year=years.last, confirmed=confirmed)
        for number in range(CARRIERS):
            said = {**self._named("carrier", number), "kind": self._chance.choice(["crossbars", "platform", "basket"]),
                    "first_year": 2015, "bars": 2, "fixing": "separate"}  # fmt: skip
            self._record(Carrier, entries.CarrierAdded, "carrier", said)
        for number in range(FIXINGS):
            said = {
                **self._named("fixing", number),
                "first_year": 2015,
                "feet": 4,
                "holds": ("raised_rail",),
            }
            self._record(Fixing, entries.FixingAdded, "fixing", said)
        for number in range(GEAR):
            category = self._chance.choice(list(CATEGORIES))
            said = {**self._named("gear", number), "first_year": None, "category": category}
            self._record(Gear, entries.GearAdded, "gear", said)

    def _named(self, kind: str, number: int) -> dict[str, Any]:
        return {"slug": f"{kind}-{number}", "maker": f"maker-{self._chance.randrange(MAKERS)}", "model": self._word(),
                "series": self._series()}  # fmt: skip

    def _record(self, row: Any, payload: Any, kind: str, said: dict[str, Any], *, confirmable: bool = True) -> None:
        streams = [f"{kind}:{said['slug']}"]
        entry = self._pen.enter(BUSY_AUTHOR, streams, payload(**said, distinct_from=()))
        told = (
            {"confirmed": self._confirm(SubjectKind(kind), said["slug"], entry, said["maker"])} if confirmable else {}
        )
        self._pen.row(row, **said, seq=entry.seq, **told)

    def _confirm(self, kind: SubjectKind, id: str, entered: Entry, maker: str) -> bool:
        """Two reviewers have checked half of all vehicles, and one in twenty of the rest; the others wait for it."""
        confirmed = self._chance.random() < (0.5 if kind is SubjectKind.VEHICLE else 0.05)
        if confirmed:
            for reviewer in self._chance.sample(range(PEOPLE - REVIEWERS, PEOPLE), 2):
                payload = entries.RecordConfirmed(subject=Subject(kind, id), document=None)
                entry = self._pen.enter(f"ballast-{reviewer}", [f"{kind}:{id}"], payload)
                about = {"subject_kind": kind, "subject_id": id, "reviewer": entry.actor}
                self._pen.row(SubjectConfirmation, seq=entry.seq, document=None, at=entry.at, **about)
                self._pen.row(StandingConfirmation, **about)
        elif kind is not SubjectKind.GEAR:
            self._wait(Due(WorkKind.RECORD, f"{kind}.{id}", entered.at), Subject(kind, id), maker, entered.actor)
        return confirmed

    def _papers(self) -> None:
        for number in range(DOCUMENTS):
            publisher = BIG_MAKER if number % 4 == 0 else f"maker-{self._chance.randrange(MAKERS)}"
            told: dict[str, Any] = {"publisher": publisher, "kind": "handbook", "title_sha256": self._reason, "edition": "1",
                    "published": None, "obtained": None, "language": "en", "market": None,
                    "sha256": sha256(f"paper {number}".encode()).hexdigest(), "size": 1000,
                    "media_type": "application/pdf"}  # fmt: skip
            id = f"D{self._pen.seq + 1}"
            streams = [f"document:{id}", f"publisher:{publisher}/documents"]
            entry = self._pen.enter(BUSY_AUTHOR, streams, entries.DocumentAdded(**told))
            self._pen.row(Document, id=id, seq=entry.seq, **told, submitted_by=entry.actor, submitted_at=entry.at)
            self._documents.append((id, publisher))

    def _join(self) -> None:
        """A rack or two on most vehicles, forty on one of them, and one rack on three thousand."""
        pairs = [(f"vehicle-{self._chance.randrange(VEHICLES)}", self._carrier()) for _ in range(60_000)]
        pairs += [(f"vehicle-{number}", POPULAR_CARRIER) for number in range(0, VEHICLES, 33)]
        pairs += [(BUSY_VEHICLE, f"carrier-{number}") for number in range(40)]
        pairs += [(PLAIN_VEHICLE, f"carrier-{number}") for number in range(8)]
        for vehicle, carrier in dict.fromkeys(pairs):
            said: dict[str, Any] = {"vehicle": vehicle, "carrier": carrier, "fixing": f"fixing-{self._chance.randrange(FIXINGS)}",
                    "roofs": ("raised_rail",)}  # fmt: skip
            id = f"F{self._pen.seq + 1}"
            streams = [
                f"fitment:{id}",
                f"vehicle:{vehicle}",
                f"carrier:{carrier}/fits",
                f"fixing:{said['fixing']}/fits",
            ]
            entry = self._pen.enter(BUSY_AUTHOR, streams, entries.FitmentAdded(**said, distinct_from=()))
            self._pen.row(Fitment, id=id, seq=entry.seq, confirmed=False, **said)

    def _carrier(self) -> str:
        return f"carrier-{self._chance.randrange(CARRIERS)}"

    # What is claimed

    def _claims_on(self, number: int) -> None:
        vehicle = Subject(SubjectKind.VEHICLE, f"vehicle-{number}")
        many = (
            120
            if vehicle.id == BUSY_VEHICLE
            else 6
            if vehicle.id == PLAIN_VEHICLE
            else self._chance.choice(ON_VEHICLES)
        )
        for _ in range(many):
            self._claim(vehicle, Quantity.ROOF_LIMIT, self._chance.choice(list(Condition)))
        if number < CARRIERS:
            self._claim(Subject(SubjectKind.CARRIER, f"carrier-{number}"), Quantity.OWN_MASS, None)
            self._claim(Subject(SubjectKind.CARRIER, f"carrier-{number}"), Quantity.LOAD_RATING, Condition.ON_ROAD)

    def _claim(self, subject: Subject, quantity: Quantity, condition: Condition | None) -> None:
        pen, fate = self._pen, self._chance.random()
        document, publisher = (
            self._documents[0] if self._chance.random() < 0.02 else self._chance.choice(self._documents)
        )
        source = SourceType.UNVERIFIED if fate < 0.15 else SourceType.MANUAL_PAGE
        basis = Basis.INCLUDES_FIXING if quantity is Quantity.OWN_MASS else Basis.INCLUDES_CARRIER
        said = Statement(
            quantity, Stated(str(self._chance.randint(15, 30) if quantity is Quantity.OWN_MASS else
                                 self._chance.randint(50, 120)), Unit.KG),
            condition, Per.TOTAL, basis, scope=Scope(years=Years(2000, 2020)),
        )  # fmt: skip
        id, author = f"C{pen.seq + 1}", self._author()
        streams = [f"claim:{id}", subject.stream]
        history = [
            pen.enter(author, streams, entries.ClaimSubmitted(
                subject, said, source, None if source is SourceType.UNVERIFIED else publisher, Interest.NONE, None, None, None,
            )),
        ]  # fmt: skip
        if source is not SourceType.UNVERIFIED:
            cited = entries.CitationAdded(id, document, "12", None, None, later=False)
            history.append(pen.enter(author, [*streams, f"document:{document}/cited"], cited))
        if fate >= 0.3:
            approvals = 1 if fate < 0.4 else 2
            history += self._decided(id, streams, said, approvals, "reject" if fate > 0.95 else "approve")
        if 0.5 < fate < 0.51:
            against = entries.ClaimDisputed(id, self._documents[1][0], "3", self._reason, Interest.NONE)
            history.append(pen.enter(self._author(), streams, against))
        self._tabulate(claim_facts(history))

    def _decided(self, id: str, streams: list[str], said: Statement, approvals: int, decision: str) -> Iterator[Entry]:
        for reviewer in self._chance.sample(
            range(PEOPLE - REVIEWERS, PEOPLE), 1 if decision == "reject" else approvals
        ):
            read = self._pen.enter(f"ballast-{reviewer}", streams, entries.ReadingKeyed(id, said, ()))
            yield read
            code = "misread" if decision == "reject" else None
            decided = entries.ClaimDecided(id, f"R{read.seq}", decision, code, self._reason, Interest.NONE)
            yield self._pen.enter(read.actor, streams, decided)

    def _tabulate(self, claim: ClaimFacts) -> None:
        self._pen.row(Claim, id=claim.id, **claim_rows._row(claim))
        under = (
            (Citation, claim.citations),
            (Reading, claim.readings),
            (Decision, claim.reviews),
            (Dispute, claim.disputes),
        )
        for row, facts in under:
            for fact in facts:
                told: dict[str, Any] = {
                    name: getattr(fact, name) for name in fact.__struct_fields__ if name in table_of(row).c
                }
                self._pen.row(row, claim=claim.id, **told)
        for due in work_on(claim):
            self._wait(due, claim.subject, BIG_MAKER, claim.author, claim.id, claim.statement.quantity, claim.publisher)

    def _wait(
        self, due: Due, subject: Subject, maker: str, author: str, claim: str | None = None,
        quantity: Quantity | None = None, publisher: str | None = None,
    ) -> None:  # fmt: skip
        stands = place(due.since, asked=0, newcomer=True, lowers=False)
        self._pen.row(
            DeskWork, kind=due.kind, about=due.about, claim=claim, subject_kind=subject.kind, subject_id=subject.id,
            quantity=quantity, maker=maker, publisher=publisher, author=author, since=due.since, lowers=False, asked=0,
            newcomer=True, turn=stands.turn, stands_at=stands.stands_at,
        )  # fmt: skip

    # What is asked

    def _enquire(self) -> None:
        for number in range(ENQUIRIES):
            asked = f"maker-{number % MAKERS}"
            subject = Subject(SubjectKind.VEHICLE, f"vehicle-{number}")
            said: dict[str, Any] = {"asked": asked, "quantity": Quantity.ROOF_LIMIT, "conditions": (Condition.ON_ROAD,),
                    "channel": "letter", "questions_sha256": self._reason, "asked_on": "2026-01-01",
                    "answer_by": "2030-01-01", "language": "en"}  # fmt: skip
            id = f"E{self._pen.seq + 1}"
            streams = [f"enquiry:{id}", subject.stream, f"publisher:{asked}/enquiries"]
            entry = self._pen.enter(BUSY_AUTHOR, streams, entries.EnquiryOpened(subject=subject, **said))
            kind = {"subject_kind": subject.kind, "subject_id": subject.id}
            self._pen.row(Enquiry, id=id, seq=entry.seq, by=entry.actor, at=entry.at, **kind, **said)

    def _ask(self) -> None:
        for number in range(ASKED):
            self._pen.row(
                AskedCount, subject_kind=SubjectKind.VEHICLE, subject_id=f"vehicle-{number * VEHICLES // ASKED}",
                quantity=Quantity.ROOF_LIMIT, condition=self._chance.choice(list(Condition)), asked=number % 50,
                unmet=number % 20,
            )  # fmt: skip

    def _word(self) -> str:
        return "".join(self._chance.sample(SYLLABLES, self._chance.choice((2, 2, 3)))).capitalize()

    def _series(self) -> str | None:
        return (
            f"{self._chance.choice('ABCDEFGHJK')}{self._chance.randint(1, 9)}" if self._chance.random() < 0.7 else None
        )
