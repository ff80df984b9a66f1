"""The application over the registry of a test. Its routes take longer to put together than most tests do, and are the
same over every registry: one application of each process serves one registry after another."""

from fastapi import FastAPI

from app.bootstrap import Registry
from app.web.main import create_app

_made: list[FastAPI] = []


def serving(registry: Registry) -> FastAPI:
    """The application over a registry, from now on and until it is asked for again over another."""
    if not _made:
        _made.append(create_app(registry))
    app = _made[0]
    app.state.registry = registry
    # What stands around the routes is made anew from the registry's own settings.
    app.middleware_stack = None
    return app
