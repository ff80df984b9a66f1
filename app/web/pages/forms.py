"""What a page's form sends: fields of text, perhaps a file, and the key by which the same form is known when it comes
twice."""

import re
import secrets
from collections.abc import AsyncGenerator, Mapping
from typing import Annotated, Final

import msgspec
from fastapi import Depends
from starlette.datastructures import FormData, UploadFile
from starlette.formparsers import FormParser, MultiPartException, MultiPartParser
from starlette.requests import Request

from app.core.errors import CantrailError, Fault, Kind
from app.services.documents import MOST_BYTES
from app.services.faults import bad_input
from app.web.bodies import BODY_LIMIT
from app.web.edge import body_bytes
from app.web.errors import ProblemError
from app.web.pages.refusal_words import beside, sentence

KEY_FIELD: Final = "_key"
OVERHEAD: Final = 64 * 1024
MOST_FIELDS: Final = 1000
FILES: Final = ("photo", "file")
"""The fields that take a file: a camera's, and any."""
CARRIED_MOST: Final = 256 * 1024
"""How many characters are carried through signing in."""


def new_key() -> str:
    """A key for a form that is about to be shown."""
    return secrets.token_urlsafe(16)


class Sent:
    """A form as it came: every field is text without its outer spaces, and one that was left empty is as good as absent."""

    def __init__(self, form: FormData) -> None:
        self._form = form
        self.fields = [(name, text.strip()) for name, text in form.multi_items() if isinstance(text, str)]
        if any("\0" in name or "\0" in text for name, text in self.fields):
            raise bad_input([Fault("", "bad_character", "This form has a NUL character in it. Leave it out.")])

    @property
    def key(self) -> str:
        """The form's key, or nothing."""
        return self.text(KEY_FIELD)[:200]

    @property
    def fingerprint(self) -> bytes:
        """What makes two forms the same."""
        return msgspec.json.encode([each for each in self.fields if each[0] != KEY_FIELD])

    @property
    def carried(self) -> list[tuple[str, str]]:
        """Every field, to be sent again later. Passwords and codes are never kept for that: their fields' names begin
        with `_`, as the key's does."""
        return [each for each in self.fields if each[0] == KEY_FIELD or not each[0].startswith("_")]

    def text(self, name: str) -> str:
        """One field; empty where it was left out."""
        return next((text for each, text in self.fields if each == name), "")

    def exact(self, name: str) -> str:
        """One field exactly as it was typed, as passwords are."""
        found = self._form.get(name)
        return found if isinstance(found, str) else ""

    def or_none(self, name: str) -> str | None:
        """One field, or None where it is empty."""
        return self.text(name) or None

    def many(self, name: str) -> list[str]:
        """Every value of a field that was filled in."""
        return [text for each, text in self.fields if each == name and text]

    def values(self) -> Mapping[str, str]:
        """The fields by name, the first of each, to show a form again as it was filled in."""
        return dict(reversed(self.fields))

    @property
    def files(self) -> list[UploadFile]:
        """The files that were chosen: of a field for files a browser sends an empty one where none was."""
        found = (self._form.get(name) for name in FILES)
        return [each for each in found if isinstance(each, UploadFile) and each.filename]


async def read_form(request: Request) -> AsyncGenerator[Sent, None]:
    """Read a form, no further than is allowed, and let go of its file in the end. Raises unsupported, too_large, or a ProblemError for what is no form."""
    kind = request.headers.get("content-type", "").lower()
    multipart = kind.startswith("multipart/form-data")
    if not multipart and not kind.startswith("application/x-www-form-urlencoded"):
        raise CantrailError(Kind.UNSUPPORTED, "not_a_form", "This address takes what a page's form sends.")
    raw = await body_bytes(request, MOST_BYTES + OVERHEAD if multipart else BODY_LIMIT)

    async def stream() -> AsyncGenerator[bytes, None]:
        yield raw
        yield b""

    try:
        if multipart:
            form = await MultiPartParser(
                request.headers, stream(), max_files=len(FILES), max_fields=MOST_FIELDS
            ).parse()
        else:
            form = await FormParser(request.headers, stream()).parse()
    except (MultiPartException, KeyError, UnicodeDecodeError) as error:
        raise ProblemError(400, "malformed_form", f"This form cannot be read: {error}.") from error
    request.state.form = form
    try:
        yield Sent(form)
    finally:
        await form.close()


Filled = Annotated[Sent, Depends(read_form)]


class Faulty:
    """The faults of a form that was sent, by the place of the body at which they were found, so that each is shown
    beside its field."""

    def __init__(self, error: CantrailError | None = None) -> None:
        found = () if error is None else error.faults
        self.faults = [Fault(each.pointer, each.code, beside(each.code, each.message)) for each in found]
        self.message = "" if error is None else sentence(error.code, error.message)
        if [each.message for each in found] == [self.message]:
            self.message = self.faults[0].message

    def at(self, *pointers: str) -> str:
        """What is wrong at one of some places, or below them."""
        return " ".join(
            fault.message
            for fault in self.faults
            if any(fault.pointer == each or fault.pointer.startswith(f"{each}/") for each in pointers)
        )

    @property
    def fields(self) -> list[tuple[str, str]]:
        """Each fault with the name of the field beside which it is told."""
        return [(_field_at(each.pointer), each.message) for each in self.faults]

    def __bool__(self) -> bool:
        return bool(self.message)


_NAMED_OTHERWISE: Final[Mapping[str, str]] = {
    "/stated": "value",
    "/source_type": "source",
    "/derivation/method": "method",
    "/derivation/rows": "rows",
    "/answers_rejection": "answer",
    "/subject": "rest",
    "/supersedes": "rest",
    "/quantity": "rest",
}
"""The places in a claim's body whose fields have other names on the page."""


def _field_at(pointer: str) -> str:
    row = re.match("/derivation/rows/([0-9]+)", pointer)
    if row is not None:
        return f"row-{row[1]}"
    known = next((name for place, name in _NAMED_OTHERWISE.items() if f"{pointer}/".startswith(f"{place}/")), None)
    return known or re.sub("^/(citations/[0-9]+/|scope/)?", "", pointer).partition("/")[0]


def local_path(text: str) -> str:
    """An address of this registry as it was given, or the front page for anything else."""
    is_local = text.startswith("/") and not text.startswith("//") and "\\" not in text and text.isprintable()
    return text if is_local and " " not in text else "/"
