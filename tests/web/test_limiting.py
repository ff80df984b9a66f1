"""Who asks too much is told to come again, whatever is asked and whoever asks."""

import asyncio
import time
from collections import Counter
from typing import Any, Final

import pytest
from limits.storage import MemoryStorage

from app.bootstrap import Registry
from app.settings import Settings, rates
from app.web.limiting import MOST_COUNTED, Bucket, Counters, Limiter, bucket_of
from app.web.main import create_app
from app.web.pages.rendering import asset
from tests.web.people import People
from tests.web.story import API, pdf
from tests.web.talking import Client, talking_to

FEW: Final = "read 5/minute, write 3/minute, upload 2/minute, costly 4/minute"
MORE: Final = "read 9/minute, write 7/minute, upload 3/minute, costly 4/minute"
BUDGET: Final = {"condition": "on_road", "given_roof": {"limit": 75}}
ANSWERING: Final = f"{API}/vehicles/orrin-tarn/limit?condition=on_road"


@pytest.fixture
def database_url(sqlite_url: str) -> str:
    """What is shown here stands in front of the database, whichever that is."""
    return sqlite_url


@pytest.fixture
def limited(registry: Registry) -> Registry:
    few = {"rate_limits": True, "rate_anonymous": FEW, "rate_signed_in": MORE}
    registry.settings = registry.settings.model_copy(update=few)
    return registry


@pytest.fixture
def asking(limited: Registry) -> Any:
    with talking_to(create_app(limited)) as client:
        yield client


def is_refused(answer: Any) -> bool:
    if answer.status_code != 429:
        return False
    told = answer.json()
    assert told["code"] == "too_many_requests"
    assert answer.headers["content-type"] == "application/problem+json"
    assert 1 <= int(answer.headers["retry-after"]) <= 60
    assert answer.headers["cache-control"] == "no-store"
    return True


def test_answers_and_lists_are_limited_together(asking: Client) -> None:
    answers = [asking.get(ANSWERING), asking.post(f"{API}/budget", json=BUDGET), asking.get(f"{API}/vehicles")]
    answers += [asking.get(ANSWERING), asking.post(f"{API}/budget", json=BUDGET)]
    assert not any(map(is_refused, answers))
    assert is_refused(asking.get(ANSWERING))
    assert is_refused(asking.post(f"{API}/budget", json=BUDGET))
    assert is_refused(asking.get(f"{API}/vehicles"))
    assert is_refused(asking.get(f"{API}/no-such-thing"))


def test_one_bucket_does_not_empty_another(asking: Client, people: People) -> None:
    while not is_refused(asking.get(ANSWERING)):
        pass
    assert asking.get(f"{API}/vehicles/orrin-tarn/letter").status_code == 404
    assert asking.post(f"{API}/publishers", json={}).status_code == 401
    assert asking.get("/healthz").status_code == 200
    # The page that says so comes with its own look.
    told = asking.get("/how", headers={"Accept": "text/html"})
    assert (told.status_code, "Too much at once" in told.text) == (429, True)
    assert asking.get(asset("style.css")).status_code == 200
    assert is_refused(asking.get("/static/none/such.css"))


def test_whoever_is_signed_in_may_ask_more_than_their_address(asking: Client, people: People) -> None:
    body = {"name": "", "kind": "vehicle_maker"}
    statuses = [
        asking.post(f"{API}/publishers", json=body, headers=people["contributor"]).status_code for _ in range(9)
    ]
    # The first counts for the address: nobody knew yet that the token is good.
    assert statuses == [422] * 8 + [429]
    assert asking.post(f"{API}/publishers", json=body, headers=people["reviewer"]).status_code == 422


def test_a_token_that_only_reads_is_looked_up_when_its_address_has_asked_too_much(
    asking: Client, people: People
) -> None:
    while not is_refused(asking.get(ANSWERING)):
        pass
    statuses = [asking.get(ANSWERING, headers=people["contributor"]).status_code for _ in range(10)]
    assert statuses == [404] * 9 + [429]


def test_tokens_made_up_share_the_bucket_of_their_address(asking: Client) -> None:
    def ask(number: int) -> int:
        headers = {"Authorization": f"Bearer cantrail_{number}"}
        return asking.post(f"{API}/publishers", json={}, headers=headers).status_code

    assert [ask(number) for number in range(5)] == [401, 401, 401, 429, 429]


def test_a_disabled_account_is_nobody(asking: Client, people: People) -> None:
    while not is_refused(asking.get(ANSWERING)):
        pass
    assert is_refused(asking.get(ANSWERING, headers=people["disabled"]))


def test_uploads_have_a_bucket_of_their_own(asking: Client, people: People) -> None:
    def upload() -> int:
        sent = {"data": {"publisher": "nobody", "kind": "handbook"}, "files": {"file": ("page.pdf", pdf())}}
        return asking.post(f"{API}/documents", headers=people["contributor"], **sent).status_code

    assert [upload() for _ in range(5)] == [422, 422, 422, 422, 429]


