"""Requests generated from the OpenAPI document to every operation, as everybody: nothing that is answered is the server's
fault, and nothing is answered that the document does not say.

The ordinary run asks what fits into a minute or two. A night run asks more: CANTRAIL_GENERATED=200 asks so many of each
operation in each phase.
"""

import os
from collections import Counter
from pathlib import Path
from typing import Any, Final

import pytest
import schemathesis
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import events, from_schema

from app.bootstrap import Registry, open_registry, prepare
from app.services import rebuilding
from app.settings import Settings
from app.web.main import API, create_app
from tests.outside import PlainReader, WrittenWeb
from tests.web.people import let_in
from tests.web.story import Trade
from tests.web.talking import talking_to

EXAMPLES: Final = int(os.environ.get("CANTRAIL_GENERATED", "1"))
BOUNDARIES: Final = "positive" if EXAMPLES < 100 else "all"
"""On which side of its boundaries a parameter is tried: thousands of requests are beyond them, and those are refused before
anything else happens. The bodies among them are test_bodies' as well, and the rest test_hostile's."""
ALIKE: Final = (
    *(f"{API}/{path}" for path in ("budgets", "budget/options", "receipts", "claims/{id}/readings")),
    *(f"{API}/{plural}/{{id}}/figure" for plural in ("fitments", "fixings", "gear")),
)
"""Take the body of a budget, what a claim says, or the parameters of a figure: their many boundaries are tried on a
budget and a claim themselves, and on the figures of carriers."""
CHECKS: Final = (
    "not_a_server_error",
    "status_code_conformance",
    "content_type_conformance",
    "response_schema_conformance",
    "response_headers_conformance",
)
PHASES: Final = {
    # The boundary cases of every parameter are many, and the same whoever asks: a steward gets furthest.
    "steward": ("examples", "coverage", "fuzzing", "stateful"),
    "reviewer": ("examples", "fuzzing", "stateful"),
    "contributor": ("examples", "fuzzing"),
    "anonymous": ("examples", "fuzzing"),
}


@pytest.fixture
def registry(sqlite_template: Path, tmp_path: Path) -> Any:
    database = tmp_path / "registry.sqlite3"
    database.write_bytes(sqlite_template.read_bytes())
    settings = Settings(data_dir=tmp_path / "data", database_url=f"sqlite:///{database}")
    prepare(settings).dispose()
    registry = open_registry(settings, reader=PlainReader(), fetcher=WrittenWeb())
    with registry.database.write() as session:
        rebuilding.begin(session, now=registry.clock.now())
    yield registry
    registry.close()


def headers_of(registry: Registry, who: str) -> dict[str, str]:
    """Somebody's headers, in a registry with something of everything in it."""
    people = let_in(registry)
    app = create_app(registry)
    with talking_to(app) as client:
        app.router.lifespan_context = lambda _: None  # type: ignore[assignment]
        Trade(client, people)
    return people[who]


def configured(who: str, headers: dict[str, str]) -> SchemathesisConfig:
    everything = PHASES if EXAMPLES < 100 else dict.fromkeys(PHASES, PHASES["steward"])
    return SchemathesisConfig.from_dict({
        "seed": 20261125,
        "continue-on-failure": True,
        "workers": 1,
        "headers": headers,
        "checks": {"enabled": False, **{check: {"enabled": True} for check in CHECKS}},
        "generation": {
            "max-examples": EXAMPLES,
            "deterministic": True,
            "no-shrink": True,
            "database": "none",
            "with-security-parameters": False,
        },
        "operations": [
            {"include-path": path, "phases": {"coverage": {"enabled": False}}} for path in ALIKE if EXAMPLES < 100
        ],
        "phases": {
            "coverage": {"enabled": "coverage" in everything[who], "generation": {"mode": BOUNDARIES}},
            **{phase: {"enabled": phase in everything[who]} for phase in ("examples", "fuzzing", "stateful")},
        },
    })  # fmt: skip


def asked(registry: Registry, config: SchemathesisConfig) -> tuple[dict[str, str], Counter[tuple[str, int]]]:
    """What was found, each with a request that shows it; and how often each operation gave each status."""
    app = create_app(registry)

    async def only_requests(scope: Any, receive: Any, send: Any) -> None:
        if scope["type"] == "http":
            await app(scope, receive, send)

    schema = schemathesis.openapi.from_asgi(f"{API}/openapi.json", only_requests, config=config)
    found: dict[str, str] = {}
    given: Counter[tuple[str, int]] = Counter()
    for event in from_schema(schema).execute():
        if isinstance(event, events.NonFatalError | events.FatalError):
            found[f"{getattr(event, 'label', '')}: {event}"] = ""
        elif isinstance(event, events.ScenarioFinished):
            for case, interaction in event.recorder.interactions.items():
                label = event.recorder.cases[case].value.operation.label
                if interaction.response is not None:
                    given[label, interaction.response.status_code] += 1
            for case, checks in event.recorder.checks.items():
                label = event.recorder.cases[case].value.operation.label
                for check in checks:
                    if check.failure_info is not None:
                        failure = check.failure_info.failure
                        key = f"{label}: {failure.title}: {failure.message[:300]}"
                        found.setdefault(key, check.failure_info.code_sample[:600])
    return found, given


@pytest.mark.parametrize("who", PHASES)
def test_nothing_that_is_generated_finds_a_fault(who: str, registry: Registry) -> None:
    headers = headers_of(registry, who)
    found, given = asked(registry, configured(who, headers))
    assert found == {}
    operations = {
        f"{method.upper()} {path}"
        for path, methods in create_app(registry).openapi()["paths"].items()
        for method in methods
    }
    assert operations - {label for label, _ in given} == set()
    statuses = {status for _, status in given}
    assert {200, 404, 422} <= statuses
    assert {status for status in statuses if status >= 500} == set()
