"""The facts around a subject are in memory for pages, and are what their session sees, no more and no less."""

from collections.abc import Iterator
from contextlib import contextmanager
from functools import partial

import msgspec
import pytest

from app.core.claim import Subject, SubjectKind
from app.core.dossier import Facts
from app.core.errors import CantrailError
from app.core.mass import Unit
from app.core.scoring import Dossier
from app.persistence.queries import subjects as subject_queries
from app.persistence.session import ReadSession
from app.services import dossiers, subjects, timelines
from app.services.answering import Answers
from app.services.facts import facts_about
from app.services.finding import Finder, reading_ahead
from app.services.inputs import NewPublisher
from app.services.walking import Walk
from app.services.whole_claim import whole_claim
from tests.services.test_answering import counted
from tests.services.trade import VEHICLE, Trade

ROOF = Subject(SubjectKind.VEHICLE, VEHICLE)


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """On SQLite alone: memory is the same over each of them."""
    return sqlite_url


def states(facts: Facts) -> dict[str, tuple[str, int]]:
    return {each.id: (each.state, len(each.approvals)) for each in facts.claims.values()}


@contextmanager
def looking(trade: Trade) -> Iterator[ReadSession]:
    """A session that has begun to look."""
    with trade.database.read() as session:
        facts_about(session, ROOF)
        yield session


def test_what_was_looked_at_is_not_read_again_until_something_happens_to_it(trade: Trade) -> None:
    claim = trade.claim()
    trade.approve(claim)
    with looking(trade) as session:
        first = trade.answers.around(session)(ROOF)
        assert states(first.facts)[claim] == ("approved", 2)
        assert first.dossier.scored[claim].claim is first.facts.claims[claim]
        with counted() as asked:
            assert trade.answers.around(session)(ROOF) is first
        # The ledger's head alone.
        assert len(asked) == 1, asked
    trade.carrier(model="Slatten Rough")
    with looking(trade) as session:
        assert trade.answers.around(session)(ROOF) is first
    trade.dispute("third", claim, document=trade.paper())
    with looking(trade) as session:
        again = trade.answers.around(session)(ROOF)
        assert states(again.facts)[claim] == ("disputed", 2)
        assert again.dossier is trade.answers.dossier(ROOF)


def test_a_session_sees_what_there_was_when_it_began_though_memory_has_gone_on(trade: Trade) -> None:
    claim = trade.claim()
    with looking(trade) as earlier:
        trade.approve(claim)
        with looking(trade) as later:
            assert states(trade.answers.around(later)(ROOF).facts)[claim] == ("approved", 2)
        assert states(trade.answers.around(earlier)(ROOF).facts)[claim] == ("submitted", 0)
        with looking(trade) as later:
            assert states(trade.answers.around(later)(ROOF).facts)[claim] == ("approved", 2)


def test_only_the_last_looked_at_are_held_whole(trade: Trade, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(dossiers, "MOST_SURROUNDED", 1)
    carrier = Subject(SubjectKind.CARRIER, "pellwick-slatten")
    with looking(trade) as session:
        around = trade.answers.around(session)
        first, dossier = around(ROOF), trade.answers.dossier(ROOF)
        assert around(carrier).facts.records.keys() == {carrier}
        assert trade.answers.dossier(ROOF) is dossier
        assert around(ROOF) is not first
        with pytest.raises(CantrailError, match="There is no vehicle"):
            around(Subject(SubjectKind.VEHICLE, "nothing"))


def test_a_claim_with_many_beside_it_takes_no_more_statements_than_one_alone(trade: Trade) -> None:
    """Each other one has a publisher and papers of its own."""

    def statements(claim: str) -> int:
        answers = Answers(trade.database, 50)
        with trade.database.read() as session:
            whole_claim(session, answers.around(session), claim, Unit.KG)
            with counted() as asked:
                whole = whole_claim(session, answers.around(session), claim, Unit.KG)
            assert {each.line.publisher for each in [whole]} == {"Orrin"}
        return len(asked)

    claim = trade.claim()
    trade.approve(claim)
    alone = statements(claim)
    for name in ("Alder Imports", "Birchgate", "Collop and Sons"):
        said = {"name": name, "kind": "importer", "importer_of": ["orrin"]}
        new = msgspec.convert(said, NewPublisher)
        importer = trade.do("writer", partial(subjects.add_publisher, new=new))
        other = trade.claim(paper=trade.paper(importer, "maker_page"), source_type="maker_statement")
        trade.approve(other)
        trade.dispute("third", other)
    assert statements(claim) == alone


def test_a_history_is_worked_out_once_and_only_where_a_plate_may_have_moved(
    trade: Trade, monkeypatch: pytest.MonkeyPatch
) -> None:
    claim = trade.claim()
    trade.read("third", claim)
    trade.approve(claim)
    scored: list[int] = []
    to = Walk.to

    def noted(walk: Walk, seq: int) -> Dossier | None:
        scored.append(seq)
        return to(walk, seq)

    monkeypatch.setattr(Walk, "to", noted)

    def history() -> list[tuple[str, int]]:
        with trade.database.read() as session:
            around = trade.answers.around(session)
            page = timelines.of_claim(session, around, claim, ROOF, after=0, limit=50, unit=Unit.KG)
        return [(each.entry.type, len(each.plates)) for each in page.items]

    told = history()
    assert [(type, changed > 0) for type, changed in told if type == "claim_decided"] == [
        ("claim_decided", False),
        ("claim_decided", True),
    ]
    decided = [place for place, (type, _) in enumerate(told) if type == "claim_decided"]
    # Before and after each entry from the first approval on: what came before it cannot have moved anything.
    assert len(scored) == 2 * (len(told) - decided[0])
    scored.clear()
    assert history() == told
    assert scored == []


# Names


def test_names_are_read_ahead_so_that_whoever_searches_first_asks_only_whether_there_are_more(trade: Trade) -> None:
    finder = Finder(trade.database)
    with reading_ahead(finder):
        pass
    with counted() as asked:
        found = [each.id for kind in (SubjectKind.VEHICLE, SubjectKind.CARRIER) for each in finder.find(kind, "orrin")]
    assert VEHICLE in found
    assert asked == []


def test_a_server_starts_whose_storage_is_out_of_reach(trade: Trade, monkeypatch: pytest.MonkeyPatch) -> None:
    def out_of_reach(*_: object, **__: object) -> None:
        raise CantrailError("unavailable", "storage_unavailable", "No.")  # type: ignore[arg-type]

    finder = Finder(trade.database)
    with monkeypatch.context() as patch:
        patch.setattr(subject_queries, "names", out_of_reach)
        with reading_ahead(finder):
            pass
    assert [each.id for each in finder.find(SubjectKind.VEHICLE, "tarn")] == [VEHICLE]
