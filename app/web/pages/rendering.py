"""Templates to bytes: everything that is put into them is text unless it says that it is markup."""

import gzip
import re
from collections.abc import Mapping
from functools import cache
from hashlib import sha256
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from starlette.responses import Response

from app.web.pages import writing
from app.web.pages.forms import new_key

HERE: Final = Path(__file__).parent
STATIC: Final = HERE / "static"

PAGE_CSP: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; font-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)


TURNS: Final = re.compile("[\u202a-\u202e\u2066-\u2069]")
"""Characters that turn the text after them round: a name with one in it would show a figure beside it backwards."""


def unturned(shown: Any) -> Any:
    """What is put into a template, without what would turn the text after it round."""
    return TURNS.sub("", shown) if type(shown) is str and TURNS.search(shown) else shown


@cache
def brought_along() -> Mapping[str, bytes]:
    """The files that pages bring along, by name. They are part of the program, and read once."""
    return {path.name: path.read_bytes() for path in sorted(STATIC.iterdir())}


@cache
def _digest() -> str:
    return sha256(b"".join(brought_along().values())).hexdigest()[:16]


def asset(name: str) -> str:
    """The address of a file that pages bring along. It changes whenever one of them does, so that browsers may keep it
    for ever; and they stand beside each other, so that one can name another."""
    return f"/static/{_digest()}/{name}"


@cache
def packed(name: str) -> bytes:
    """A file that pages bring along, as gzip. Pages themselves are not packed: how short one gets would tell of what
    stands in it beside what another site made a browser ask for."""
    return gzip.compress(brought_along()[name], mtime=0)


def _environment() -> Environment:
    environment = Environment(
        loader=FileSystemLoader(HERE / "templates"),
        autoescape=True,
        undefined=StrictUndefined,
        auto_reload=False,
        finalize=unturned,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["asset"] = asset
    environment.globals["new_key"] = new_key
    environment.globals["words"] = writing.WORDS
    environment.filters |= writing.FILTERS
    return environment


_ENVIRONMENT: Final = _environment()


def rendered(template: str, context: Mapping[str, Any]) -> str:
    """A template filled in."""
    return _ENVIRONMENT.get_template(template).render(context)


def html(
    template: str, context: Mapping[str, Any], status: int = 200, headers: Mapping[str, str] | None = None
) -> Response:
    """A page as an answer."""
    return Response(
        rendered(template, context),
        status,
        {"Content-Security-Policy": PAGE_CSP, "Cache-Control": "no-store", **(headers or {})},
        "text/html",
    )
