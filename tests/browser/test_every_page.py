"""Every page as somebody sees it: nothing in anybody's way, nothing out of its frame, nothing heavy, and no complaint."""

from typing import Final

import pytest

from app.bootstrap import Registry
from app.core.claim import Subject, SubjectKind
from app.core.permissions import MAY, Role
from app.services import desk, looking
from app.services.desk import ListDesk
from app.services.work import Caller
from tests.browser.conftest import Come
from tests.browser.visitor import MOST_BYTES, Account

VEHICLE: Final = "orrin-tarn-t2-2019"
PLAN: Final = "/plan?vehicle=orrin-tarn-t2-2019&condition=off_road"
FULL_PLAN: Final = PLAN + "".join(f"&gear.{n}.name=thing+{n}&gear.{n}.mass={n}" for n in range(1, 13))

PAGES: Final = {
    "anonymous": (
        "/",
        "/find?q=tarn",
        "/find?q=no+such+thing+at+all",
        f"/vehicles/{VEHICLE}",
        f"/vehicles/{VEHICLE}?year=2021&body=dual_cab",
        f"/vehicles/{VEHICLE}/timeline",
        f"/vehicles/{VEHICLE}/letter",
        "/carriers/pellwick-slatten-rough-p2-2021",
        "/publishers/orrin",
        "/plan",
        PLAN,
        FULL_PLAN,
        "/coverage",
        "/desk-figures",
        "/changes",
        "/placements",
        "/enquiries",
        "/how",
        "/data",
        "/api",
        "/sign-in",
        "/register",
        "/password",
    ),
    "oxbow": (
        "/submit",
        f"/submit?vehicle={VEHICLE}",
        "/vehicles/new",
        "/enquiries/new",
        "/account",
        "/account/claims",
        "/account/tokens",
        "/account/interests",
        "/account/password",
        "/account/one-time-password",
        "/desk/own",
    ),
    "quillon": ("/desk", "/account"),
    "hollowick": (
        "/desk",
        "/people",
        "/account",
        f"/vehicles/{VEHICLE}/correction",
        f"/vehicles/{VEHICLE}/merger",
        f"/vehicles/{VEHICLE}/split",
        "/documents/D1087/copy",
        "/documents/D1087/takedown",
    ),
}
"""Who looks at what. Pages of one claim, document and the like are found in the registry."""


def of_the_registry(registry: Registry) -> list[str]:
    """A page of each claim that is in a state of its own, of its document, and of a dispute and an enquiry."""
    states: dict[str, str] = {}
    documents: list[str] = []
    disputes: list[str] = []
    with registry.database.read() as session:
        for record in looking.records(session, kind=SubjectKind.VEHICLE, cursor=None, limit=200).items:
            subject = Subject(SubjectKind.VEHICLE, record.id)
            for claim in looking.claims_on(session, subject, after=0, limit=200).items:
                key = f"{claim.state}{claim.derivation is not None}"
                if key not in states:
                    states[key] = claim.id
                    documents += [each.document for each in claim.citations[:1]]
                    disputes += [each.id for each in claim.disputes]
    return [
        *(f"/claims/{id}" for id in states.values()),
        *(f"/documents/{id}" for id in documents[:2]),
        *(f"/documents/{id}/pages/1" for id in documents[:1]),
        *(f"/disputes/{id}" for id in disputes[:1]),
    ]


def work_at_the_desk(registry: Registry, account: str) -> list[str]:
    """A page of each kind of work that waits."""
    with registry.database.read() as session:
        by = Caller(account, Role.STEWARD, MAY[Role.STEWARD])
        waiting = desk.waiting(session, by, registry.clock.now(), ListDesk(limit=200)).items
    kinds = {each.kind: each.id for each in reversed(waiting)}
    return [f"/desk/{id}" for id in kinds.values()]


@pytest.mark.parametrize("who", PAGES)
def test_every_page_is_open_to_everybody(
    who: str, come: Come, registry: Registry, accounts: dict[str, Account]
) -> None:
    pages = list(PAGES[who])
    visitor = come(width=360)
    if who == "anonymous":
        pages += of_the_registry(registry)
    else:
        visitor.sign_in(accounts[who])
    if who == "hollowick":
        pages += work_at_the_desk(registry, who)
    found: dict[str, list[str]] = {}
    for path in pages:
        status = visitor.go(path)
        wrong = visitor.barriers()
        if status != 200:
            wrong.append(f"status {status}")
        visitor.page.set_viewport_size({"width": 320, "height": 640})
        wrong += visitor.overflows()
        visitor.page.set_viewport_size({"width": 360, "height": 640})
        if visitor.weight() > MOST_BYTES:
            wrong.append(f"{visitor.weight()} bytes")
        if visitor.page.locator("h1").count() != 1:
            wrong.append("no one heading")
        if wrong:
            found[path] = wrong
    assert found == {}
