"""The worker's tools for a registry of invented papers: they are read in this very process, and nobody goes out."""

from app.adapters.reading import pdf, pictures
from app.core.errors import CantrailError, Kind
from app.services.ports import Fetched, Looked, ReadText

PDF = "application/pdf"


class PlainReader:
    """Reads the demo's own papers, which need not be kept at arm's length: a hundred processes take a minute."""

    def look(self, content: bytes, media_type: str) -> Looked:
        return pdf.look(content) if media_type == PDF else pictures.look(content, media_type)

    def read(self, content: bytes, media_type: str) -> ReadText:
        return pdf.read(content) if media_type == PDF else pictures.read(content, media_type)

    def picture(self, content: bytes, media_type: str, page: int, width: int | None = None) -> bytes:
        return pdf.picture(content, page, 1500, width or 0)


class NoFetcher:
    """Nothing answers at any address."""

    def check(self, address: str) -> None:
        """Any address will do: none is ever fetched."""

    def fetch(self, address: str) -> Fetched:
        raise CantrailError(Kind.UNAVAILABLE, "fetch_failed", f"Nothing answers at {address}.")

    def close(self) -> None:
        """There is nothing to let go of."""
