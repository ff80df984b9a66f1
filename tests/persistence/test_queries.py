from datetime import UTC, datetime, timedelta
from hashlib import sha256

import msgspec

from app.core import entries
from app.core.claim import Condition, Quantity, Subject, SubjectKind
from app.core.permissions import Role
from app.persistence import stores
from app.persistence.queries import accounts, claims, documents, subjects, track_records
from app.persistence.session import Database
from tests.persistence.story import FILE, TEXT, VEHICLE, Story, common_life
from tests.services.test_answering import counted

NOW = datetime(2026, 3, 1, 12, tzinfo=UTC)


def test_lists_go_on_where_a_page_ended(database: Database) -> None:
    story = Story(database)
    for slug in ("nordby", "orrin"):
        story.publisher(slug)
    # In the locale's order the capital and the hyphen would fall elsewhere.
    slugs = ["Za", "a-z", "aa", "b"]
    for slug in ("b", "aa", "Za", "a-z"):
        story.vehicle(slug, "nordby" if slug == "b" else "orrin")
    with database.read() as session:
        assert [each.slug for each in subjects.publishers(session, after=None, limit=1)] == ["nordby"]
        assert [each.slug for each in subjects.publishers(session, after="nordby", limit=9)] == ["orrin"]
        first = subjects.vehicles(session, after=None, limit=3)
        rest = subjects.vehicles(session, after=first[-1].slug, limit=3)
        assert [each.slug for each in first + rest] == slugs
        assert [each.slug for each in subjects.vehicles(session, after=None, limit=9, maker="nordby")] == ["b"]
        assert len(subjects.vehicles(session, after=None, limit=9, year=2019)) == 4
        assert len(subjects.vehicles(session, after=None, limit=9, year=2025)) == 0


def test_subjects_are_found_by_what_they_are(database: Database) -> None:
    common_life(database)
    with database.read() as session:
        assert [each.slug for each in subjects.carriers(session, after=None, limit=9, maker="orrin")] == ["orrin-deck"]
        assert subjects.carriers(session, after=None, limit=9, maker="other") == []
        assert [each.slug for each in subjects.fixings(session, after=None, limit=9)] == ["orrin-foot"]
        assert [each.slug for each in subjects.gear(session, after=None, limit=9, category="roof_box")] == ["orrin-box"]
        assert subjects.gear(session, after=None, limit=9, category="tent") == []
        (fitment,) = subjects.fitments(session, after_seq=0, limit=9)
        for wanted in ({"vehicle": VEHICLE.id}, {"carrier": "orrin-deck"}, {"fixing": "orrin-foot"}):
            assert subjects.fitments(session, after_seq=0, limit=9, **wanted) == [fitment]
        assert subjects.fitments(session, after_seq=0, limit=9, vehicle="other") == []
        assert subjects.fitments(session, after_seq=fitment.seq, limit=9) == []
        assert subjects.fitment(session, id=fitment.id) == fitment
        assert fitment.confirmed
        for kind, id in (("vehicle", VEHICLE.id), ("fitment", fitment.id), ("gear", "orrin-box")):
            assert subjects.exists(session, subject=Subject(SubjectKind(kind), id))
            assert not subjects.exists(session, subject=Subject(SubjectKind(kind), "none"))


def test_names_to_search_in(database: Database) -> None:
    common_life(database)
    with database.read() as session:
        (row,) = subjects.names(session, kind=SubjectKind.VEHICLE, after_seq=0)
        assert msgspec.structs.astuple(row)[:6] == (VEHICLE.id, "orrin", "Orrin", "Tarn", "T2", 2019)
        assert subjects.names(session, kind=SubjectKind.VEHICLE, after_seq=row.seq) == []
        for kind in (SubjectKind.CARRIER, SubjectKind.FIXING, SubjectKind.GEAR):
            assert [each.maker_name for each in subjects.names(session, kind=kind, after_seq=0)] == ["Orrin"]


def test_what_a_maker_calls_its_things(database: Database) -> None:
    common_life(database)
    with database.read() as session:
        (vehicle,) = subjects.named_by_maker(session, kind=SubjectKind.VEHICLE, maker="orrin")
        assert vehicle == (VEHICLE.id, "Tarn", "T2", 2019, 2024)
        (carrier,) = subjects.named_by_maker(session, kind=SubjectKind.CARRIER, maker="orrin")
        assert carrier == ("orrin-deck", "Deck", None, 2018, None)
        assert subjects.named_by_maker(session, kind=SubjectKind.GEAR, maker="other") == []
        assert [each.slug for each in subjects.publisher_names(session)] == ["orrin"]