def test_limits_can_be_left_out(registry: Registry) -> None:
    assert not registry.settings.rate_limits
    with talking_to(create_app(registry)) as client:
        assert {client.get("/readyz").status_code for _ in range(50)} == {200}


@pytest.mark.parametrize(
    ("method", "path", "bucket"),
    [
        ("GET", f"{API}/vehicles/x/limit", Bucket.READ),
        ("POST", f"{API}/budget", Bucket.READ),
        ("POST", f"{API}/budgets", Bucket.COSTLY),
        ("POST", f"{API}/budget/options", Bucket.COSTLY),
        ("POST", f"{API}/documents", Bucket.UPLOAD),
        ("POST", f"{API}/documents/D1/fetches", Bucket.UPLOAD),
        ("POST", f"{API}/receipts", Bucket.COSTLY),
        ("POST", f"{API}/derivations", Bucket.COSTLY),
        ("GET", f"{API}/claims/C1/provenance", Bucket.COSTLY),
        ("GET", f"{API}/vehicles/x/letter", Bucket.COSTLY),
        ("GET", f"{API}/documents/D1/pages/1/picture", Bucket.COSTLY),
        ("DELETE", f"{API}/anything", Bucket.WRITE),
        ("POST", f"{API}/claims", Bucket.WRITE),
        ("POST", "/submit/document", Bucket.UPLOAD),
        ("POST", "/submit/check", Bucket.COSTLY),
        ("POST", "/submit/claim", Bucket.WRITE),
        ("GET", "/submit", Bucket.READ),
    ],
)
def test_what_is_counted_where(method: str, path: str, bucket: Bucket) -> None:
    assert bucket_of(method, path, f"{API}/budget") is bucket


def test_a_million_addresses_take_bounded_memory() -> None:
    counters = Counters()
    begun = time.thread_time()
    for number in range(1_000_000):
        counters.incr(f"read/{number}", 60)
    # A store that looks at all it has for each new one would take hours.
    assert time.thread_time() - begun < 60
    assert len(counters) == MOST_COUNTED
    assert counters.get("read/0") == 0
    assert counters.get("read/999999") == 1


def test_a_window_goes_by(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [1000.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    limiter = Limiter()
    item = rates(FEW)["write"]
    assert [limiter.wait(item, "write", "192.0.2.1") for _ in range(4)] == [0, 0, 0, 60]
    now[0] += 59.5
    assert limiter.wait(item, "write", "192.0.2.1") == 1
    now[0] += 1
    assert limiter.wait(item, "write", "192.0.2.1") == 0


class Shared(MemoryStorage):
    """A store that several servers share, and that goes out of reach."""

    STORAGE_SCHEME = ["shared-test"]  # noqa: RUF012 - the library registers the class under it
    counts: Final[Counter[str]] = Counter()
    ends: Final[dict[str, float]] = {}
    broken = False

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self.storage, self.expirations = Shared.counts, Shared.ends

    @property
    def base_exceptions(self) -> type[Exception]:
        return ConnectionError

    def incr(self, key: str, expiry: float, amount: int = 1) -> int:
        if Shared.broken:
            raise ConnectionError
        return super().incr(key, expiry, amount)


def test_servers_may_share_one_store(limited: Registry) -> None:
    limited.settings = limited.settings.model_copy(update={"rate_storage": "shared-test://"})
    Shared.counts.clear()
    Shared.ends.clear()
    with talking_to(create_app(limited)) as one:
        assert [one.get("/readyz").status_code for _ in range(3)] == [200] * 3
    with talking_to(create_app(limited)) as other:
        assert [other.get("/readyz").status_code for _ in range(3)] == [200, 200, 429]


def test_a_store_out_of_reach_lets_nobody_ask_without_end(limited: Registry, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(Shared, "broken", True)
    limited.settings = limited.settings.model_copy(update={"rate_storage": "shared-test://"})
    with talking_to(create_app(limited)) as client:
        assert [client.get("/readyz").status_code for _ in range(6)] == [200] * 5 + [429]


def test_all_of_a_network_is_one_address(limited: Registry) -> None:
    app = create_app(limited)

    def ask(host: str) -> int:
        scope = {"type": "http", "method": "GET", "path": "/readyz", "raw_path": b"/readyz", "query_string": b""}
        scope |= {"scheme": "http", "headers": [], "client": (host, 4000), "root_path": ""}
        told: list[Any] = []

        async def receive() -> Any:
            return {"type": "http.request", "body": b"", "more_body": False}

        async def send(message: Any) -> None:
            told.append(message)

        asyncio.run(app(scope, receive, send))
        return int(told[0]["status"])

    assert [ask(f"2001:db8:0:1::{number}") for number in range(6)] == [200] * 5 + [429]
    assert ask("2001:db8:0:2::1") == 200
    assert ask("::ffff:192.0.2.7") == 200


@pytest.mark.parametrize("said", ["", "read 5/minute", FEW + ", other 1/minute", FEW.replace("5/minute", "often")])
def test_limits_that_make_no_sense_are_refused(said: str) -> None:
    with pytest.raises(ValueError, match="rate_anonymous"):
        Settings(rate_anonymous=said)
