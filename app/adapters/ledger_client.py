"""Another registry's ledger over HTTP. Whoever answers may be hostile: everything has a size, a time and a form.

No redirect is followed, no proxy or certificate named in the environment is used, and nothing compressed is taken.
"""

import time
from typing import Any, Final, TypeVar

import httpx
import msgspec
import rfc8785

from app.core.checkpoint import MOST_ENTRIES
from app.core.errors import CantrailError, Kind, invalid
from app.core.merkle import HASH_SIZE

API: Final = "/api/v1/ledger"
SMALL: Final = 64 * 1024
LARGE: Final = 32 * 1024 * 1024
"""Bytes: a checkpoint, a key or a proof; a page of entries."""

WAIT_S: Final = 10.0
WHOLE_S: Final = 60.0
"""Seconds for the next bytes, and for one answer in all."""

ENTRIES_AT_ONCE: Final = 200
MOST_HASHES: Final = 64


Wanted = TypeVar("Wanted", bound=msgspec.Struct)


class _Key(msgspec.Struct, frozen=True):
    key: str


class _Proof(msgspec.Struct, frozen=True):
    hashes: list[str]


class _Line(msgspec.Struct, frozen=True):
    entry: dict[str, Any]


class _Entries(msgspec.Struct, frozen=True):
    items: list[_Line]


class HttpLedger:
    """A registry at an address."""

    def __init__(self, address: str, *, transport: httpx.BaseTransport | None = None) -> None:
        self._address = _checked(address)
        self._client = httpx.Client(
            timeout=WAIT_S,
            follow_redirects=False,
            trust_env=False,
            headers={"Accept-Encoding": "identity", "User-Agent": "cantrail"},
            transport=transport,
        )

    def close(self) -> None:
        """Ask no more."""
        self._client.close()

    def key(self) -> str:
        """The verifier key that it names."""
        return _decoded(self._get("/key", {}, SMALL), _Key).key

    def checkpoint(self) -> str:
        """Its present checkpoint, as a signed note."""
        try:
            return self._get("/checkpoint", {}, SMALL).decode()
        except UnicodeDecodeError as error:
            raise _nonsense("a checkpoint") from error

    def consistency(self, earlier: int, size: int) -> list[bytes]:
        """What it says shows that one of its sizes begins with an earlier one."""
        told = _decoded(self._get("/proof/consistency", {"from": earlier, "to": size}, SMALL), _Proof).hashes
        try:
            hashes = [bytes.fromhex(each) for each in told]
        except ValueError as error:
            raise _nonsense("a proof") from error
        if len(hashes) > MOST_HASHES or any(len(each) != HASH_SIZE for each in hashes):
            raise _nonsense("a proof")
        return hashes

    def entries(self, after: int) -> list[tuple[int, bytes]]:
        """Some entries that follow one: their numbers and canonical JSON."""
        told = _decoded(self._get("/entries", {"after": after, "limit": ENTRIES_AT_ONCE}, LARGE), _Entries).items
        try:
            return [(_number(each.entry.get("seq")), rfc8785.dumps(each.entry)) for each in told]
        except (ValueError, RecursionError) as error:
            raise _nonsense("entries") from error

    def _get(self, path: str, query: dict[str, int], most: int) -> bytes:
        ends = time.monotonic() + WHOLE_S
        content = bytearray()
        try:
            with self._client.stream("GET", f"{self._address}{API}{path}", params=query) as answer:
                if answer.status_code != 200:
                    raise _refused(answer.status_code, path)
                if answer.headers.get("content-encoding", "identity").lower() != "identity":
                    raise _nonsense("uncompressed answers")
                for chunk in answer.iter_raw():
                    content += chunk
                    if len(content) > most:
                        raise _nonsense(f"answers of at most {most} bytes")
                    if time.monotonic() > ends:
                        raise _unreachable(f"it had not answered in full after {WHOLE_S:.0f} seconds")
        except (httpx.HTTPError, httpx.InvalidURL) as error:
            raise _unreachable(str(error) or type(error).__name__) from error
        return bytes(content)


def _checked(address: str) -> str:
    try:
        url = httpx.URL(address)
    except httpx.InvalidURL as error:
        raise _bad_address() from error
    if url.scheme not in {"http", "https"} or not url.host or url.query or url.fragment or url.userinfo:
        raise _bad_address()
    return address.rstrip("/")


def _decoded(content: bytes, wanted: type[Wanted]) -> Wanted:
    try:
        return msgspec.json.decode(content, type=wanted)
    except (msgspec.MsgspecError, UnicodeDecodeError, RecursionError) as error:
        raise _nonsense("what it is asked for") from error


def _number(value: Any) -> int:
    if not isinstance(value, int) or not 0 < value <= MOST_ENTRIES:
        raise ValueError(value)
    return value


def _bad_address() -> CantrailError:
    return invalid("--against", "bad_address", "Give the registry's address, as in https://roofs.example.org.")


def _refused(status: int, path: str) -> CantrailError:
    more = " Redirects are not followed: give the address where it is." if 300 <= status < 400 else ""
    return CantrailError(Kind.UNAVAILABLE, "registry_refused", f"The registry answered {status} to {API}{path}.{more}")


def _nonsense(wanted: str) -> CantrailError:
    return CantrailError(Kind.UNAVAILABLE, "registry_nonsense", f"The registry does not give {wanted}.")


def _unreachable(why: str) -> CantrailError:
    return CantrailError(Kind.UNAVAILABLE, "registry_unreachable", f"The registry cannot be asked: {why}.")