def test_claims_are_found_by_what_became_of_them(database: Database) -> None:
    common_life(database)
    with database.read() as session:
        every = claims.claims_of(session, subject=VEHICLE, after_seq=0, limit=9)
        ids = [each.id for each in every]
        page = claims.claims_of(session, subject=VEHICLE, after_seq=every[0].seq, limit=2)
        assert [each.id for each in page] == ids[1:3]
        for kind in ("citation", "reading", "decision", "dispute", "settlement", "claim"):
            assert getattr(claims, kind)(session, id="X1") is None
        citation = claims.citations_of(session, claim=ids[0])[0]
        assert claims.citation(session, id=citation.id) == citation


def test_rejected_claims_come_with_their_roots(database: Database) -> None:
    common_life(database)
    with database.read() as session:
        found = claims.rejected_like(
            session, subject=VEHICLE, quantity=Quantity.ROOF_LIMIT, condition=Condition.ON_ROAD
        )
        assert [each.roots for each in found] == [frozenset({FILE}), frozenset({FILE})]
        for quantity, condition in (
            (Quantity.ROOF_LIMIT, None),
            (Quantity.ROOF_LIMIT, Condition.PARKED),
            (Quantity.OFF_ROAD_FACTOR, Condition.ON_ROAD),
        ):
            assert claims.rejected_like(session, subject=VEHICLE, quantity=quantity, condition=condition) == []


def test_supersessions_wait_until_they_have_happened(database: Database) -> None:
    story = Story(database)
    story.publisher()
    story.vehicle()
    document = story.document()
    old = story.approved("75", document)
    new = story.claim("70", supersedes=old)

    def pending() -> list[str]:
        with database.read() as session:
            return [each.id for each in claims.pending_supersessions(session, subject=VEHICLE)]

    def superseded() -> list[str]:
        with database.read() as session:
            return [each.id for each in claims.superseded_by(session, claim=new)]

    assert pending() == []
    story.cite(new, document)
    story.approve(new, "reviewer-1")
    assert pending() == [new]
    assert superseded() == []
    story.about(old, "system", entries.ClaimSuperseded(old, new))
    assert pending() == []
    assert superseded() == [old]


def test_what_time_has_done_is_found(database: Database) -> None:
    story = Story(database)
    story.publisher()
    story.vehicle()
    document = story.document()
    claim = story.approved("75", document)
    without = story.dispute(claim, None)
    story.dispute(claim, document)

    def due(today: str) -> list[str]:
        with database.read() as session:
            return [each.id for each in claims.claims_to_age(session, today=today)]

    assert due("2031-02-28") == []
    assert due("2031-03-01") == [claim]
    story.about(claim, "system", entries.ClaimAged(claim, 0))
    assert due("2032-02-29") == []
    assert due("2032-03-02") == [claim]
    with database.read() as session:
        assert claims.disputes_to_lapse(session, opened_before="2026-03-01T12:00:00.000000Z") == []
        lapsing = claims.disputes_to_lapse(session, opened_before="2026-03-02T00:00:00.000000Z")
        assert [each.id for each in lapsing] == [without]


def test_documents_and_texts(database: Database) -> None:
    story = Story(database)
    story.publisher()
    first, second = story.document(), story.document()
    with database.write() as session:
        digest = stores.put_text(session, content="the words")
        assert stores.put_text(session, content="the words") == digest == sha256(b"the words").hexdigest()
        other = stores.put_text(session, content="a letter")
    with database.read() as session:
        held = documents.texts(session, sha256s=[digest, other, TEXT])
        assert {id: (each.content, each.taken_down) for id, each in held.items()} == {
            digest: ("the words", None),
            other: ("a letter", None),
        }
        assert documents.texts(session, sha256s=[]) == {}
        assert [each.id for each in documents.documents(session, after_seq=0, limit=9)] == [first, second]
        assert [each.id for each in documents.documents(session, after_seq=2, limit=9, publisher="orrin")] == [second]
        assert documents.documents(session, after_seq=0, limit=9, publisher="other") == []
        assert [each.id for each in documents.documents_with(session, sha256=FILE)] == [first, second]
        one = documents.document(session, id=first)
        assert one is not None
        assert (one.submitted_by, one.submitted_at) == ("writer", "2026-03-01T12:02:00.000000Z")


