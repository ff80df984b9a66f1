"""HTTP as the server reads it, with an end to what it waits for: a request's head is short, and comes soon."""

from asyncio import TimerHandle
from typing import Any, Final

from uvicorn.protocols.http.httptools_impl import HttpToolsProtocol

LONGEST_HEAD: Final = 64 * 1024
"""More than the layers above let by, so that who sends too much is mostly told so in words."""

HEAD_WITHIN_S: Final = 15.0


class PatientProtocol(HttpToolsProtocol):
    """Reads requests, and hangs up on who sends a head without an end, or lets it drip."""

    def __init__(self, *given: Any, **named: Any) -> None:
        super().__init__(*given, **named)
        self._head = 0
        self._head_is_open = False
        self._head_is_new = False
        self._patience: TimerHandle | None = None

    def connection_made(self, transport: Any) -> None:
        """Somebody is there, and has some seconds to say what they want."""
        super().connection_made(transport)
        self._wait()

    def connection_lost(self, exc: Exception | None) -> None:
        """Nobody is there any more."""
        self._wait_no_longer()
        super().connection_lost(exc)

    def data_received(self, data: bytes) -> None:
        """A part of a request, or several of them."""
        super().data_received(data)
        if not self._head_is_open:
            if self._patience is None and self.cycle is not None and self.cycle.response_complete:
                # What comes after an answer and begins no request would keep the connection open for ever.
                self._wait()
            return
        if not self._head_is_new:
            self._head += len(data)
        self._head_is_new = False
        if self._head > LONGEST_HEAD:
            self.transport.close()
        elif self._patience is None:
            self._wait()

    def on_message_begin(self) -> None:
        """A head begins."""
        super().on_message_begin()
        self._head = 0
        self._head_is_open = self._head_is_new = True

    def on_headers_complete(self) -> None:
        """The head is there: how long the body may take is for the layers above to say."""
        self._head_is_open = False
        self._wait_no_longer()
        super().on_headers_complete()

    def _wait(self) -> None:
        self._patience = self.loop.call_later(HEAD_WITHIN_S, self.transport.close)

    def _wait_no_longer(self) -> None:
        if self._patience is not None:
            self._patience.cancel()
            self._patience = None
