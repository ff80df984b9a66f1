"""The desk pages through very much that waits, in order, and past what one may not do."""

from typing import Any

from app.services import desk
from app.services.desk import ListDesk
from tests.bench.desk import READ, fill
from tests.services.trade import Trade

MANY = 2 * READ


def test_a_page_of_the_desk_goes_on_where_the_last_ended_and_past_what_one_has_read(trade: Trade) -> None:
    fill(trade, MANY)

    def page(by: str, cursor: str | None = None) -> Any:
        with trade.database.read() as session:
            return desk.waiting(session, trade._callers[by], trade.now, ListDesk(cursor=cursor))

    found = page("first")
    assert found.items[0].claim == f"C8{READ:06}"
    assert len(found.items) == 50
    assert page("second", "1~2026-01-01T00:00:00.001000Z~first_reading~C8001000").items[0].claim == "C8001001"
