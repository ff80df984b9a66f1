"""The web application over one open registry."""

import gc
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager, nullcontext

import anyio.to_thread
from fastapi import APIRouter, FastAPI
from starlette.applications import Starlette
from starlette.types import ASGIApp, Receive, Scope, Send

from app.adapters import log_lines
from app.bootstrap import SERVED, Registry, open_registry
from app.services.finding import reading_ahead
from app.settings import Settings
from app.web.answering import AnswersFirst
from app.web.api import (
    accounts,
    answers,
    claims,
    coverage,
    derivations,
    desk,
    documents,
    enquiries,
    feed,
    ledger,
    own_account,
    placements,
    provenance,
    receipts,
    reporting,
    sessions,
    subjects,
)
from app.web.describing import describe
from app.web.errors import add_handlers
from app.web.outermost import outermost
from app.web.pages import PAGES

API = "/api/v1"
THREADS = 4
"""More threads only fight for the interpreter."""


class Application(FastAPI):
    """Starlette answers mistakes outside of all middleware. What every answer goes out with stands outside of that."""

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Handle a request, or starting and stopping. FastAPI's own way in looks for telemetry first, for longer than
        some answers take, and none is wanted."""
        await Starlette.__call__(self, scope, receive, send)

    def build_middleware_stack(self) -> ASGIApp:
        """Everything that a request goes through."""
        return outermost(super().build_middleware_stack(), self.state.registry, prefix=API)


def create_app(registry: Registry, *, ahead: bool = False) -> FastAPI:
    """The application that serves a registry. It closes the registry when it stops. `ahead`: what the first answers need is
    read as soon as it starts, while it answers already."""

    @asynccontextmanager
    async def lifespan(app: FastAPI) -> AsyncIterator[None]:
        served: Registry = app.state.registry
        anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
        served.bookkeeper.start()
        with reading_ahead(served.finder) if ahead else nullcontext():
            yield
        served.bookkeeper.stop()
        served.close()

    app = Application(
        title="Cantrail",
        version="1",
        summary="What a vehicle's roof may carry, who says so, and what may still go up.",
        description="Every figure is a claim. The vehicle's own handbook comes first, and local law. "
        "The registry reports what sources say; it certifies nothing.",
        openapi_url=f"{API}/openapi.json",
        docs_url=None,
        redoc_url=None,
        # A redirect would be made from the request's own Host header, which anybody can write.
        redirect_slashes=False,
        lifespan=lifespan,
    )
    app.state.registry = registry
    api = APIRouter(prefix=API)
    for router in (
        answers.router,
        receipts.router,
        subjects.router,
        placements.router,
        claims.router,
        provenance.router,
        derivations.router,
        documents.router,
        enquiries.router,
        accounts.router,
        own_account.router,
        sessions.router,
        feed.router,
        desk.router,
        coverage.router,
        ledger.router,
    ):
        api.include_router(router)
    app.include_router(api)
    app.include_router(feed.health)
    app.include_router(reporting.router)
    for pages in PAGES:
        app.include_router(pages)
    app.add_middleware(AnswersFirst, prefix=API)
    add_handlers(app)
    describe(app)
    return app


def served() -> FastAPI:
    """The application over the registry that this process serves, or else over the one that the settings name: what an
    ASGI server is told to load (`uvicorn --factory app.web.main:served`)."""
    registry = SERVED.get()
    if registry is None:
        log_lines.set_up()
        registry = open_registry(Settings())
    app = create_app(registry, ahead=True)
    # What is there by now stays: a collector of cycles that goes through it would hold answers up for tenths of a second.
    gc.freeze()
    return app
