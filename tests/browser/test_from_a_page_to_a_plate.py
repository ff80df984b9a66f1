"""A rating from the page on which it is printed to the plate, and off it again, by everybody who has a part in it."""

import re
from pathlib import Path
from typing import Final, NamedTuple

import pytest
from fpdf import FPDF
from playwright.sync_api import expect

from app.bootstrap import Registry
from app.services import looking, page_reading
from app.services.daily import system_work
from app.services.outbox import Outcome
from app.services.tools import Tools
from tests.browser.conftest import WAYS, Come
from tests.browser.typist import Typist
from tests.browser.visitor import Account, Visitor


class Cast(NamedTuple):
    """A vehicle with what its plate says of parking, and who has a part in what happens to it."""

    vehicle: str
    name: str
    was: str
    author: str
    reviewers: tuple[str, str]
    doubter: str
    steward: str


CASTS: Final = {
    "mouse": Cast(
        "cobblewyn-larkenby-l3-2006",
        "Cobblewyn Larkenby L3",
        "75",
        author="oxbow",
        reviewers=("quillon", "tambour"),
        doubter="marram",
        steward="hollowick",
    ),
    "no-scripts": Cast(
        "orrin-ghyllet-g1-2009",
        "Orrin Ghyllet G1",
        "50",
        author="marram",
        reviewers=("underfell", "verjuice"),
        doubter="oxbow",
        steward="bellmoor",
    ),
    "keyboard": Cast(
        "skaveld-frostrik-fr-2016",
        "Skaveld Frostrik FR",
        "100",
        author="pipistrel",
        reviewers=("sedge-and-rule", "quillon"),
        doubter="marram",
        steward="hollowick",
    ),
}
QUOTE: Final = "When parked, the roof carries 150 kg, rack and feet included."


def paper(cast: Cast, folder: Path) -> Path:
    """A page of a handbook, as a file."""
    page = FPDF()
    page.add_page()
    page.set_font("Helvetica", size=14)
    page.multi_cell(0, 9, f"{cast.name}\nRoof load, all model years, bodies and roofs\n{QUOTE}\n41")
    path = folder / "handbook-page-41.pdf"
    page.output(str(path))
    return path


@pytest.mark.parametrize("way", CASTS)
def test_a_rating_comes_onto_the_plate_and_off_it_again(
    way: str, come: Come, registry: Registry, accounts: dict[str, Account], tmp_path: Path
) -> None:
    cast, anybody = CASTS[way], come()
    before, after = f"PARKED at least {cast.was} kg", "PARKED 150 kg"

    def somebody(name: str) -> Visitor:
        visitor = come(width=360, **WAYS[way])
        visitor.sign_in(accounts[name])
        return visitor

    def plate() -> str:
        anybody.go(f"/vehicles/{cast.vehicle}")
        return " ".join(anybody.page.get_by_role("region", name="Roof limit of").inner_text().split())

    author = somebody(cast.author)
    assert before in plate()
    document = file_evidence(author, cast, paper(cast, tmp_path))
    read(registry, document)
    claim = submit(author, cast)
    look(registry, claim)
    decide(somebody(cast.reviewers[0]), cast, claim, "First reading")
    assert before in plate()
    decide(somebody(cast.reviewers[1]), cast, claim, "Second reading")
    assert after in plate()
    dispute(somebody(cast.doubter), cast, claim, document)
    assert before in plate()
    shut_out(author, somebody(cast.steward), cast, document, accounts[cast.author])


def file_evidence(author: Visitor, cast: Cast, file: Path) -> str:
    """The page itself, before anything is said of it."""
    author.follow("Submit a rating")
    author.fill("q", cast.name.lower())
    author.press("Find")
    author.follow(cast.name)
    author.attach("file", file)
    author.choose("kind", "handbook")
    author.fill("edition", "2nd edition")
    author.press("File it and go on")
    filed = re.search(r"Filed as (D\d+)", author.text())
    assert filed is not None
    return filed[1]


def submit(author: Visitor, cast: Cast) -> str:
    """What it says, a look at all of it, and only then the claim."""
    says(author, "150")
    author.fill("page", "41")
    author.fill("quote", QUOTE)
    author.press("Check it")
    text = author.text()
    assert f"{cast.name} of every year, any body, any roof: 150 kg parked, rack included, says page 41" in text
    assert "The machine finds the figure on the page" in text
    author.press("Enter it")
    entered = re.search(r"/claims/(C\d+)", author.page.url)
    assert entered is not None
    return entered[1]


