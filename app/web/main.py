"""The web application over one open registry."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

import anyio.to_thread
from fastapi import APIRouter, FastAPI

from app.bootstrap import SERVED, Registry, open_registry
from app.settings import Settings
from app.web.answering import AnswersFirst
from app.web.api import answers, claims, derivations, documents, enquiries, feed, subjects
from app.web.describing import describe
from app.web.errors import add_handlers

API = "/api/v1"
THREADS = 4
"""More threads only fight for the interpreter."""


def create_app(registry: Registry) -> FastAPI:
    """The application that serves a registry. It closes the registry when it stops."""

    @asynccontextmanager
    async def lifespan(_: FastAPI) -> AsyncIterator[None]:
        anyio.to_thread.current_default_thread_limiter().total_tokens = THREADS
        yield
        registry.close()

    app = FastAPI(
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
        subjects.router,
        claims.router,
        derivations.router,
        documents.router,
        enquiries.router,
        feed.router,
    ):
        api.include_router(router)
    app.include_router(api)
    app.include_router(feed.health)
    app.add_middleware(AnswersFirst, prefix=API)
    add_handlers(app)
    describe(app)
    return app


def served() -> FastAPI:
    """The application over the registry that this process serves, or else over the one that the settings name: what an
    ASGI server is told to load (`uvicorn --factory app.web.main:served`)."""
    return create_app(SERVED.get() or open_registry(Settings()))
