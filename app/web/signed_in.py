"""What is done in a session only: everything about one's own account, and who else is trusted.

None of it takes an idempotency key: what is kept of answered requests would hold passwords, codes and tokens.
"""

from collections.abc import Callable
from datetime import datetime
from typing import Annotated, Any

import msgspec
from fastapi import Depends, Request
from starlette.responses import Response

from app.persistence.session import ReadSession, WriteSession
from app.services.people_inputs import Proof
from app.services.sessions import SignedIn
from app.services.work import Work
from app.web import cookies
from app.web.asking_address import address_of
from app.web.edge import JSON, Bearer, registry_of
from app.web.errors import NEVER_KEPT


def private(shown: Any, status: int = 200) -> Response:
    """An answer that nobody keeps; without anything to show, an empty one."""
    if shown is None:
        return Response(None, 204, NEVER_KEPT)
    return Response(msgspec.json.encode(shown), status, NEVER_KEPT, JSON)


class Visitor:
    """Anybody who comes with a name and a password: they send them from a page of this registry, or from no page."""

    def __init__(self, request: Request) -> None:
        cookies.refuse_cross_site(request, from_page=False)
        self.registry = registry_of(request)
        self.signing_in = self.registry.signing_in
        self.address = address_of(request.scope)
        self.now = self.registry.clock.now()
        self.shows = cookies.shown(request)
        self._request = request

    def known_as(self, account: str) -> None:
        """Tell the line that is logged of the request who it was."""
        self._request.state.account = account


class Entered:
    """Somebody in a session, who may still have to set up one-time passwords."""

    def __init__(self, request: Request, bearer: Annotated[Bearer, Depends()]) -> None:
        self.registry = registry_of(request)
        self.address = address_of(request.scope)
        self._bearer = bearer
        with self.registry.database.read() as session:
            self.signed_in = bearer.signed_in(session)

    @property
    def now(self) -> datetime:
        """The time."""
        return self.registry.clock.now()

    def prove(self, proof: Proof) -> None:
        """Raises where it is not still who signed in."""
        self.registry.signing_in.prove(self.signed_in, proof, address=self.address, now=self.now)

    def show(self, look: Callable[[ReadSession, SignedIn], Any]) -> Response:
        """What somebody may look at."""
        with self.registry.database.read() as session:
            response = private(look(session, self._who(session)))
            response.background = self._bearer.noting()
        return response

    def change(self, do: Callable[[WriteSession, SignedIn, datetime], Any], status: int = 200) -> Response:
        """Change something, and show what came of it."""
        return private(self.changed(do), status)

    def changed(self, do: Callable[[WriteSession, SignedIn, datetime], Any]) -> Any:
        """Change something, and give what came of it."""

        def unit(session: WriteSession) -> Any:
            # Asked again here: the session may have been ended while the body was still on its way.
            signed_in = self._who(session)
            self._bearer.note(session)
            return do(session, signed_in, self.now)

        return self.registry.database.run(unit)

    def _who(self, session: ReadSession | WriteSession) -> SignedIn:
        return self._bearer.signed_in(session)


class Member(Entered):
    """Somebody in a session that is good for everything that they may do."""

    def __init__(self, request: Request, bearer: Annotated[Bearer, Depends()]) -> None:
        super().__init__(request, bearer)
        with self.registry.database.read() as session:
            bearer.caller(session)

    def govern(self, do: Callable[[Work], Any], status: int = 200) -> Response:
        """Do something to somebody else's account."""
        return self.change(lambda session, signed_in, _: do(self.registry.work(session, signed_in.caller)), status)

    def _who(self, session: ReadSession | WriteSession) -> SignedIn:
        self._bearer.caller(session)
        return super()._who(session)
