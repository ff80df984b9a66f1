"""Whom people may name in a form: the publishers that the registry has, some of them."""

from typing import Final, NamedTuple
from urllib.parse import urlencode

from starlette.requests import Request

from app.core.errors import CantrailError
from app.persistence.session import AnySession
from app.services import looking, naming

OFFERED: Final = 200
"""A field offers so many publishers, the first by their ids; any other is typed."""


class Choice(NamedTuple):
    """A publisher that a field offers."""

    slug: str
    name: str


def publishers(session: AnySession, *, kinds: frozenset[str] | None = None) -> list[Choice]:
    """Publishers of some kinds that a field may offer."""
    page = looking.publishers(session, cursor=None, limit=OFFERED)
    return [
        Choice(each.slug, each.name or each.slug)
        for each in page.items
        if each.kind != "person" and (kinds is None or each.kind in kinds)
    ]


def as_slug(typed: str) -> str:
    """A publisher's id from what somebody typed, which may be its name."""
    try:
        return naming.slug(typed)
    except CantrailError:
        return typed


def asked_with_slugs(request: Request, *names: str) -> bytes:
    """A query in which some parameters may have the name of a publisher where its id belongs."""
    given = request.query_params.multi_items()
    return urlencode([(name, as_slug(text) if name in names else text) for name, text in given]).encode()
