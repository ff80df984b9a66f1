"""Measure the pages among a hundred thousand vehicles: `python -m tests.bench.pages [FOLDER] [--url DATABASE] [WORDS]`.

The registry is made in the folder the first time, which takes some minutes, and kept there. Each kind of page is asked
for over the application in this process, by whoever may see it. Told are: the milliseconds of the processor that a page
takes, whatever else the machine does (SQLite's are among them, a server's are not); what they are of the bare framework
answering as many bytes; what the same statements take by themselves, and how many there are; the page where no dossier is
in memory yet; and the milliseconds from the question to the answer. WORDS choose pages by their names.
"""

import argparse
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from datetime import timedelta
from pathlib import Path
from statistics import median
from typing import Any, Final, NamedTuple
from urllib.parse import urlencode

import httpx
import msgspec
from fastapi import FastAPI
from sqlalchemy import Engine, event
from starlette.responses import Response

from app.bootstrap import Registry, open_registry
from app.persistence.queries import accounts
from app.services import kept, sessions
from app.services.answering import Answers
from app.services.asked import BudgetIn
from app.services.finding import Finder
from app.web.cookies import COOKIE
from app.web.main import create_app
from app.web.pages.rendering import asset
from tests.bench.large import BIG_MAKER, BUSY_VEHICLE, PLAIN_VEHICLE, POPULAR_CARRIER, registry
from tests.web.talking import Client, talking_to

ROUNDS: Final = 5
DEMO: Final = "orrin-tarn-t2-2019"
RACK: Final = "pellwick-slatten-p1-2018"
KEPT: Final = Path(tempfile.gettempdir()) / "cantrail-bench-pages"


class Page(NamedTuple):
    """One page to ask for, and who asks."""

    name: str
    path: str
    by: str | None = None
    form: dict[str, str] | None = None


class Took(NamedTuple):
    """What a page took, in milliseconds."""

    warm: float
    cold: float
    waited: float
    bare: float
    raw: float
    statements: int
    size: int
    status: int


