"""Receipts and cards, over the real application."""

import re
from typing import Final

import pytest
import zxingcpp
from PIL import Image, ImageDraw

from app.web.pages.square_codes import square_code
from tests.web.people import People
from tests.web.story import Trade
from tests.web.talking import Client

MODULE: Final = 4
"""So many pixels wide is a module of a square code that is drawn to be read."""

pytestmark = pytest.mark.parametrize("database_url", ["sqlite"], indirect=True)


def test_an_answer_is_kept_shown_and_printed(client: Client, people: People) -> None:
    trade = Trade(client, people)
    plan = f"vehicle={trade.tarn}&condition=on_road&carrier={trade.platform}&gear.1.name=%3Ctent&gear.1.mass=30&unit=kg"
    kept = client.post("/receipts", data={"plan": plan})
    assert kept.status_code == 303
    here = kept.headers["location"]
    assert client.post("/receipts", data={"plan": plan}).headers["location"] == here
    shown = client.get(here)
    assert shown.status_code == 200
    assert "This answer still stands." in shown.text
    assert "20 kg left." in shown.text
    assert "&lt;tent" in shown.text
    assert "<tent" not in shown.text
    assert f"/plan?vehicle={trade.tarn}" in shown.text
    card = client.get(f"{here}/card")
    assert "May be carried" in card.text
    assert square_code(f"http://registry{here}").path in card.text
    assert read(card.text) == f"http://registry{here}"
    assert "certifies nothing" in card.text
    assert "OUT OF DATE" not in card.text
    nameless = client.get(f"{here}/card", headers={"Host": "a b<c"})
    assert "<path" not in nameless.text
    lower = {"basis": "includes_carrier", "condition": "on_road"}
    everywhere = {"years": "all", "bodies": "all", "roofs": "all", "markets": "all"}
    trade.vetted("vehicle", trade.tarn, "roof_limit", "60", trade.handbook, scope=everywhere, **lower)
    fallen = client.get(here)
    assert "Less may be carried now" in fallen.text
    assert "lowered it" in fallen.text
    assert "OUT OF DATE" in client.get(f"{here}/card").text


def read(page: str) -> str:
    """What somebody else's reader makes of the square code on a page."""
    drawn = re.search(r'<svg class="code" viewBox="0 0 ([0-9]+) .*? d="([^"]+)"', page)
    assert drawn is not None
    side = int(drawn[1]) * MODULE
    paper = Image.new("L", (side, side), 255)
    pen = ImageDraw.Draw(paper)
    for x, y, width in re.findall(r"M([0-9]+) ([0-9]+)h([0-9]+)v1", drawn[2]):
        left, top = int(x) * MODULE, int(y) * MODULE
        pen.rectangle((left, top, left + int(width) * MODULE - 1, top + MODULE - 1), fill=0)
    (found,) = zxingcpp.read_barcodes(paper)
    return str(found.text)


def test_what_cannot_be_kept_leads_back_and_what_is_not_there_is_said(client: Client, people: People) -> None:
    bad = client.post("/receipts", data={"plan": "vehicle=nothing-here&gear.1.mass=abc"})
    assert bad.status_code == 303
    assert "gear.1.mass=abc" in bad.headers["location"]
    assert client.post("/receipts", data={"plan": "é"}).status_code == 422
    assert client.get(f"/receipts/{'0' * 64}").status_code == 404
    trade = Trade(client, people)
    subject = {"kind": "vehicle", "id": trade.tarn}
    figure = trade.post("/receipts", {"limit": {"subject": subject, "condition": "on_road"}}, "anonymous")
    digest = figure["receipt"]["digest"].removeprefix("sha256:")
    assert "75 kg, rack included" in client.get(f"/receipts/{digest}").text
    assert client.get(f"/receipts/{digest}/card").status_code == 404
