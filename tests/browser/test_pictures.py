"""The pictures in docs/ show the pages as they are. With CANTRAIL_PICTURES=draw this makes them anew."""

import os
from io import BytesIO
from itertools import combinations
from pathlib import Path
from typing import Final, NamedTuple

from PIL import Image, ImageChops, ImageStat
from playwright.sync_api import Page

from tests.browser.conftest import Come
from tests.browser.visitor import Account

FOLDER: Final = Path(__file__).parents[2] / "docs" / "pictures"
DRAW: Final = os.environ.get("CANTRAIL_PICTURES") == "draw"

TARN: Final = "orrin-tarn-t2-2019"
CAR: Final = "year=2021&body=dual_cab&roofs=raised_rail"
LOAD: Final = (
    "carrier=pellwick-slatten-rough-p2-2021&gear.1.name=awning&gear.1.mass=14&gear.1.tolerance=1"
    "&gear.2.name=boards&gear.2.mass=7.6"
)
APART: Final = 3.0
"""How far two pictures may lie apart, of 255, seen from afar: dates and ids change with the day, the page does not."""


class Picture(NamedTuple):
    """What is shown to whom."""

    path: str
    who: str | None = None
    width: int = 1200
    height: int = 900
    dark: bool = False
    paper: bool = False


PICTURES: Final = {
    "find": Picture("/find?q=orin+tarn", width=390, height=760),
    "vehicle": Picture(f"/vehicles/{TARN}?{CAR}"),
    "plan": Picture(f"/plan?vehicle={TARN}&{CAR}&condition=off_road&{LOAD}", height=1500),
    "plan-phone": Picture(f"/plan?vehicle={TARN}&{CAR}&condition=off_road&{LOAD}", width=390, height=1200, dark=True),
    "submit": Picture(f"/submit?vehicle={TARN}", who="oxbow"),
    "desk": Picture("/desk", who="quillon"),
    "claim": Picture("/claims/C1124", height=1400),
    "coverage": Picture("/coverage", dark=True),
}


def test_pictures_show_the_pages_as_they_are(come: Come, accounts: dict[str, Account]) -> None:
    found = {}
    for name, picture in PICTURES.items():
        made = drawn(come, accounts, picture)
        if DRAW:
            keep(made, FOLDER / f"{name}.png")
        found[name] = apart(made, kept(name))
    assert {name: far for name, far in found.items() if far > APART} == {}


def test_pictures_of_different_pages_are_told_apart() -> None:
    pictures = {name: kept(name) for name in PICTURES}
    for one, other in combinations(pictures, 2):
        assert apart(pictures[one], pictures[other]) > APART, (one, other)


def drawn(come: Come, accounts: dict[str, Account], picture: Picture) -> Image.Image:
    """The page as it is now."""
    visitor = come(width=picture.width, dark=picture.dark)
    if picture.who is not None:
        visitor.sign_in(accounts[picture.who])
    assert visitor.go(picture.path) == 200
    return photograph(visitor.page, picture)


def photograph(page: Page, picture: Picture) -> Image.Image:
    """What the window shows."""
    page.set_viewport_size({"width": picture.width, "height": picture.height})
    if picture.paper:
        page.emulate_media(media="print")
    page.evaluate("document.fonts.ready")
    return Image.open(BytesIO(page.screenshot()))


def keep(made: Image.Image, path: Path) -> None:
    """Write a picture, in few colours so that it stays small."""
    path.parent.mkdir(exist_ok=True)
    made.convert("RGB").quantize(48).save(path, optimize=True)


def kept(name: str) -> Image.Image:
    """A picture as it stands in docs/."""
    return Image.open(BytesIO((FOLDER / f"{name}.png").read_bytes()))


def apart(one: Image.Image, other: Image.Image) -> float:
    """The mean difference of two pictures, of 255, seen from so far that single letters are not told apart."""
    if one.size != other.size:
        return 255.0
    size = (one.width // 12, one.height // 12)
    seen = [each.convert("RGB").convert("L").resize(size, Image.Resampling.BOX) for each in (one, other)]
    mean: float = ImageStat.Stat(ImageChops.difference(*seen)).mean[0]
    return mean
