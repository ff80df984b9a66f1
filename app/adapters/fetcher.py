"""Fetching from the public internet, and from nowhere else: every hop is resolved once, checked, and connected to at an
address that was checked."""

import socket
import ssl
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import CancelledError, ThreadPoolExecutor
from contextlib import contextmanager
from time import monotonic
from typing import Final

import httpcore
import httpx

from app.adapters.addresses import Place, led_on, public, read_address
from app.core.errors import CantrailError, Kind
from app.services.ports import Fetched

Resolver = Callable[[str, int], Sequence[str]]
"""Finds a host's IP addresses, all of them. Raises OSError."""

Dialler = Callable[[str, int, float], socket.socket]
"""Connects to an IP address and a port within some seconds. Raises OSError."""

MEDIA_TYPES: Final = frozenset(
    {"application/pdf", "application/xhtml+xml", "image/jpeg", "image/png", "text/html", "text/plain"}
)

_BODY: Final = 10 * 1024 * 1024
_HEADERS: Final = 64 * 1024
_SECONDS: Final = 20.0
_REDIRECTS: Final = 3
_LOOKUPS: Final = 8
_TRIED: Final = 8

_LEADS_ON: Final = frozenset({301, 302, 303, 307, 308})
_GONE: Final = frozenset({404, 410})


def look_up(host: str, port: int) -> Sequence[str]:
    """A host's IP addresses, from the system. The dot at the end keeps it from trying names of its own network."""
    found = socket.getaddrinfo(f"{host}.", port, type=socket.SOCK_STREAM)
    return tuple(dict.fromkeys(str(place[0]) for *_, place in found))


def dial(address: str, port: int, seconds: float) -> socket.socket:
    """A connection to an IP address."""
    return socket.create_connection((address, port), seconds)


class HttpFetcher:
    """Fetches over HTTP/1.1. Threads may share one: a fetch has connections of its own, and keeps nothing."""

    def __init__(
        self,
        *,
        resolver: Resolver = look_up,
        dialler: Dialler = dial,
        tls: ssl.SSLContext | None = None,
        largest: int = _BODY,
        seconds: float = _SECONDS,
        redirects: int = _REDIRECTS,
    ) -> None:
        self._resolver = resolver
        self._dialler = dialler
        self._tls = tls or httpx.create_ssl_context(trust_env=False)
        self._largest = largest
        self._seconds = seconds
        self._redirects = redirects
        # A lookup cannot be given up half way: it runs beside the fetch, which can stop waiting for it.
        self._lookups = ThreadPoolExecutor(_LOOKUPS, thread_name_prefix="lookup")

    def check(self, address: str) -> None:
        """Raises bad input `address_refused` for an address that is never fetched, as far as it shows by itself."""
        read_address(address)

    def fetch(self, address: str) -> Fetched:
        """What the address gives, whole. Raises CantrailError: bad input `address_refused`; unavailable
        `fetch_timed_out`, `fetch_too_large`, `fetch_redirects`, `fetch_not_found`, `fetch_status`,
        `fetch_unreachable`, `fetch_encoded` or `fetch_media_type`."""
        deadline = _Deadline(self._seconds)
        place = read_address(address)
        for _ in range(self._redirects + 1):
            with _told():
                answer = self._ask(place, deadline)
            if isinstance(answer, Fetched):
                return answer
            place = answer
        raise _unavailable("fetch_redirects", "The address leads on too many times. Give the one where it ends.")

    def close(self) -> None:
        """Fetch nothing more. What is under way ends by itself, within its time."""
        self._lookups.shutdown(wait=False, cancel_futures=True)

    def _ask(self, place: Place, deadline: "_Deadline") -> Fetched | Place:
        """One hop: what is there, or where it leads."""
        line = _Line(place.port, self._addresses(place, deadline), self._dialler, deadline)
        url = httpcore.URL(scheme=place.url.raw_scheme, host=place.host, port=place.port, target=place.url.raw_path)
        with (
            httpcore.HTTPConnection(url.origin, ssl_context=self._tls, network_backend=line) as connection,
            connection.stream("GET", url, headers=_asking(place)) as response,
        ):
            headers = httpx.Headers(response.headers)
            if response.status in _LEADS_ON and "location" in headers:
                return _onward(place, headers["location"])
            media_type = self._checked(place, response.status, headers)
            # The chunks of a body have heads of their own.
            line.admit(2 * self._largest + _HEADERS)
            return Fetched(self._body(response), media_type, str(place.url))

    def _addresses(self, place: Place, deadline: "_Deadline") -> Sequence[str]:
        """Where a host is, found once: nobody is asked again between the check and the connection."""
        try:
            lookup = self._lookups.submit(self._find, place)
        except RuntimeError as error:
            raise _unavailable(
                "fetch_unreachable", "The registry is being stopped: try again when it runs again."
            ) from error
        return public(lookup.result(deadline.left()))[:_TRIED]

    def _find(self, place: Place) -> Sequence[str]:
        return self._resolver(place.host, place.port) if place.ip is None else (place.ip,)

    def _checked(self, place: Place, status: int, headers: httpx.Headers) -> str:
        """Refuse what is not taken, before any of its body is; the media type of what is."""
        if status in _GONE:
            raise _unavailable(
                "fetch_not_found", "There is nothing at this address: look for where it went, or upload the file."
            )
        if status != httpx.codes.OK:
            raise _unavailable(
                "fetch_status", f"The server there answered {status} instead of the page. Upload the file instead."
            )
        if "content-encoding" in headers:
            raise _unavailable(
                "fetch_encoded", "The server there sends only compressed answers. Upload the file instead."
            )
        content_type: str = headers.get("content-type", "")
        media_type = content_type.partition(";")[0].strip().lower()
        if media_type and media_type not in MEDIA_TYPES:
            raise _unavailable(
                "fetch_media_type",
                "The address gives something other than a page, text, PDF, PNG or JPEG: give the document's own.",
            )
        chunked = "transfer-encoding" in headers
        if not chunked and int(headers.get("content-length", "0")) > self._largest:
            raise self._too_large()
        # TLS tells an end from a cut. Bare TCP does not.
        if not chunked and "content-length" not in headers and place.url.scheme == "http":
            raise _unavailable(
                "fetch_unreachable",
                "The server there does not say where its answer ends, so nobody can tell whether it is whole. "
                "Upload the file instead.",
            )
        return media_type

    def _body(self, response: httpcore.Response) -> bytes:
        content = bytearray()
        for piece in response.iter_stream():
            content += piece
            if len(content) > self._largest:
                raise self._too_large()
        return bytes(content)

    def _too_large(self) -> CantrailError:
        return _too_large(f"The address gives more than {self._largest / 1024 / 1024:g} MiB, which is the most taken.")


