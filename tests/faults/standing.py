"""A registry of a fault test's own: everybody let in, a key that signs, a checkpoint kept."""

import asyncio
from datetime import timedelta
from pathlib import Path
from typing import Any

import httpx
from fastapi import FastAPI

from app.adapters.signing_key import FileSigningKey
from app.bootstrap import Registry, open_registry
from app.services import accounts, daily, outbox, rebuilding
from app.settings import Settings
from app.worker.draining import do_next
from tests.faults.paths import Step
from tests.outside import PlainReader, WrittenWeb
from tests.web.people import ROLES, People, let_in
from tests.web.serving import serving


def settled(url: str, folder: Path) -> Settings:
    """Settings for a registry in a folder."""
    return Settings(data_dir=folder, database_url=url, rate_limits=False, checkpoint_copy=folder / "second-checkpoint")


def begun(settings: Settings) -> People:
    """Begin a registry over migrated tables. Gives everybody's headers."""
    settings.evidence_dir.mkdir(parents=True)
    FileSigningKey(settings.signing_key).make("roofs.example/ledger")
    registry = opened(settings)
    with registry.database.write() as session:
        rebuilding.begin(session, now=registry.clock.now())
    people = let_in(registry)
    _enter_trust(registry)
    registry.checkpoints.publish()
    registry.close()
    return people


def _enter_trust(registry: Registry) -> None:
    """Tell the ledger what everybody is trusted with, as it is told where a registry is kept."""
    with registry.database.write() as session:
        now = registry.clock.now()
        for name, role in ROLES.items():
            accounts.set_role(session, name=name, role=role, now=now)
        accounts.enable(session, name="disabled", now=now)
        accounts.disable(session, name="disabled", now=now)


def opened(settings: Settings) -> Registry:
    """The registry, open, with a reader of plain texts and no web."""
    return open_registry(settings, reader=PlainReader(), fetcher=WrittenWeb())


class Standing:
    """A registry that is ready to be written to: the application is made, and nothing is connected."""

    def __init__(self, settings: Settings, people: People) -> None:
        self.registry = opened(settings)
        self.people = people
        self.app: FastAPI = serving(self.registry)
        self.registry.database.dispose()

    def do(self, step: Step, key: str) -> tuple[int, Any]:
        """Do a step. Gives the status and body of its answer; 200 and nothing where it is no request."""
        if step.path is not None:
            return asyncio.run(self._ask("POST", step.path, step.sent(self.people[step.by], key)))
        match step.what:
            case "work":
                while do_next(self.registry):
                    pass
            case "daily":
                with self.registry.database.write() as session:
                    work = daily.system_work(session, self.registry.clock.now(), self.registry.store)
                    daily.run(work)
            case "rebuild":
                with self.registry.database.write() as session:
                    rebuilding.rebuild(session)
            case "checkpoint":
                self.registry.checkpoints.publish()
        return 200, None

    def get(self, path: str) -> int:
        """Ask for something. Gives the status."""
        return asyncio.run(self._ask("GET", path, {}))[0]

    async def _ask(self, method: str, path: str, sent: dict[str, Any]) -> tuple[int, Any]:
        transport = httpx.ASGITransport(self.app, raise_app_exceptions=False)
        async with httpx.AsyncClient(transport=transport, base_url="http://registry") as client:
            answer = await client.request(method, path, **sent)
        return answer.status_code, answer.json()


def let_leases_run_out(registry: Registry) -> None:
    """As if so much time had passed that whatever a killed worker had is free again, and nobody remembered it."""
    later = registry.clock.now() + outbox.LEASE + timedelta(seconds=1)
    with registry.database.write() as session:
        had = list(iter(lambda: outbox.take(session, later), None))
        for job in had:
            outbox.put_off(session, registry.clock.now() - timedelta(days=1), job, "test")
