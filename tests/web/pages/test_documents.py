"""A document's page and the pages of a document: what cites it, and where the figures stand."""

import pytest

from app.core.errors import CantrailError
from app.services import evidence_shown, page_reading
from app.services.daily import system_work
from app.services.tools import Tools
from tests.web.pages.tabs import Square, Tab
from tests.web.story import API, Trade, pdf


@pytest.fixture(scope="module")
def tab(town: Square, trade: Trade) -> Tab:
    """Somebody who is not signed in."""
    return Tab(town.client)


def test_a_document_tells_what_it_is_and_what_cites_it(tab: Tab, trade: Trade) -> None:
    tab.get(f"/documents/{trade.handbook}")
    assert tab.status == 200
    assert "handbook" in tab.text
    assert f"/claims/{trade.roof}" in tab.html
    assert f"{API}/documents/{trade.handbook}/file" in tab.html
    assert tab.get("/documents/D99999").status == 404
    assert tab.get(f"/documents/{trade.handbook}?cursor=x").status == 422


def test_many_citing_claims_are_shown_in_pages(tab: Tab, trade: Trade) -> None:
    paper = trade.document("orrin")
    for value in range(21):
        trade.claim("vehicle", trade.heron, "roof_limit", str(40 + value), paper, condition="parked")
    tab.get(f"/documents/{paper}")
    assert tab.html.count('href="/claims/C') == 20
    more = tab.html.partition('class="more"><a href="')[2].partition('"')[0]
    assert tab.get(more).html.count('href="/claims/C') == 1


def test_a_page_shows_its_picture_and_text_as_text(town: Square, tab: Tab, trade: Trade) -> None:
    hostile = "<b>60 kg</b>"
    answer = town.client.post(
        f"{API}/documents",
        data={"publisher": "orrin", "kind": "handbook"},
        files={"file": ("page.pdf", pdf(hostile))},
        headers=trade.people["contributor"],
    )
    id = answer.json()["id"]
    picture = f"{API}/documents/{id}/pages/1/picture"
    unread = tab.get(f"/documents/{id}/pages/1")
    assert (unread.status, picture in unread.html) == (200, True)
    assert "The machine has not read it yet" in unread.text
    registry = town.registry
    tools = Tools(registry.database, registry.store, registry.fetcher, registry.reader)
    enter = page_reading.read(tools, id)
    with registry.database.write() as session:
        enter(system_work(session, registry.clock.now(), registry.store))
    read = tab.get(f"/documents/{id}/pages/1?zoom=2")
    assert hostile not in read.html
    assert "&lt;b&gt;60 kg" in read.html
    assert "zoom-2" in read.html
    assert tab.get(f"/documents/{id}/pages/9").status == 404
    assert town.client.get(picture).headers["content-type"] == "image/png"


def test_of_a_document_that_was_not_read_there_is_the_first_page(town: Square, trade: Trade) -> None:
    registry, paper = town.registry, trade.document("orrin")
    with registry.database.read() as session:
        assert evidence_shown.place_in(session, paper, "88").number == 1
        assert evidence_shown.sheet(session, registry.store, paper, 1).pages is None
        with pytest.raises(CantrailError, match="has no page 2"):
            evidence_shown.sheet(session, registry.store, paper, 2)