def _asking(place: Place) -> list[tuple[bytes, bytes]]:
    return [
        (b"Host", place.url.netloc),
        (b"User-Agent", b"cantrail"),
        (b"Accept", ", ".join(sorted(MEDIA_TYPES)).encode("ascii")),
        (b"Accept-Encoding", b"identity"),
        (b"Connection", b"close"),
    ]


def _onward(place: Place, location: str) -> Place:
    onward = led_on(place, location)
    if place.url.scheme == "https" and onward.url.scheme == "http":
        raise _unavailable(
            "fetch_redirects",
            "The address leads from https to http, where anyone may change what is sent. Upload the file instead.",
        )
    return onward


class _Deadline:
    """The end of the time for a whole fetch, whatever it is spent on."""

    def __init__(self, seconds: float) -> None:
        self._end = monotonic() + seconds

    def left(self) -> float:
        """The seconds left. Raises TimeoutError where there are none."""
        left = self._end - monotonic()
        if left <= 0:
            raise TimeoutError
        return left


class _Line(httpcore.NetworkBackend):
    """The line to one host, at addresses that were checked, whatever host it is asked for; so much may come in."""

    def __init__(self, port: int, addresses: Sequence[str], dialler: Dialler, deadline: _Deadline) -> None:
        self.deadline = deadline
        self.admitted = _HEADERS
        self._port = port
        self._addresses = addresses
        self._dialler = dialler

    def admit(self, more: int) -> None:
        """Let more bytes come in."""
        self.admitted += more

    def connect_tcp(
        self,
        host: str,
        port: int,
        timeout: float | None = None,
        local_address: str | None = None,
        socket_options: Iterable[httpcore.SOCKET_OPTION] | None = None,
    ) -> httpcore.NetworkStream:
        """Connect to the first address that answers, each with its share of the time. Raises OSError."""
        failed = OSError("the host has no address")
        for tried, address in enumerate(self._addresses):
            try:
                share = self.deadline.left() / (len(self._addresses) - tried)
                return _Stream(self._dialler(address, self._port, share), self)
            except OSError as error:
                failed = error
        raise failed


class _Stream(httpcore.NetworkStream):
    """A connection whose every wait ends at the deadline. Raises OSError."""

    def __init__(self, connected: socket.socket, line: _Line) -> None:
        self._socket = connected
        self._line = line

    def read(self, max_bytes: int, timeout: float | None = None) -> bytes:
        """Some bytes; none at the end. Raises `fetch_too_large` after as many as are admitted."""
        if self._line.admitted <= 0:
            raise _too_large("The server there sends too much around its answer. Upload the file instead.")
        self._socket.settimeout(self._line.deadline.left())
        received = self._socket.recv(min(max_bytes, self._line.admitted))
        self._line.admitted -= len(received)
        return received

    def write(self, buffer: bytes, timeout: float | None = None) -> None:
        """Send it all."""
        self._socket.settimeout(self._line.deadline.left())
        self._socket.sendall(buffer)

    def close(self) -> None:
        """Hang up."""
        self._socket.close()

    def start_tls(
        self, ssl_context: ssl.SSLContext, server_hostname: str | None = None, timeout: float | None = None
    ) -> httpcore.NetworkStream:
        """Shake hands with the host of that name, and no other."""
        try:
            self._socket.settimeout(self._line.deadline.left())
            # An end that the server did not announce is a cut.
            secured = ssl_context.wrap_socket(self._socket, server_hostname=server_hostname, suppress_ragged_eofs=False)
        except BaseException:
            self._socket.close()
            raise
        return _Stream(secured, self._line)


@contextmanager
def _told() -> Iterator[None]:
    """Say what went wrong on the way, and not where: what the network says may name what is inside."""
    try:
        yield
    except TimeoutError as error:
        raise _unavailable(
            "fetch_timed_out", "The server there took too long. Try again later, or upload the file."
        ) from error
    except (OSError, UnicodeError, CancelledError, httpcore.ProtocolError) as error:
        raise _unavailable(
            "fetch_unreachable",
            "The server there could not be reached, or broke off. Check the address, try again later, or upload the file.",
        ) from error


def _too_large(message: str) -> CantrailError:
    return _unavailable("fetch_too_large", message)


def _unavailable(code: str, message: str) -> CantrailError:
    return CantrailError(Kind.UNAVAILABLE, code, message)
