"""The card for the door pillar, as a printer gets it and a telephone reads it."""

from pathlib import Path
from typing import Final

import pypdfium2
import pytest
import zxingcpp
from PIL import ImageOps

from tests.browser.conftest import Come

PLAN: Final = (
    "/plan?vehicle=orrin-tarn-t2-2019&year=2021&body=dual_cab&condition=off_road&carrier=pellwick-slatten-rough-p2-2021"
    "&gear.1.name=awning&gear.1.mass=14&gear.2.name=tent&gear.2.mass=36&unit=kg"
)
A6_MM: Final = (148.0, 105.0)
POINT_MM: Final = 25.4 / 72


def test_a_card_is_one_sheet_of_a6_and_its_code_leads_to_the_receipt(come: Come, address: str, tmp_path: Path) -> None:
    visitor = come()
    visitor.go(PLAN)
    visitor.press("Keep this answer")
    receipt = visitor.page.url
    assert receipt.startswith(f"{address}/receipts/")
    visitor.follow("Card for the door pillar")
    printed = tmp_path / "card.pdf"
    # Printers are told to leave backgrounds out: what matters must not depend on them.
    visitor.page.pdf(path=printed, prefer_css_page_size=True, print_background=False)
    card = pypdfium2.PdfDocument(printed)
    assert len(card) == 1
    size = [side * POINT_MM for side in card[0].get_size()]
    assert size == pytest.approx(A6_MM, abs=1.0)
    text = " ".join(card[0].get_textpage().get_text_range().split())
    for wanted in (
        "Orrin Tarn T2",
        "Off road",
        "25",
        "kg",
        "Not 100 kg",
        "OVER.",
        "confidence 0.95, vetted",
        "certifies",
    ):
        assert wanted in text
    paper = card[0].render(scale=4, grayscale=True).to_pil()
    (code,) = zxingcpp.read_barcodes(paper)
    assert code.text == receipt
    # Nothing touches the edge, where printers leave a margin.
    left, top, right, bottom = ImageOps.invert(paper).getbbox() or (0, 0, 0, 0)
    margin = min(left, top, paper.width - right, paper.height - bottom) / 4 * POINT_MM
    assert margin > 3.0