def pages(one: Callable[[str], str], digest: str) -> Iterator[Page]:
    """Every kind of page; `one` gives the id that some SQL finds."""
    approved = one("SELECT id FROM claim WHERE subject_id = 'vehicle-7' AND approvals = 2 AND state = 'approved'")
    newest = one(
        f"SELECT id FROM claim WHERE subject_id = '{BUSY_VEHICLE}' AND state = 'approved' ORDER BY seq DESC LIMIT 1"
    )
    waiting = one(
        f"SELECT id FROM claim WHERE subject_id = '{BUSY_VEHICLE}' AND state = 'submitted' AND author = 'ballast-0'"
    )
    plain = one(f"SELECT id FROM claim WHERE subject_id = '{PLAIN_VEHICLE}' ORDER BY approvals DESC, seq LIMIT 1")
    first = one("SELECT about FROM desk_work WHERE kind = 'first_reading' AND claim IN "
                "(SELECT id FROM claim WHERE author LIKE 'ballast%') ORDER BY turn, stands_at LIMIT 1")  # fmt: skip
    record = one(
        "SELECT about FROM desk_work WHERE kind = 'record' AND subject_kind = 'vehicle' AND about LIKE '%vehicle-%'"
    )
    read = one(
        "SELECT work.about FROM desk_work work JOIN reading ON reading.claim = work.about "
        "JOIN account ON account.id = reading.reviewer AND account.name = 'quillon' "
        "WHERE work.kind = 'second_reading' AND NOT EXISTS "
        "(SELECT id FROM decision WHERE decision.claim = work.about AND decision.reviewer = reading.reviewer)"
    )
    settle = one("SELECT about FROM desk_work WHERE kind = 'settlement' AND author LIKE 'ballast%'")
    name = one("SELECT name FROM publisher WHERE slug = 'maker-0'")
    model = one("SELECT model FROM vehicle WHERE slug = 'vehicle-70001'")
    misspelt = f"{name[:-1]} {model[0]}{model[2:]}"
    enquiry = one("SELECT id FROM enquiry ORDER BY seq DESC LIMIT 1")
    fitment = one("SELECT id FROM fitment ORDER BY seq DESC LIMIT 1")
    reviewer = one("SELECT reviewer FROM decision GROUP BY reviewer ORDER BY count(*) DESC LIMIT 1")
    document = one("SELECT document FROM citation GROUP BY document ORDER BY count(*) DESC LIMIT 1")
    yield Page("front", "/")
    yield Page("find, misspelt", "/find?" + urlencode({"q": misspelt}))
    yield Page("find, a year too", "/find?" + urlencode({"q": misspelt + " 2019"}))
    yield Page("find, one word", "/find?" + urlencode({"q": model}))
    yield Page("find, nothing there", "/find?q=zzyyxx+jjqq")
    for called, id in (("demo", DEMO), ("plain", PLAIN_VEHICLE), ("busy", BUSY_VEHICLE)):
        yield Page(f"vehicle, {called}", f"/vehicles/{id}")
        yield Page(f"vehicle, {called}, narrowed", f"/vehicles/{id}?year=2020&body=dual_cab")
        yield Page(f"timeline, {called}", f"/vehicles/{id}/timeline")
        yield Page(f"plan, {called}, empty", f"/plan?vehicle={id}")
    yield Page("letter", f"/vehicles/{PLAIN_VEHICLE}/letter?condition=on_road")
    yield Page("rack", f"/carriers/{RACK}")
    yield Page("rack that fits 3,000", f"/carriers/{POPULAR_CARRIER}")
    yield Page("fixing", "/fixings/fixing-7")
    yield Page("gear", "/gear/gear-7")
    yield Page("fitment", f"/fitments/{fitment}")
    yield Page("vehicle, putting right", f"/vehicles/{BUSY_VEHICLE}/correction", "hollowick")
    yield Page("vehicle, merging", f"/vehicles/{BUSY_VEHICLE}/merger", "hollowick")
    yield Page("vehicle, splitting", f"/vehicles/{BUSY_VEHICLE}/split", "hollowick")
    yield Page("placements", "/placements", "hollowick")
    yield Page("plan, nothing yet", "/plan")
    filled = {"vehicle": DEMO, "year": "2021", "body": "dual_cab", "condition": "off_road", "carrier": RACK}
    gear = "&gear.1.category=awning&gear.2.name=tent&gear.2.mass=65"
    yield Page("plan, filled", "/plan?" + urlencode(filled) + gear)
    busy_plan = {**filled, "vehicle": BUSY_VEHICLE, "carrier": "carrier-3"}
    yield Page("plan, filled, busy", "/plan?" + urlencode(busy_plan) + gear)
    yield Page("plan, another rack by name", "/plan?" + urlencode({**filled, "find": model}))
    yield Page("plan, for a rack only", f"/plan?carrier={POPULAR_CARRIER}")
    yield Page("receipt", f"/receipts/{digest}")
    yield Page("card", f"/receipts/{digest}/card")
    yield Page("submit, about what", "/submit?" + urlencode({"q": misspelt}), "pipistrel")
    yield Page("submit, evidence", f"/submit?vehicle={BUSY_VEHICLE}", "pipistrel")
    said = {"document": document, "vehicle": BUSY_VEHICLE}
    yield Page("submit, what it says", "/submit?" + urlencode(said), "pipistrel")
    whole = {**said, "quantity": "roof_limit", "value": "75", "unit": "kg", "condition": "on_road", "page": "12",
             "basis": "includes_carrier", "source_type": "manual_page", "interest": "none"}  # fmt: skip
    yield Page("submit, looked over", "/submit/check", "pipistrel", whole)
    yield Page("submit, a publisher", "/submit/publisher?q=" + name, "pipistrel")
    yield Page("document", f"/documents/{document}", "pipistrel")
    yield Page("document, a page", f"/documents/{document}/pages/1", "pipistrel")
    yield Page("document, a copy", f"/documents/{document}/copy", "pipistrel")
    yield Page("document, taking down", f"/documents/{document}/takedown", "hollowick")
    yield Page("desk", "/desk", "quillon")
    yield Page("desk, one kind", "/desk?kind=second_reading", "quillon")
    yield Page("desk, steward", "/desk", "hollowick")
    yield Page("desk, busy reviewer", "/desk", "somebody 2999")
    yield Page("desk, own", "/desk/own", "somebody 0")
    yield Page("desk, proposed", "/desk/proposed", "hollowick")
    yield Page("desk, one to read", f"/desk/first_reading.{first}", "quillon")
    yield Page("desk, one to decide", f"/desk/second_reading.{read}", "quillon")
    yield Page("desk, a record", f"/desk/record.{record}", "quillon")
    yield Page("desk, a dispute", f"/desk/settlement.{settle}", "quillon")
    yield Page("claim, plain", f"/claims/{plain}")
    yield Page("claim, busy", f"/claims/{approved}")
    yield Page("claim, newest of the busy", f"/claims/{newest}")
    yield Page("claim, to one who reads", f"/claims/{waiting}", "quillon")
    yield Page("claim, dispute it", f"/claims/{approved}/dispute", "pipistrel")
    yield Page("claim, cite for it", f"/claims/{waiting}/cite", "pipistrel")
    yield Page("claim, withdraw it", f"/claims/{waiting}/withdraw", "somebody 0")
    yield Page("coverage", "/coverage")
    yield Page("coverage, a maker", f"/coverage?maker={BIG_MAKER}")
    yield Page("desk's figures", "/desk-figures")
    yield Page("changes", "/changes")
    yield Page("changes, earlier", "/changes?before=400000")
    yield Page("changes, as a feed", "/changes.atom")
    yield Page("enquiries", "/enquiries")
    yield Page("enquiry", f"/enquiries/{enquiry}")
    yield Page("enquiry, new", f"/enquiries/new?subject_kind=vehicle&subject_id={PLAIN_VEHICLE}", "pipistrel")
    yield Page("publisher", f"/publishers/{BIG_MAKER}")
    yield Page("people", "/people", "hollowick")
    yield Page("people, searched", "/people?q=somebody+29", "hollowick")
    busy = one("SELECT author FROM claim GROUP BY author ORDER BY count(*) DESC LIMIT 1")
    yield Page("person, busy", f"/people/{busy}", "hollowick")
    yield Page("person, a busy reviewer", f"/people/{reviewer}", "hollowick")
    yield Page("person, another role", f"/people/{busy}/role", "hollowick")
    yield Page("person, disabling", f"/people/{busy}/disabling", "hollowick")
    yield Page("account", "/account", "somebody 0")
    yield Page("account, claims", "/account/claims", "somebody 0")
    yield Page("account, interests", "/account/interests", "somebody 0")
    yield Page("account, tokens", "/account/tokens", "somebody 0")
    yield Page("account, password", "/account/password", "somebody 0")
    yield Page("vehicle, new", "/vehicles/new", "pipistrel")
    yield Page("rack fits, new", f"/fitments/new?vehicle={PLAIN_VEHICLE}", "pipistrel")
    yield Page("rack, new", "/carriers/new", "pipistrel")
    yield Page("sign in", "/sign-in")
    yield Page("register", "/register")
    yield Page("how", "/how")
    yield Page("data", "/data")
    yield Page("api", "/api")
    yield Page("api, a topic", "/api/claims")
    yield Page("a file", asset("style.css"))