def says(author: Visitor, value: str) -> None:
    """Fill in what a page says."""
    author.fill("value", value)
    author.tick("unit", "kg")
    author.tick("condition", "parked")
    author.tick("basis", "includes_carrier")
    for dimension in ("years", "bodies", "roofs"):
        author.tick(f"{dimension}_said", "all")


def read(registry: Registry, document: str) -> None:
    """Have the machine read a document, as a worker beside the server does."""
    work(registry, page_reading.read(tools_of(registry), document))


def look(registry: Registry, claim: str) -> None:
    """Have the machine look for a claim's figure on the page."""
    with registry.database.read() as session:
        cited = looking.claim(session, claim).citations
    for each in cited:
        work(registry, page_reading.look(tools_of(registry), each.id))


def tools_of(registry: Registry) -> Tools:
    return Tools(registry.database, registry.store, registry.fetcher, registry.reader)


def work(registry: Registry, enter: Outcome) -> None:
    with registry.database.write() as session:
        enter(system_work(session, registry.clock.now(), registry.store))


def decide(reviewer: Visitor, cast: Cast, claim: str, kind: str) -> None:
    """Take it from the desk, key what the page says, see what is claimed, decide with a reason, and come back."""
    reviewer.follow("Desk")
    reviewer.follow(kind)
    while f"{kind}: {cast.name}" not in reviewer.text():
        reviewer.follow("Show more")
    take(reviewer, kind, cast.name)
    assert "It claims" not in reviewer.text()
    assert "150" not in reviewer.page.locator("#reading").inner_html()
    reviewer.fill("value", "150")
    reviewer.tick("value_unit", "kg")
    reviewer.tick("condition", "parked")
    reviewer.tick("basis", "includes_carrier")
    for dimension in ("years", "bodies", "roofs"):
        reviewer.tick(dimension, "all")
    if isinstance(reviewer, Typist) and kind == "Second reading":
        reviewer.strike("s")
    else:
        reviewer.press("This is what I read")
    assert "The claim stays within what you read" in reviewer.text()
    assert QUOTE in reviewer.text()
    if isinstance(reviewer, Typist):
        reviewer.page.keyboard.press("1")
        expect(reviewer.field("reason")).to_be_focused()
    else:
        reviewer.tick("decision", "approve")
    reviewer.fill("reason", "Page 41, the second sentence.")
    reviewer.press("Decide, and back to the desk")
    assert f"{claim} approved." in reviewer.text()


def take(reviewer: Visitor, kind: str, name: str) -> None:
    """Take a piece of work: by its button, or by the desk's own keys."""
    if not isinstance(reviewer, Typist):
        reviewer.press(f"Take {kind.lower()}: {name}")
        return
    link = reviewer.page.get_by_role("link", name=f"{kind}: {name}")
    while not link.evaluate("each => each === document.activeElement"):
        reviewer.page.keyboard.press("j")
    reviewer.strike("Enter")
    reviewer.leave_field()
    reviewer.strike("h")
    assert "In your hands" in reviewer.text()


def dispute(doubter: Visitor, cast: Cast, claim: str, document: str) -> None:
    """Doubt it, with a page that is here."""
    doubter.go(f"/vehicles/{cast.vehicle}")
    doubter.follow(re.compile(f"^{claim}"))
    doubter.follow(re.compile("Dispute"))
    doubter.fill("reason", "The page is that of another body: see its heading.")
    doubter.fill("document", document)
    doubter.press("Dispute it")
    assert "The claim gives no answer until it is settled." in doubter.text()


def shut_out(author: Visitor, steward: Visitor, cast: Cast, document: str, account: Account) -> None:
    """A page that is open when its account is disabled does nothing any more, and loses nothing either."""
    typed = "A long sentence that was typed by hand."
    author.go(f"/submit?vehicle={cast.vehicle}&document={document}")
    says(author, "160")
    author.fill("quote", typed)
    steward.go("/people")
    steward.fill("name", account.name)
    steward.press("Look")
    steward.follow(account.name)
    steward.follow("Disable")
    steward.press("Disable the account")
    assert "The account is disabled." in steward.text()

    author.expect(401)
    author.press("Check it")
    assert "What you typed is kept: sign in, and send it." in author.text()
    author.prove(account)
    assert "is wrong" in author.text()
    steward.follow("Enable again")
    steward.press("Enable the account")
    author.prove(account)
    assert typed in author.text()
    author.press("Send what I typed")
    assert "any roof: 160 kg parked, rack included" in author.text()
    assert typed in author.text()
