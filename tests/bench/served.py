"""The server under measurement: the registry, and beside it a bare response and the same answer worked out with a
database session for each request."""

import os
from pathlib import Path
from typing import Any

import msgspec
from starlette.concurrency import run_in_threadpool

from app.bootstrap import open_registry
from app.services.answering import Answers
from app.services.asked import BudgetIn
from app.settings import Settings
from app.web.main import create_app

BARE = b'{"verdict":"within"}'


def make() -> Any:
    """An ASGI application that tells the three apart by their paths."""
    # Every request is counted, as in earnest, and none is ever one too many.
    anonymous = "read 1000000000/minute, write 60/minute, upload 10/minute, costly 60/minute"
    registry = open_registry(Settings(data_dir=Path(os.environ["CANTRAIL_DATA_DIR"]), rate_anonymous=anonymous))
    application = create_app(registry)
    decoder = msgspec.json.Decoder(BudgetIn)

    async def app(scope: Any, receive: Any, send: Any) -> None:
        path = scope.get("path")
        if path == "/bare":
            await _send(send, BARE)
        elif path == "/sessioned":
            message = await receive()
            asked = decoder.decode(message["body"])
            # A store of dossiers made for the request is empty: everything is read in a session of the request's own.
            answer = await run_in_threadpool(lambda: Answers(registry.database, 100).budget(asked))
            await _send(send, answer.body)
        else:
            await application(scope, receive, send)

    return app


async def _send(send: Any, body: bytes) -> None:
    headers = [(b"content-type", b"application/json"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": 200, "headers": headers})
    await send({"type": "http.response.body", "body": body})
