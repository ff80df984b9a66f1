"""Every way in which a registry is written to, one after the other, each with a key of its own."""

from collections.abc import Callable, Iterator
from typing import Any, Final

import msgspec

from tests.web.story import API, pdf

Answer = tuple[int, Any]
"""The status and body of an answer."""

SCOPE: Final = {"years": "all", "bodies": "all", "roofs": "all", "markets": "all"}
LIMIT: Final[dict[str, Any]] = {
    "quantity": "roof_limit",
    "condition": "on_road",
    "stated": {"value": "75", "unit": "kg"},
    "basis": "includes_carrier",
    "scope": SCOPE,
}
READING: Final = ("stated", "condition", "basis", "scope")


class Step(msgspec.Struct, frozen=True):
    """One request, or where there is no path, one thing that is done without one."""

    what: str
    by: str = "contributor"
    path: str | None = None
    body: Any = None
    file: bytes | None = None

    def sent(self, headers: dict[str, str], key: str) -> dict[str, Any]:
        """What is sent, as httpx takes it."""
        said: dict[str, Any] = {"headers": {**headers, "Idempotency-Key": key}}
        if self.file is None:
            return {**said, "json": self.body}
        return {**said, "data": self.body, "files": {"file": ("page.pdf", self.file)}}


def journey(number: int) -> Iterator[Step]:
    """The steps of one journey. Send back what each was answered."""
    maker = (yield from _post("publishers", {"name": f"Orrin {number}", "kind": "vehicle_maker"}))["slug"]
    racks = (yield from _post("publishers", {"name": f"Pellwick {number}", "kind": "carrier_maker"}))["slug"]
    handbook = yield from _file(maker, f"handbook {number}: roof load 75 kg")
    other = yield from _file(maker, f"other {number}: roof load 60 kg")
    tarn = (yield from _post("vehicles", {"maker": maker, "model": "Tarn", "years": {"from": 2019, "to": 2024}}))["id"]
    deck = (yield from _post("carriers", {"maker": racks, "model": "Slatten", "kind": "platform", "bars": 3}))["id"]
    yield from _post("fixings", {"maker": racks, "model": "Cleft", "holds": ["gutter"]})
    yield from _post("gear", {"maker": racks, "model": "Dormelle", "category": "rooftop_tent"})
    yield from _post("fitments", {"vehicle": tarn, "carrier": deck})
    claim = yield from _claim(tarn, handbook)
    yield from _post(f"claims/{claim}/citations", {"document": other, "page": "2", "quote": "roof load 60 kg"})
    yield Step("work")
    for by in ("reviewer", "second reviewer"):
        said = {name: LIMIT[name] for name in READING}
        reading = (yield from _post(f"claims/{claim}/readings", said, by))["reading"]
        decision = {"decision": "approve", "reading": reading, "reason": f"As the page has it, {by}."}
        yield from _post(f"claims/{claim}/decisions", decision, by)
        yield from _post(f"vehicles/{tarn}/confirmations", {"document": handbook}, by)
    dispute = yield from _id(
        f"claims/{claim}/disputes", {"reason": f"Another page of {number} has less.", "document": other}
    )
    settled = {"settlement": "uphold", "reason": f"It stands, journey {number}."}
    yield from _post(f"disputes/{dispute}/settlements", settled, "third reviewer")
    lesser = yield from _claim(tarn, other, stated={"value": "60", "unit": "kg"})
    yield from _post(f"claims/{lesser}/withdrawal", {})
    asked = {"asked": maker, "subject": {"kind": "vehicle", "id": tarn}, "quantity": "roof_limit", "channel": "letter"}
    asked["conditions"] = ["on_road"]
    words = {"questions": f"What may the roof carry, {number}?", "asked_on": "2026-01-05"}
    enquiry = yield from _id("enquiries", {**asked, **words})
    yield from _post(f"enquiries/{enquiry}/outcome", {"outcome": "did_not_know", "answered_on": "2026-01-09"})
    yield from _post(f"documents/{other}/copies", {"of": handbook, "copied": True})
    yield from _post(f"documents/{other}/takedown", {"code": "rights", "reason": f"Asked for, {number}."}, "steward")
    yield Step("work")
    yield Step("daily")
    yield Step("rebuild")
    yield Step("checkpoint")


Sent = Any
"""What a step is sent back: the body of its answer."""


def _post(path: str, body: Any, by: str = "contributor") -> Any:
    return (yield Step(f"POST /{path}", by, f"{API}/{path}", body))


def _id(path: str, body: Any, by: str = "contributor") -> Any:
    return (yield from _post(path, body, by))["id"]


def _file(publisher: str, words: str) -> Any:
    said = {"publisher": publisher, "kind": "handbook", "language": "en"}
    return (yield Step("POST /documents", "contributor", f"{API}/documents", said, pdf(words)))["id"]


def _claim(vehicle: str, document: str, **other: Any) -> Any:
    cited = [{"document": document, "page": "1", "quote": "roof load 75 kg"}]
    said = {"subject": {"kind": "vehicle", "id": vehicle}, "source_type": "manual_page", "citations": cited}
    return (yield from _post("claims", {**LIMIT, **said, **other}))["id"]


Do = Callable[[Step, int], Any]


def go(number: int, do: Do) -> list[str]:
    """Go through a journey: `do` is given each step and its place. Gives what the steps were."""
    steps, answer = journey(number), None
    done: list[str] = []
    while True:
        try:
            step = steps.send(answer)  # type: ignore[attr-defined]
        except StopIteration:
            return done
        answer = do(step, len(done))
        done.append(step.what)
