"""What was typed is done once and never lost: sent twice, gone back to, or sent when the session was over."""

import re
from pathlib import Path
from typing import Final

import pytest
from PIL import Image
from playwright.sync_api import expect

from app.bootstrap import Registry
from app.core.claim import Subject, SubjectKind
from app.services import accounts as kept_accounts
from app.services import looking, sessions
from tests.browser.conftest import Come
from tests.browser.visitor import Account, Visitor

TARN: Final = "orrin-tarn-t2-2019"
QUOTE: Final = "The roof of the dual cab carries 71 kg while driving, rack and feet included."


def claims_on(registry: Registry, vehicle: str = TARN) -> list[str]:
    """The claims on a vehicle, in the order in which they were entered."""
    subject = Subject(SubjectKind.VEHICLE, vehicle)
    with registry.database.read() as session:
        return [each.id for each in looking.claims_on(session, subject, after=0, limit=200).items]


def disputes_of(registry: Registry, claim: str) -> int:
    with registry.database.read() as session:
        return len(looking.claim(session, claim).disputes)


def end_session(registry: Registry, name: str) -> None:
    """Sign somebody out behind their back."""
    with registry.database.write() as session:
        sessions.end_all(session, kept_accounts.named(session, name).id)


def say(visitor: Visitor, value: str) -> None:
    visitor.fill("value", value)
    visitor.tick("unit", "kg")
    visitor.fill("quote", QUOTE)
    visitor.tick("condition", "on_road")
    visitor.tick("basis", "includes_carrier")
    visitor.tick("years_said", "all")


def paper_of(registry: Registry) -> str:
    """A document of the vehicle's maker."""
    with registry.database.read() as session:
        return looking.documents(session, cursor=None, limit=1, publisher="orrin").items[0].id


def press_twice(visitor: Visitor, name: str, towards: str) -> None:
    """Press a button twice at once, as impatient people do."""
    visitor.page.get_by_role("button", name=name).dblclick()
    expect(visitor.page).to_have_url(re.compile(towards))
    visitor.page.wait_for_load_state()


@pytest.fixture
def author(come: Come, accounts: dict[str, Account]) -> Visitor:
    visitor = come(width=360)
    visitor.sign_in(accounts["oxbow"])
    return visitor


def test_a_claim_is_entered_once_however_often_and_going_back_shows_what_was_typed(
    author: Visitor, registry: Registry
) -> None:
    page = author.page
    before = claims_on(registry)
    author.go(f"/submit?vehicle={TARN}&document={paper_of(registry)}")
    say(author, "71")
    author.press("Check it")
    press_twice(author, "Enter it", "/claims/")
    entered = page.url
    assert len(claims_on(registry)) == len(before) + 1

    page.go_back()
    assert QUOTE in author.text()
    author.press("Enter it")
    assert page.url == entered
    assert len(claims_on(registry)) == len(before) + 1

    page.go_back()
    page.go_back()
    expect(author.field("value")).to_have_value("71")
    expect(author.field("quote")).to_have_value(QUOTE)
    expect(author.field("years_said", "all")).to_be_checked()
    expect(author.field("basis", "includes_carrier")).to_be_checked()


def test_a_dispute_is_entered_once_and_its_words_are_there_on_going_back(author: Visitor, registry: Registry) -> None:
    page, claim = author.page, "C1155"
    author.go(f"/claims/{claim}/dispute")
    author.fill("reason", QUOTE)
    author.fill("document", paper_of(registry))
    press_twice(author, "Dispute it", "done=disputed")
    assert disputes_of(registry, claim) == 1
    page.go_back()
    expect(author.field("reason")).to_have_value(QUOTE)
    expect(author.field("document")).to_have_value(paper_of(registry))
    author.press("Dispute it")
    assert "is entered" in author.text()
    assert disputes_of(registry, claim) == 1