@contextmanager
def listening(engine: Engine, heard: list[tuple[str, Any]]) -> Iterator[None]:
    """What is asked of the database, with what it is asked with."""

    def hear(_connection: Any, _cursor: Any, statement: str, parameters: Any, _context: Any, many: bool) -> None:
        if not many and not statement.startswith("BEGIN"):
            heard.append((statement, parameters))

    event.listen(engine, "before_cursor_execute", hear)
    try:
        yield
    finally:
        event.remove(engine, "before_cursor_execute", hear)


class Bench:
    """One registry, the application over it, and a bare one."""

    def __init__(self, opened: Registry, client: Client, bare: Client) -> None:
        self.registry = opened
        self.client = client
        self.bare = bare
        self._cookies: dict[str, str] = {}

    def ask(self, page: Page) -> httpx.Response:
        """Ask for a page."""
        headers = {"Sec-Fetch-Site": "same-origin"}
        if page.by is not None:
            headers["Cookie"] = f"{COOKIE}={self._cookie(page.by)}"
        if page.form is None:
            return self.client.get(page.path, headers=headers)
        return self.client.post(page.path, headers=headers, data=page.form)

    def _cookie(self, name: str) -> str:
        if name not in self._cookies:
            with self.registry.database.write() as session:
                account = accounts.account_named(session, name=name)
                assert account is not None, name
                now = self.registry.clock.now()
                opened = sessions.open_session(session, account, second_factor=True, now=now + timedelta(minutes=1))
                self._cookies[name] = opened.secret
        return self._cookies[name]

    def take(self, page: Page) -> Took:
        """Ask for a page again and again, from memory and from nothing."""
        answer = self.ask(page)
        heard: list[tuple[str, Any]] = []
        with listening(self.registry.database._reader, heard):
            self.ask(page)
        bare = f"/bare?size={len(answer.content)}"
        warm, waited = typical(lambda: self.ask(page))
        return Took(
            warm=warm,
            waited=waited,
            cold=typical(lambda: self.ask(page), self._forget)[0],
            bare=typical(lambda: self.bare.get(bare))[0],
            raw=typical(lambda: self._replay(heard))[0],
            statements=len(heard),
            size=len(answer.content),
            status=answer.status_code,
        )

    def _forget(self) -> None:
        self.registry.answers = Answers(self.registry.database, self.registry.settings.dossier_capacity)

    def _replay(self, heard: list[tuple[str, Any]]) -> None:
        with self.registry.database.read() as session:
            cursor = session.connection().connection.cursor()
            for statement, parameters in heard:
                cursor.execute(statement, parameters)
                cursor.fetchall()


