"""Load the scenario into an empty registry, through the services only, as its people would have entered it day by day."""

from __future__ import annotations

import secrets
from collections.abc import Callable, Iterator
from datetime import UTC, date, datetime, timedelta
from typing import Any, NamedTuple, TypedDict

import msgspec
import pyotp

from app.core.claim import Subject, SubjectKind
from app.core.errors import CantrailError
from app.core.evidence import DocumentKind
from app.core.permissions import MAY, Role
from app.persistence import people_stores
from app.persistence.session import Database
from app.services import (
    accounts,
    claims,
    copies,
    daily,
    disputing,
    documents,
    enquiries,
    one_time_passwords,
    rebuilding,
    reviewing,
    subjects,
)
from app.services.inputs import (
    Confirmation,
    EnquiryOutcomeIn,
    NewCarrier,
    NewCitation,
    NewClaim,
    NewCopyJudgement,
    NewDecision,
    NewDispute,
    NewDocument,
    NewEnquiry,
    NewFitment,
    NewFixing,
    NewGear,
    NewPublisher,
    NewReading,
    NewSettlement,
    NewVehicle,
)
from app.services.passwords import Passwords
from app.services.ports import EvidenceStore, Sealer
from app.services.sessions import NEEDS_SECOND_FACTOR
from app.services.work import Caller, Work
from seed_demo import paper
from seed_demo.accounts import ACCOUNTS, PIPISTREL
from seed_demo.carriers import CARRIERS
from seed_demo.enquiries import ENQUIRIES
from seed_demo.fitments import FITMENTS
from seed_demo.fixings import FIXINGS
from seed_demo.gear import GEAR
from seed_demo.makers import CLAIMS, DOCUMENTS
from seed_demo.makers.echoes import JUDGEMENTS
from seed_demo.publishers import PUBLISHERS
from seed_demo.shapes import Claim, Derivation, Document, Enquiry, Judgement, Record, Step
from seed_demo.trusting import enter_roles
from seed_demo.vehicles import VEHICLES

BEGUN = "2021-01-04"
RECORDS_A_DAY = 40
"""Nobody enters more in a day than a newcomer may."""
PASSWORD_BYTES = 15
READING_FIELDS = ("stated", "per", "condition", "basis", "excluded_mass", "bound", "applies_to", "scope")

Progress = Callable[[int, int], None]


class DemoAccount(TypedDict):
    """Somebody of the scenario, with a token to act as them, and what they sign in with. `one_time_password` is the
    secret for an authenticator, where they have one."""

    name: str
    role: str
    password: str
    one_time_password: str | None
    token: str


class Happening(NamedTuple):
    """Something that happens on a day; of one day, what comes first in the scenario."""

    day: str
    order: int
    happen: Callable[[datetime], None]


def load(
    database: Database,
    store: EvidenceStore,
    *,
    now: datetime,
    progress: Progress | None = None,
    sealer: Sealer | None = None,
) -> list[DemoAccount]:
    """Enter the whole scenario and say who is in it. `progress` is told steps done, and of how many. With a sealer those
    who review have one-time passwords."""
    loader = _Loader(database, store)
    people = loader.begin(now)
    with_passwords(database, people)
    if sealer is not None:
        with_one_time_passwords(database, sealer, people, now)
    happenings = sorted(loader.happenings(now), key=lambda each: each[:2])
    for done, each in enumerate(happenings, start=1):
        each.happen(_at(each.day))
        if progress is not None:
            progress(done, len(happenings))
    enter_roles(database, now)
    return people


def _at(day: str) -> datetime:
    return datetime.fromisoformat(day).replace(hour=9, tzinfo=UTC)


def with_passwords(database: Database, people: list[DemoAccount]) -> None:
    """Let everybody sign in."""
    passwords = Passwords()
    hashes = {each["name"]: passwords.hashed(each["password"]) for each in people}
    with database.write() as session:
        for name, hashed in hashes.items():
            people_stores.set_password(session, account=accounts.named(session, name), password_hash=hashed)