def test_the_same_form_posted_twice_is_one_enquiry(author: Visitor, registry: Registry) -> None:
    page = author.page
    author.go("/enquiries/new?vehicle=orrin-mossick-m1-2020")
    author.fill("asked", "orrin")
    author.fill("questions", QUOTE)
    author.tick("conditions", "on_road")
    author.fill("asked_on", "2026-03-02")
    form: dict[str, str | float | bool] = page.evaluate(
        "Object.fromEntries(new FormData(document.querySelector('main form')))"
    )
    by_page = {"Sec-Fetch-Site": "same-origin"}
    answers = [page.request.post("/enquiries/new", form=form, headers=by_page, max_redirects=0) for _ in range(3)]
    assert {each.status for each in answers} == {303}
    assert len({each.headers["location"] for each in answers}) == 1
    author.press("Enter it")
    assert page.url.endswith(answers[0].headers["location"])
    page.go_back()
    expect(author.field("questions")).to_have_value(QUOTE)


def test_what_was_typed_when_a_session_ended_is_sent_after_signing_in(
    author: Visitor, registry: Registry, accounts: dict[str, Account]
) -> None:
    author.expect(401)
    account, before = accounts["oxbow"], claims_on(registry)

    author.go(f"/submit?vehicle={TARN}&document={paper_of(registry)}")
    say(author, "72")
    send_without_session(author, registry, account, "Check it")
    assert "72 kg" in author.text()
    assert QUOTE in author.text()
    send_without_session(author, registry, account, "Enter it")
    assert "/claims/" in author.page.url
    assert len(claims_on(registry)) == len(before) + 1

    author.go("/claims/C1173/dispute")
    author.fill("reason", QUOTE)
    send_without_session(author, registry, account, "Dispute it")
    assert disputes_of(registry, "C1173") == 1
    assert QUOTE in author.text()

    author.go("/enquiries/new?vehicle=orrin-mossick-m1-2020")
    author.fill("asked", "orrin")
    author.fill("questions", QUOTE)
    author.tick("conditions", "parked")
    author.fill("asked_on", "2026-03-02")
    send_without_session(author, registry, account, "Enter it")
    assert QUOTE in author.text()


def send_without_session(visitor: Visitor, registry: Registry, account: Account, button: str) -> None:
    """Send a form when the session is over, sign in, and send what was kept."""
    end_session(registry, account.name)
    visitor.press(button)
    assert "What you typed is kept" in visitor.text()
    visitor.prove(account)
    assert QUOTE in visitor.text()
    visitor.press("Send what I typed")


def test_a_file_is_asked_for_again_when_the_session_ended_and_nothing_else_is(
    author: Visitor, registry: Registry, accounts: dict[str, Account], tmp_path: Path
) -> None:
    picture = tmp_path / "page.png"
    Image.effect_noise((60, 40), 50).save(picture)
    author.go(f"/submit?vehicle={TARN}&publisher=orrin")
    author.attach("file", picture)
    author.choose("kind", "handbook")
    author.fill("edition", "third printing")
    end_session(registry, "oxbow")
    author.expect(401)
    author.press("File it and go on")
    author.prove(accounts["oxbow"])
    assert "third printing" in author.text()
    assert "Choose the document again" in author.text()
    author.expect(422)
    author.press("Send what I typed")
    expect(author.field("edition")).to_have_value("third printing")
    expect(author.field("kind")).to_have_value("handbook")
    author.attach("file", picture)
    press_twice(author, "File it and go on", "document=D")
    assert re.search(r"Filed as D\d+", author.text())
    author.page.go_back()
    expect(author.field("edition")).to_have_value("third printing")


def test_a_blind_reading_is_kept_when_the_session_ended(
    come: Come, registry: Registry, accounts: dict[str, Account]
) -> None:
    reviewer = come()
    reviewer.sign_in(accounts["tambour"])
    reviewer.go("/desk?kind=first_reading")
    reviewer.press(re.compile("Take first reading: .* on |Take first reading"))
    work = reviewer.page.url
    reviewer.fill("value", "61.25")
    reviewer.tick("value_unit", "kg")
    for name, value in (("condition", "on_road"), ("basis", "not_stated")):
        if reviewer.field(name, value).count():
            reviewer.tick(name, value)
    end_session(registry, "tambour")
    reviewer.expect(401)
    reviewer.press("This is what I read")
    assert "What you typed is kept" in reviewer.text()
    reviewer.prove(accounts["tambour"])
    assert "61.25" in reviewer.text()
    reviewer.press("Send what I typed")
    assert reviewer.page.url.partition("?")[0] == work.partition("?")[0]
    assert "You read" in reviewer.text()
    assert "61.25 kg" in reviewer.text()
