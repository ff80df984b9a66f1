"""Talking HTTP to the application in this process, as a test does: one request after another, and no sockets."""

from collections.abc import Iterator
from contextlib import ExitStack, contextmanager
from functools import partial
from typing import Any

import httpx
from anyio.from_thread import BlockingPortal, start_blocking_portal
from fastapi import FastAPI


class Client:
    """Sends requests to an application that runs in a loop of its own."""

    def __init__(self, portal: BlockingPortal, over: httpx.AsyncClient) -> None:
        self._portal = portal
        self._over = over

    def request(self, method: str, path: str, **sent: Any) -> httpx.Response:
        """One request and its answer."""
        return self._portal.call(partial(self._over.request, method, path, **sent))

    def get(self, path: str, **sent: Any) -> httpx.Response:
        """Read."""
        return self.request("GET", path, **sent)

    def post(self, path: str, **sent: Any) -> httpx.Response:
        """Write."""
        return self.request("POST", path, **sent)


@contextmanager
def talking_to(app: FastAPI, *, raises: bool = True) -> Iterator[Client]:
    """A client, from the application's start to its stop. What the application does not handle is raised here, too,
    unless it is the answer that is looked at."""
    with ExitStack() as stack:
        portal = stack.enter_context(start_blocking_portal())
        stack.enter_context(portal.wrap_async_context_manager(app.router.lifespan_context(app)))
        transport = httpx.ASGITransport(app, raise_app_exceptions=raises)
        over = httpx.AsyncClient(transport=transport, base_url="http://registry")
        yield Client(portal, stack.enter_context(portal.wrap_async_context_manager(over)))