def test_accounts_and_tokens(database: Database) -> None:
    with database.write() as session:
        ada = stores.add_account(session, id="a-1", name="ada", role=Role.CONTRIBUTOR, now=NOW)
        stores.add_account(session, id="a-2", name="bo", role=Role.STEWARD, now=NOW)
        stores.set_role(session, account=ada, role=Role.REVIEWER)
        for number in (1, 2):
            stores.add_token(
                session,
                id=f"t-{number}",
                account_id="a-1",
                name="laptop",
                token_sha256=str(number) * 64,
                scopes=("submit", "review"),
                now=NOW + timedelta(minutes=number),
                expires_at=None if number == 1 else NOW + timedelta(days=1),
            )
        token = accounts.token(session, id="t-2")
        assert token is not None
        stores.revoke_token(session, token=token, now=NOW)
    with database.read() as session:
        bearer = accounts.bearer(session, token_sha256="1" * 64)
        assert bearer is not None
        assert bearer.account.role is Role.REVIEWER
        assert bearer.account.created_at == NOW
        assert (bearer.token.scopes, bearer.token.last_used_at, bearer.token.expires_at) == (
            ("submit", "review"),
            None,
            None,
        )
        assert accounts.bearer(session, token_sha256="3" * 64) is None
        assert [each.name for each in accounts.accounts(session)] == ["ada", "bo"]
        assert [each.name for each in accounts.accounts(session, role=Role.STEWARD)] == ["bo"]
        assert accounts.account(session, id="none") is None
        named = accounts.account_named(session, name="bo")
        assert named is not None
    with database.write() as session:
        again = accounts.account(session, id="a-1")
        assert again is not None
        stores.disable_account(session, account=again, now=NOW + timedelta(hours=1))
    with database.read() as session:
        disabled = accounts.account(session, id="a-1")
        assert disabled is not None
        assert disabled.disabled_at == NOW + timedelta(hours=1)
        tokens = [accounts.token(session, id=id) for id in ("t-1", "t-2")]
        assert [each and each.revoked_at for each in tokens] == [NOW + timedelta(hours=1), NOW]


def test_what_somebody_has_done_is_counted_from_indexes(sqlite_url: str) -> None:
    """Whoever enters a whole catalogue has tens of thousands of claims."""
    database = Database(sqlite_url)
    with database.read() as session:
        with counted() as asked:
            track_records.claims_by_state(session, account="a-1")
            track_records.rejections_by_code(session, account="a-1")
            track_records.decisions(session, account="a-1")
            track_records.overturned(session, account="a-1")
        connection = session.connection().connection.cursor()
        plans = [
            connection.execute(f"EXPLAIN QUERY PLAN {each}", ("x",) * each.count("?")).fetchall() for each in asked
        ]
    database.dispose()
    steps = [str(step[-1]) for plan in plans for step in plan]
    assert [step for step in steps if step.startswith("SCAN")] == []
    read = [step for step in steps if "author=?" in step or "reviewer=?" in step]
    assert len(read) == 6 and all("COVERING INDEX" in step for step in read), read


def test_answers_are_remembered_until_they_are_forgotten(database: Database) -> None:
    with database.write() as session:
        stores.add_account(session, id="a-1", name="ada", role=Role.CONTRIBUTOR, now=NOW)
        stores.remember_answer(session, account_id="a-1", key="k", request_sha256=TEXT, status=201, body=b"{}", now=NOW)
    with database.read() as session:
        answer = accounts.answered(session, account_id="a-1", key="k")
        assert answer is not None
        assert (answer.status, answer.body, answer.request_sha256) == (201, b"{}", TEXT)
        assert accounts.answered(session, account_id="a-2", key="k") is None
    with database.write() as session:
        stores.forget_answers(session, before=NOW)
        assert accounts.answered(session, account_id="a-1", key="k") is not None
        stores.forget_answers(session, before=NOW + timedelta(seconds=1))
    with database.read() as session:
        assert accounts.answered(session, account_id="a-1", key="k") is None
