"""A file that came with a form which was refused: held meanwhile, so that it need not be chosen again. Nothing speaks of
it, and so it is swept away after a day unless it is filed."""

import msgspec

from app.core.allowance import Submitted
from app.core.errors import CantrailError, Kind, invalid
from app.core.permissions import Scope
from app.services.documents import checked
from app.services.ports import EvidenceStore
from app.services.work import Work

GONE = "The file that you had chosen is not held any more. Choose it again."


class SetAside(msgspec.Struct, frozen=True):
    """A file that waits to be filed: the SHA-256 of its bytes, its name, and how many bytes it has."""

    sha256: str
    name: str
    size: int


def set_aside(work: Work, name: str, content: bytes) -> SetAside:
    """Hold a file that was looked at already. Raises unavailable, and where a newcomer has set many aside today."""
    work.require(Scope.SUBMIT)
    work.spend(Submitted.SET_ASIDE)
    return SetAside(work.store.put(content), name, len(content))


def taken_up(store: EvidenceStore, sha256: str, name: str) -> bytes:
    """The bytes of a file that was set aside. Raises invalid `file_gone` where it is not held any more, and as an upload
    does where its name does not go with it."""
    try:
        content = store.get(sha256)
    except CantrailError as error:
        if error.kind is not Kind.NOT_FOUND:
            raise
        raise invalid("/file", "file_gone", GONE) from error
    checked(name, content)
    return content
