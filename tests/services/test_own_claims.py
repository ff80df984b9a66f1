"""What became of one's own claims, and what a claim would come to if it were entered."""

from typing import Any

import msgspec
import pytest

from app.core.errors import CantrailError
from app.core.mass import Unit
from app.persistence import ledger
from app.services import own_claims, trying
from app.services.inputs import NewClaim
from app.services.trying import Tried
from app.services.work import Work
from tests.services.trade import SAID, VEHICLE, Trade


def own(trade: Trade, by: str = "writer", limit: int = 20, cursor: str | None = None) -> Any:
    with trade.database.read() as session:
        return own_claims.page(session, trade.account(by), cursor=cursor, limit=limit)


def tried(trade: Trade, by: str = "writer", **other: Any) -> Tried:
    body = {
        "subject": {"kind": "vehicle", "id": VEHICLE},
        "quantity": "roof_limit",
        "source_type": "manual_page",
        **SAID,
        **other,
    }
    new = msgspec.convert(body, NewClaim)
    return trying.tried(
        trade.database,
        lambda session: Work(session, trade._callers[by], trade.now, trade.store),
        new,
        Unit.KG,
    )


def head(trade: Trade) -> int:
    with trade.database.read() as session:
        return ledger.head(session)


def test_one_s_own_claims_are_told_newest_first_with_why_they_fell(trade: Trade) -> None:
    waits, rejected, refuted, wanted = (trade.claim(stated={"value": str(60 + n), "unit": "kg"}) for n in range(4))
    trade.claim("other writer", stated={"value": "90", "unit": "kg"})
    trade.decide("first", rejected, "reject", code="wrong_scope", reading=trade.read("first", rejected))
    trade.decide("first", wanted, "ask_evidence")
    trade.approve(refuted)
    dispute = trade.dispute("other writer", refuted, document=trade.paper())
    for reviewer in ("third", "fourth"):
        trade.settle(reviewer, dispute, "refute", code="wrong_condition")

    page = own(trade)

    told = {each.id: (each.state, each.code, each.reason) for each in page.items}
    assert list(told) == [wanted, refuted, rejected, waits]
    assert told == {
        wanted: ("needs_evidence", None, "As the page has it."),
        refuted: ("rejected", "wrong_condition", "As I read it."),
        rejected: ("rejected", "wrong_scope", "As the page has it."),
        waits: ("submitted", None, None),
    }
    assert {each.name for each in page.items} == {"Orrin Tarn T2"}
    seen, cursor = [], None
    while True:
        some = own(trade, limit=3, cursor=cursor)
        seen += [each.id for each in some.items]
        cursor = some.next
        if cursor is None:
            break
    assert seen == list(told)
    with pytest.raises(CantrailError, match="none of this list's"):
        own(trade, cursor="x")


def test_a_claim_that_is_tried_is_scored_as_it_would_be_and_leaves_nothing(trade: Trade) -> None:
    paper = trade.paper()
    cited = [{"document": paper, "page": "88"}]
    beside = trade.claim("other writer", stated={"value": "165.3", "unit": "lb"})
    trade.approve(trade.claim(stated={"value": "100", "unit": "kg"}))
    before = head(trade)

    found = tried(trade, citations=cited)

    assert head(trade) == before
    same = [each.scored.claim.id for each in found.others if each.same and each.open]
    assert same == [beside]
    driving = [each for each in found.plate if each.condition == "on_road"]
    assert {(each.effect, (each.after or {}).get("gross")) for each in driving} == {("lowered", 75)}
    with pytest.raises(CantrailError):
        tried(trade, citations=[{"document": "D99999"}])
    assert head(trade) == before
    entered = trade.claim(paper=paper, citations=cited)
    assert trade.view(entered).confidence == pytest.approx(found.now.confidence, abs=1e-9)
    trade.approve(entered)
    assert trade.view(entered).confidence == pytest.approx(found.approved.confidence, abs=1e-9)