def with_one_time_passwords(database: Database, sealer: Sealer, people: list[DemoAccount], now: datetime) -> None:
    """Set up one-time passwords for those who need them, as they would themselves."""
    with database.write() as session:
        for each in people:
            if Role(each["role"]) not in NEEDS_SECOND_FACTOR:
                continue
            account = accounts.named(session, each["name"])
            secret = one_time_passwords.enrol(session, sealer, account, now).secret
            code = pyotp.TOTP(secret).at(now)
            one_time_passwords.confirm(session, sealer, account.id, code, now)
            each["one_time_password"] = secret


class _Loader:
    """Turns the scenario's keys into the registry's ids as it goes."""

    def __init__(self, database: Database, store: EvidenceStore) -> None:
        self._database = database
        self._store = store
        self._callers: dict[str, Caller] = {}
        self._ids: dict[str, str] = {}

    def begin(self, now: datetime) -> list[DemoAccount]:
        """Adopt the method, and let everybody in."""
        people: list[DemoAccount] = []
        with self._database.write() as session:
            rebuilding.begin(session, now=_at(BEGUN))
            for body in ACCOUNTS:
                role = Role(body["role"])
                account = accounts.add(session, name=body["name"], role=role, now=now)
                token = accounts.issue_token(session, name=body["name"], label="demo", scopes=MAY[role], now=now)
                self._callers[body["name"]] = Caller(account.id, role, MAY[role])
                people.append(
                    {
                        "name": body["name"],
                        "role": role,
                        "password": secrets.token_urlsafe(PASSWORD_BYTES),
                        "one_time_password": None,
                        "token": token.token,
                    }
                )
        return people

    def happenings(self, now: datetime) -> Iterator[Happening]:
        """Everything that happens, each with its day."""
        yield Happening(BEGUN, 0, self._publishers)
        records: list[Record[Any]] = [*VEHICLES, *CARRIERS, *FIXINGS, *GEAR, *FITMENTS]
        for place, record in enumerate(records):
            entered = date.fromisoformat(BEGUN) + timedelta(days=place // RECORDS_A_DAY)
            yield Happening(entered.isoformat(), 1, lambda at, it=record: self._record(it, at))  # type: ignore[misc]
        obtained = {document.key: document.obtained for document in DOCUMENTS}
        for document in DOCUMENTS:
            yield Happening(document.obtained, 2, lambda at, it=document: self._document(it, at))  # type: ignore[misc]
        for record in records:
            for check in record.confirmations:
                yield Happening(
                    obtained[check.document],
                    3,
                    lambda at, it=record, by=check.by, seen=check.document: self._confirm(it, by, seen, at),  # type: ignore[misc]
                )
        for claim in CLAIMS:
            yield from self._story(claim, obtained)
        for judgement in JUDGEMENTS:
            yield Happening(judgement.on, 4, lambda at, it=judgement: self._judge(it, at))  # type: ignore[misc]
        for enquiry in ENQUIRIES:
            yield Happening(enquiry.asked, 4, lambda at, it=enquiry: self._enquiry(it, at))  # type: ignore[misc]
            if enquiry.closed is not None:
                day = max(enquiry.closed, obtained.get(enquiry.document or "", enquiry.closed))
                yield Happening(day, 4, lambda at, it=enquiry: self._outcome(it, at))  # type: ignore[misc]
        for year in range(int(BEGUN[:4]) + 1, now.year + 1):
            yield Happening(f"{year}-01-01", 5, self._daily)
        yield Happening(now.date().isoformat(), 6, self._daily)

    def _story(self, claim: Claim, obtained: dict[str, str]) -> Iterator[Happening]:
        """A claim and what happens to it: no step before the one before it, or before the document that it needs."""
        days: dict[str, list[Step]] = {claim.on: []}
        for step in claim.story:
            day = max(days)
            needed = step[2] if step[0] == "dispute" else step[1] if step[0] == "add_evidence" else None
            days.setdefault(max(day, obtained.get(needed or "", day)), []).append(step)
        for day, steps in days.items():
            yield Happening(day, 4, lambda at, steps=steps: self._happen(claim, steps, at))  # type: ignore[misc]

    # Each happening is a transaction of its own.

    def _publishers(self, at: datetime) -> None:
        for key, body in PUBLISHERS.items():
            with self._database.write() as session:
                work = self._work(session, PIPISTREL, at)
                added = subjects.add_publisher(work, msgspec.convert(body, NewPublisher))
            self._ids[key] = added

    def _record(self, record: Record[Any], at: datetime) -> None:
        body = {**record.body}
        for member in ("maker", "vehicle", "carrier", "fixing"):
            if body.get(member) in self._ids:
                body[member] = self._ids[body[member]]
        try:
            self._ids[record.key] = self._add(record.by, body, at)
        except CantrailError as error:
            if error.code != "near_duplicate":
                raise
            resembles: Any = error.details["resembles"]
            body["distinct_from"] = [each["id"] for each in resembles]
            self._ids[record.key] = self._add(record.by, body, at)

    def _add(self, by: str, body: dict[str, Any], at: datetime) -> str:
        with self._database.write() as session:
            work = self._work(session, by, at)
            match body:
                case {"vehicle": _, "carrier": _}:
                    return subjects.add_fitment(work, msgspec.convert(body, NewFitment))
                case {"years": _}:
                    return subjects.add_vehicle(work, msgspec.convert(body, NewVehicle))
                case {"holds": _}:
                    return subjects.add_fixing(work, msgspec.convert(body, NewFixing))
                case {"category": _}:
                    return subjects.add_gear(work, msgspec.convert(body, NewGear))
                case _:
                    return subjects.add_carrier(work, msgspec.convert(body, NewCarrier))

    def _document(self, document: Document, at: datetime) -> None:
        # A document is filed by its file or by its address, not by both: what was fetched is fetched again later, and
        # nothing answers at invented addresses. So pages that somebody saved are filed by their files.
        new = NewDocument(
            publisher=self._ids[document.publisher],
            kind=DocumentKind(document.kind),
            title=document.title,
            edition=document.edition,
            published=_day(document.published),
            obtained=_day(document.obtained),
            language=document.language,
            market=document.market,
            address=None if document.held else document.address,
        )
        filename, _, content = paper.file(document) if document.held else ("", "", b"")
        with self._database.write() as session:
            work = self._work(session, PIPISTREL, at)
            if document.held:
                filed = documents.add_document(work, new, filename, content)
            else:
                filed = documents.add_address(work, new)
        self._ids[document.key] = filed

    def _judge(self, judgement: Judgement, at: datetime) -> None:
        with self._database.write() as session:
            new = NewCopyJudgement(of=self._ids[judgement.of], copied=judgement.copied)
            copies.judge(self._work(session, judgement.by, at), self._ids[judgement.document], new)

    def _confirm(self, record: Record[Any], by: str, document: str, at: datetime) -> None:
        subject = Subject(_kind_of(record.body), self._ids[record.key])
        with self._database.write() as session:
            subjects.confirm(self._work(session, by, at), subject, Confirmation(self._ids.get(document)))

    def _happen(self, claim: Claim, steps: list[Step], at: datetime) -> None:
        """One day of a claim's story, which begins with the claim itself."""
        with self._database.write() as session:
            if claim.key not in self._ids:
                self._claim(session, claim, at)
            for step in steps:
                self._take(session, claim, step, at)

    def _claim(self, session: Any, claim: Claim, at: datetime) -> None:
        body: dict[str, Any] = {**claim.body}
        body["subject"] = {**claim.body["subject"], "id": self._ids[claim.body["subject"]["id"]]}
        body["citations"] = [
            {**citation, "document": self._ids[citation["document"]]} for citation in claim.body["citations"]
        ]
        body["supersedes"] = self._ids[body["supersedes"]] if body["supersedes"] else None
        body["derivation"] = self._derivation(body["derivation"])
        entered = claims.submit(self._work(session, claim.by, at), msgspec.convert(body, NewClaim))
        self._ids[claim.key] = entered

    def _derivation(self, told: Derivation | None) -> dict[str, Any] | None:
        if told is None:
            return None
        rows = [{**row, "document": self._ids[row["document"]]} for row in told["rows"]]
        return {**told, "rows": rows, "takes": [self._ids[key] for key in told["takes"]]}

    def _take(self, session: Any, claim: Claim, step: Step, at: datetime) -> None:
        id = self._ids[claim.key]
        match step:
            case ("read_and_approve", by):
                work = self._work(session, by, at)
                reading = self._read(work, claim, {})
                self._decide(work, id, {"decision": "approve", "reading": reading, "reason": "As the page has it."})
            case ("misread", by, differing):
                self._read(self._work(session, by, at), claim, {**differing})
            case ("reject", by, code, reason):
                work = self._work(session, by, at)
                self._decide(work, id, {"decision": "reject", "code": code, "reason": reason})
            case ("ask_evidence", by, reason):
                self._decide(self._work(session, by, at), id, {"decision": "ask_evidence", "reason": reason})
            case ("add_evidence", document, page, quote):
                citation = NewCitation(document=self._ids[document], page=page, quote=quote)
                claims.cite(self._work(session, claim.by, at), id, citation)
            case ("withdraw",):
                claims.withdraw(self._work(session, claim.by, at), id)
            case ("dispute", by, document, reason):
                held = self._ids[document] if document else None
                disputing.dispute(self._work(session, by, at), id, NewDispute(reason=reason, document=held))
            case ("uphold" | "refute" as settlement, by, code, reason):
                self._settle(session, id, by, {"settlement": settlement, "code": code, "reason": reason}, at)

    def _read(self, work: Work, claim: Claim, differing: dict[str, Any]) -> str:
        said = {field: claim.body[field] for field in READING_FIELDS}  # type: ignore[literal-required]
        said["derivation"] = self._derivation(claim.body["derivation"])
        new = msgspec.convert({**said, **differing}, NewReading)
        return reviewing.read(work, self._ids[claim.key], new)

    def _decide(self, work: Work, id: str, decision: dict[str, Any]) -> None:
        reviewing.decide(work, id, msgspec.convert(decision, NewDecision))

    def _settle(self, session: Any, id: str, by: str, settlement: dict[str, Any], at: datetime) -> None:
        work = self._work(session, by, at)
        claim, _ = claims.claim_and_facts(session, id)
        disputing.settle(work, claim.disputes[-1].id, msgspec.convert(settlement, NewSettlement))

    def _enquiry(self, enquiry: Enquiry, at: datetime) -> None:
        body = {
            "subject": {**enquiry.subject, "id": self._ids[enquiry.subject["id"]]},
            "asked": self._ids[enquiry.to],
            "quantity": enquiry.quantity,
            "conditions": [enquiry.condition],
            "channel": enquiry.channel,
            "questions": enquiry.question,
            "asked_on": enquiry.asked,
            "answer_by": enquiry.answer_by or enquiry.closed,
            "language": enquiry.language,
        }
        with self._database.write() as session:
            work = self._work(session, enquiry.by, at)
            self._ids[enquiry.key] = enquiries.put(work, msgspec.convert(body, NewEnquiry))

    def _outcome(self, enquiry: Enquiry, at: datetime) -> None:
        body = {
            "outcome": enquiry.outcome,
            "document": self._ids[enquiry.document] if enquiry.document else None,
            "note": enquiry.note,
            "answered_on": enquiry.closed,
            "ask_again": enquiry.ask_again,
        }
        with self._database.write() as session:
            work = self._work(session, enquiry.by, at)
            enquiries.close(work, self._ids[enquiry.key], msgspec.convert(body, EnquiryOutcomeIn))

    def _daily(self, at: datetime) -> None:
        with self._database.write() as session:
            daily.run(daily.system_work(session, at, self._store))

    def _work(self, session: Any, by: str, at: datetime) -> Work:
        return Work(session, self._callers[by], at, self._store)


def _kind_of(body: dict[str, Any]) -> SubjectKind:
    if "carrier" in body:
        return SubjectKind.FITMENT
    if "years" in body:
        return SubjectKind.VEHICLE
    if "holds" in body:
        return SubjectKind.FIXING
    return SubjectKind.GEAR if "category" in body else SubjectKind.CARRIER


def _day(text: str) -> str | None:
    """A day of a document's dates; some know the year only."""
    return text if len(text) == len("2021-01-04") else None
