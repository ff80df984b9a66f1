"""The files that pages bring along: kept for ever by their digest, and small on the way."""

import gzip
from pathlib import Path

import pytest

from app.web.pages.rendering import STATIC, asset
from tests.web.pages.tabs import Square

NAMES = sorted(path.name for path in STATIC.iterdir())


@pytest.mark.parametrize("name", NAMES)
def test_a_file_comes_packed_to_whoever_can_unpack_it(town: Square, name: str) -> None:
    content = (STATIC / name).read_bytes()
    plain = town.client.get(asset(name), headers={"Accept-Encoding": "identity"})
    assert (plain.status_code, plain.content) == (200, content)
    assert "immutable" in plain.headers["cache-control"]
    assert "content-encoding" not in plain.headers
    packed = town.client.get(asset(name), headers={"Accept-Encoding": "br, gzip"})
    assert packed.content == content
    if name.endswith(".woff2"):
        assert "content-encoding" not in packed.headers
    else:
        assert packed.headers["content-encoding"] == "gzip"
        assert packed.headers["vary"] == plain.headers["vary"] == "Accept-Encoding"
        assert int(packed.headers["content-length"]) == len(gzip.compress(content, mtime=0)) < len(content)


def test_a_file_is_read_once(town: Square, monkeypatch: pytest.MonkeyPatch) -> None:
    path = asset("style.css")
    first = town.client.get(path)

    def unread(_path: Path) -> bytes:
        raise AssertionError("read again")

    monkeypatch.setattr(Path, "read_bytes", unread)
    for coding in ("identity", "gzip"):
        again = town.client.get(path, headers={"Accept-Encoding": coding})
        assert (again.status_code, again.content) == (200, first.content)


def test_what_has_changed_since_is_not_there(town: Square) -> None:
    digest = asset(NAMES[0]).split("/")[2]
    for path in (
        f"/static/{digest[::-1]}/{NAMES[0]}",
        f"/static/{digest}/nothing.css",
        f"/static/{digest}/..%2ffront.py",
    ):
        assert town.client.get(path).status_code == 404
