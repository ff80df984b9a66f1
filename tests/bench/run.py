"""Measure: `python -m tests.bench.run`. Everything is a ratio within this one run; nothing here is a test's assertion."""

import json
import os
import socket
import subprocess
import sys
import tempfile
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime
from pathlib import Path

from app.adapters.evidence_store import FolderEvidenceStore
from app.bootstrap import prepare
from app.core import entries
from app.persistence import projection
from app.persistence.session import Database
from app.settings import Settings
from seed_demo.load import load
from tests.bench.ballast import weigh_down
from tests.bench.pipelining import rate, request

SECONDS = 3.0
VEHICLE = "orrin-tarn-t2-2019"
BUDGET = {
    "vehicle": VEHICLE,
    "context": {"year": 2021, "body": "dual_cab"},
    "condition": "off_road",
    "carriers": [{"id": "pellwick-slatten-rough-p2-2021"}],
}
LIMIT = f"/api/v1/vehicles/{VEHICLE}/limit?condition=on_road&year=2021&body=dual_cab"


def budgets() -> list[bytes]:
    """Budget requests with four gear items each, no two alike."""
    found = []
    for number in range(64):
        gear = [
            {"name": "awning", "mass": 10 + number / 10, "tolerance": 1},
            {"name": "boards", "mass": 7.6},
            {"category": "recovery_boards"},
            {"name": "can", "mass": 3.25, "quantity": 1 + number % 4},
        ]
        found.append(json.dumps(BUDGET | {"gear": gear}).encode())
    return found


@contextmanager
def serving(folder: Path) -> Iterator[int]:
    """One worker that serves the registry in a folder."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    words = [sys.executable, "-m", "uvicorn", "--factory", "tests.bench.served:make", "--port", str(port)]
    quiet = ["--log-level", "warning", "--no-access-log"]
    server = subprocess.Popen([*words, *quiet], env={**os.environ, "CANTRAIL_DATA_DIR": str(folder)})
    try:
        for _ in range(200):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/healthz").read()
                break
            except OSError:
                time.sleep(0.05)
        yield port
    finally:
        server.terminate()
        server.wait()


def etag_of(port: int) -> str:
    with urllib.request.urlopen(f"http://127.0.0.1:{port}{LIMIT}") as answer:
        return str(answer.headers["ETag"])


def measured(folder: Path) -> dict[str, float]:
    """Requests a second of each kind, in one run of one server. The bare response is taken before and after."""
    with serving(folder) as port:
        posts = [request("POST", "/api/v1/budget", body) for body in budgets()]
        sessioned = [request("POST", "/sessioned", body) for body in budgets()]
        bare = [request("GET", "/bare")]
        conditional = [request("GET", LIMIT, headers={"If-None-Match": etag_of(port)})]
        for warm in (posts, bare):
            rate(port, warm, 0.5)
        first = rate(port, bare, SECONDS)
        found = {
            "POST budget": rate(port, posts, SECONDS),
            "GET limit": rate(port, [request("GET", LIMIT)], SECONDS),
            "GET limit, not modified": rate(port, conditional, SECONDS, expect=304),
            "POST budget, a session each": rate(port, sessioned, SECONDS),
        }
        return {"bare": (first + rate(port, bare, SECONDS)) / 2, **found}


def seen_at_once(folder: Path) -> bool:
    """Whether a write by another process is in the next answer."""
    with serving(folder) as port:
        url = f"http://127.0.0.1:{port}/api/v1/vehicles/{VEHICLE}/limit?condition=on_road"
        before = json.load(urllib.request.urlopen(url))["receipt"]["as_of"]
        database = Database(Settings(data_dir=folder).url, checkpoints=False)
        with database.write() as session:
            payload = entries.MethodAdopted(method="m1")
            entry = projection.record(
                session, actor=entries.SYSTEM, now=datetime.now(UTC), streams=["method"], payload=payload
            )
        database.dispose()
        after = json.load(urllib.request.urlopen(url))["receipt"]["as_of"]
        return bool(before < entry.seq == after)


def appends(folder: Path) -> float:
    """Entries a second, one a transaction."""
    database = Database(Settings(data_dir=folder).url)
    begun, done = time.perf_counter(), 0
    while time.perf_counter() - begun < SECONDS:
        with database.write() as session:
            payload = entries.MethodAdopted(method="m1")
            projection.record(session, actor=entries.SYSTEM, now=datetime.now(UTC), streams=["bench"], payload=payload)
        done += 1
    database.dispose()
    return done / SECONDS


def tell(title: str, found: dict[str, float]) -> None:
    print(f"\n{title}\n  {'':<30}{'a second':>10}{'of bare':>9}")
    for name, per_second in found.items():
        print(f"  {name:<30}{per_second:>10.0f}{per_second / found['bare']:>9.3f}")
    print(
        f"  budget, in memory against a session each: {found['POST budget'] / found['POST budget, a session each']:.1f} times"
    )


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="cantrail-bench-") as name:
        folder = Path(name)
        settings = Settings(data_dir=folder, database_url=None)
        database = prepare(settings)
        load(database, FolderEvidenceStore(settings.evidence_dir), now=datetime.now(UTC))
        weigh_down(database, 10_000)
        small = measured(folder)
        tell("10 thousand claims", small)
        weigh_down(database, 490_000)
        large = measured(folder)
        tell("500 thousand claims", large)
        print("\nGrowing from 10 to 500 thousand claims costs")
        for what in ("POST budget", "GET limit", "GET limit, not modified"):
            loss = 1 - (large[what] / large["bare"]) / (small[what] / small["bare"])
            print(f"  {what:<30}{loss:>9.1%}")
        print(f"\nA write by another process is seen by the next request: {seen_at_once(folder)}")
        print(f"Appends a second, one a transaction: {appends(folder):.0f}")
        database.dispose()


if __name__ == "__main__":
    main()