def typical(what: Callable[[], Any], before: Callable[[], Any] | None = None) -> tuple[float, float]:
    """The median of some rounds, in milliseconds: of the processor, and of the clock."""
    worked, waited = [], []
    for _ in range(ROUNDS):
        if before is not None:
            before()
        begun = time.process_time(), time.perf_counter()
        what()
        worked.append((time.process_time() - begun[0]) * 1000)
        waited.append((time.perf_counter() - begun[1]) * 1000)
    return median(worked), median(waited)


def bare_framework() -> FastAPI:
    """The framework by itself, which gives as many bytes as it is asked for."""
    app = FastAPI()

    @app.get("/bare")
    def bare(size: int) -> Response:
        return Response(b"x" * size, media_type="text/html")

    return app


@contextmanager
def bench(folder: Path, url: str | None) -> Iterator[Bench]:
    """The bench over the registry in a folder."""
    opened = open_registry(registry(folder, url))
    with talking_to(create_app(opened)) as client, talking_to(bare_framework()) as bare:
        yield Bench(opened, client, bare)


def chosen(ready: Bench, words: list[str]) -> list[Page]:
    """The pages that have one of some words in their names."""

    def one(sql: str) -> str:
        with ready.registry.database.read() as session:
            return str(session.connection().exec_driver_sql(sql).first()[0])  # type: ignore[index]

    said = {"vehicle": DEMO, "condition": "on_road", "carriers": [{"id": RACK}]}
    asked = msgspec.convert(said, BudgetIn)
    new = kept.NewKept(budget=asked)
    held = kept.keep(ready.registry.database, ready.registry.answers, new, ready.registry.clock.now())
    every = pages(one, held.receipt.digest.removeprefix("sha256:"))
    return [page for page in every if not words or any(word in page.name for word in words)]


def main() -> None:
    """Measure, and print a line for each page."""
    told = argparse.ArgumentParser(description=__doc__)
    told.add_argument("--folder", type=Path, default=KEPT)
    told.add_argument("--url")
    told.add_argument("words", nargs="*")
    given = told.parse_args()
    with bench(given.folder, given.url) as ready:
        begun = time.perf_counter()
        Finder(ready.registry.database).find("vehicle", "any")  # type: ignore[arg-type]
        print(f"Reading the names of all vehicles once: {time.perf_counter() - begun:.1f} s\n")
        print(
            f"{'':<26}{'ms':>8}{'of bare':>9}{'queries':>9}{'of them':>9}{'asked':>7}{'cold ms':>9}{'clock':>8}{'kB':>7}"
        )
        for page in chosen(ready, given.words):
            took = ready.take(page)
            note = "" if took.status == 200 else f"  {took.status}"
            print(
                f"{page.name:<26}{took.warm:>8.1f}{took.warm / took.bare:>9.1f}{took.raw:>9.2f}"
                f"{took.warm / took.raw if took.raw else 0:>9.1f}{took.statements:>7}{took.cold:>9.1f}"
                f"{took.waited:>8.1f}{took.size / 1000:>7.1f}{note}",
                flush=True,
            )


if __name__ == "__main__":
    main()
