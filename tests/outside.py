"""Stand-ins at the ports to the world outside: a reader of plain texts, and a web of pages that the test writes."""

from app.core.errors import CantrailError, Kind, invalid
from app.core.pages import Page
from app.services.ports import Fetched, Looked, ReadText

PICTURE = b"\x89PNG\r\n\x1a\n a page"


class PlainReader:
    """Reads whatever a file says as plain text, a form feed between pages; one that says UNREADABLE cannot be read."""

    def look(self, content: bytes, media_type: str) -> Looked:
        return Looked(len(self.read(content, media_type).pages))

    def read(self, content: bytes, media_type: str) -> ReadText:
        text = content.decode("utf-8", errors="replace")
        if "UNREADABLE" in text:
            raise CantrailError(Kind.UNSUPPORTED, "file_unreadable", "This file cannot be read. Save it anew.")
        if media_type.startswith("image/"):
            return ReadText((Page(""),), "none")
        return ReadText(tuple(Page(page) for page in text.split("\f")), "layer")

    def picture(self, content: bytes, media_type: str, page: int, width: int | None = None) -> bytes:
        if not 1 <= page <= self.look(content, media_type).pages:
            raise CantrailError(Kind.NOT_FOUND, "no_such_page", "There is no such page.")
        return PICTURE


class WrittenWeb:
    """What is published at some addresses; nothing anywhere else."""

    def __init__(self, pages: dict[str, str] | None = None) -> None:
        self.pages = dict(pages or {})
        self.asked: list[str] = []

    def check(self, address: str) -> None:
        if "localhost" in address:
            raise invalid("/address", "address_refused", "This address is never fetched.")

    def fetch(self, address: str) -> Fetched:
        self.asked.append(address)
        if address not in self.pages:
            raise CantrailError(Kind.UNAVAILABLE, "fetch_not_found", "There is nothing at this address.")
        return Fetched(self.pages[address].encode(), "text/html", address)

    def close(self) -> None:
        self.pages.clear()
