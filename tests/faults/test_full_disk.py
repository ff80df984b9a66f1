"""A disk that is full or broken at any write: 503 and nothing half done, reads are answered, and it recovers by itself."""

import errno
import os
import random
from pathlib import Path
from typing import Any, Final

import pytest

from tests.faults.nothing_lost import assert_nothing_lost
from tests.faults.paths import Step, go
from tests.faults.sqlite_calls import intercepted
from tests.faults.standing import Standing, begun, settled
from tests.web.story import API

FAULTS: Final = int(os.environ.get("CANTRAIL_FAULT_WRITES", "80"))
"""At how many writes the disk fails, about, of each kind; at night, more."""

OF_ALL: Final = 2600


class Disk:
    """Fails at the so-manieth write; once, or from then on until it is mended."""

    def __init__(self, error: int, *, sticky: bool) -> None:
        self._error = error
        self._sticky = sticky
        self.left = 0
        self.failed = 0

    def act(self, half: Any) -> int:
        self.left -= 1
        if self.left == 0 or (self._sticky and self.left < 0):
            self.failed += 1
            return self._error
        return 0


@pytest.mark.parametrize(("error", "sticky"), [(errno.ENOSPC, True), (errno.ENOSPC, False), (errno.EIO, True)])
def test_a_disk_that_fails_at_any_write_loses_nothing(
    error: int, sticky: bool, sqlite_url: str, tmp_path: Path
) -> None:
    settings = settled(sqlite_url, tmp_path / "data")
    standing = Standing(settings, begun(settings))
    # A first look at a file that nobody has open makes SQLite's own two files beside it, for which there must be room.
    assert standing.get(f"{API}/publishers") == 200
    chance = random.Random(error)
    stride = max(1, 2 * OF_ALL // FAULTS - 1)
    refused = 0

    def do(step: Step, place: int) -> Any:
        nonlocal refused
        point = chance.randint(1, stride)
        while step.path is not None:
            disk = Disk(error, sticky=sticky)
            disk.left = point
            with intercepted(disk.act):
                status, body = standing.do(step, f"0-{place}")
                # What was entered before is still answered while nothing can be written.
                assert standing.get(f"{API}/publishers") == 200
            if not disk.failed:
                break
            # After the commit there are writes that may fail and lose nothing: the answer is then as if they had not.
            assert status in {200, 201} or (status, body["code"]) == (503, "storage_unavailable"), body
            refused += status == 503
            point += chance.randint(1, stride)
        status, body = standing.do(step, f"0-{place}")
        assert status in {200, 201}, (step, body)
        return body

    go(0, do)
    standing.registry.close()
    assert refused > FAULTS / 10
    assert_nothing_lost(settings)
