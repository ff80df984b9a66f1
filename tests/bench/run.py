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
from statistics import median

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
SLICE = 0.5
ROUNDS = 7
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


def kinds(port: int) -> dict[str, tuple[list[bytes], int]]:
    """What is asked of one server: the requests of each kind, and the status of their answers."""
    return {
        "bare": ([request("GET", "/bare")], 200),
        "POST budget": ([request("POST", "/api/v1/budget", body) for body in budgets()], 200),
        "GET limit": ([request("GET", LIMIT)], 200),
        "GET limit, not modified": ([request("GET", LIMIT, headers={"If-None-Match": etag_of(port)})], 304),
        "POST budget, a session each": ([request("POST", "/sessioned", body) for body in budgets()], 200),
    }


def measured(ports: dict[str, int]) -> dict[str, dict[str, float]]:
    """Requests a second of each kind of each server: the median of short slices that take turns, so that whatever else
    the machine does falls on all of them alike."""
    slices: dict[tuple[str, str], list[float]] = {}
    for turn in range(ROUNDS + 1):
        for server, port in ports.items():
            for kind, (requests, status) in kinds(port).items():
                found = rate(port, requests, SLICE, expect=status)
                if turn > 0:
                    slices.setdefault((server, kind), []).append(found)
    return {server: {kind: median(found) for (of, kind), found in slices.items() if of == server} for server in ports}


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
    times = found["POST budget"] / found["POST budget, a session each"]
    print(f"  A budget from memory is {times:.0f} times as fast as one with a session of its own.")


def registry(folder: Path, claims: int) -> Path:
    """The demo with so many claims beside it."""
    settings = Settings(data_dir=folder, database_url=None)
    database = prepare(settings)
    load(database, FolderEvidenceStore(settings.evidence_dir), now=datetime.now(UTC))
    weigh_down(database, claims)
    database.dispose()
    return folder


def main() -> None:
    with tempfile.TemporaryDirectory(prefix="cantrail-bench-") as name:
        small, large = (registry(Path(name) / str(claims), claims) for claims in (10_000, 500_000))
        with serving(small) as few, serving(large) as many:
            found = measured({"10 thousand claims": few, "500 thousand claims": many})
        for title, rates in found.items():
            tell(title, rates)
        print("\nGrowing from 10 to 500 thousand claims costs")
        little, much = found.values()
        for what in ("POST budget", "GET limit", "GET limit, not modified"):
            print(f"  {what:<30}{1 - (much[what] / much['bare']) / (little[what] / little['bare']):>9.1%}")
        print(f"\nA write by another process is seen by the next request: {seen_at_once(large)}")
        print(f"Appends a second, one a transaction: {appends(large):.0f}")


if __name__ == "__main__":
    main()
