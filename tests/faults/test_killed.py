"""Killed at any write, sync or rename of any way of writing: nothing is lost, and a request sent again is done once."""

import os
import random
from collections import Counter
from pathlib import Path
from typing import Any, Final

from tests.faults.killing import mortal
from tests.faults.nothing_lost import assert_nothing_lost, assert_sound, types_of
from tests.faults.paths import Step, go
from tests.faults.standing import Standing, begun, settled

POINTS: Final = int(os.environ.get("CANTRAIL_FAULT_POINTS", "300"))
"""At how many points it is killed, about; 3,000 and more are every point there is."""

OF_ALL: Final = 2600
"""How many points there are about, one journey long."""


def test_killed_at_any_point_of_any_way_to_write_nothing_is_lost(
    sqlite_url: str, sqlite_template: Path, tmp_path: Path
) -> None:
    settings = settled(sqlite_url, tmp_path / "data")
    people = begun(settings)
    killed: Counter[str] = Counter()
    chance = random.Random(73)
    stride = max(1, 2 * OF_ALL // POINTS - 1)
    with mortal(settings, people) as victim:

        def do(step: Step, place: int) -> Any:
            point = chance.randint(1, min(stride, 8))
            while (answer := victim.do(step, f"0-{place}", point)) is None:
                killed[step.what] += 1
                assert_sound(settings)
                point += chance.randint(1, stride)
            status, body = answer
            assert status in {200, 201}, (step, body)
            if place % 5 == 0:
                assert_nothing_lost(settings)
            return body

        steps = go(0, do)
    assert set(killed) == set(steps)
    assert killed.total() > POINTS * 0.8
    assert_nothing_lost(settings, types=_types_of_a_quiet_life(sqlite_template, tmp_path / "quiet"))


def _types_of_a_quiet_life(template: Path, folder: Path) -> list[str]:
    """What is in the ledger where nobody was killed."""
    folder.mkdir()
    path = folder / "registry.sqlite3"
    path.write_bytes(template.read_bytes())
    settings = settled(f"sqlite:///{path}", folder / "data")
    standing = Standing(settings, begun(settings))
    go(0, lambda step, place: standing.do(step, f"0-{place}")[1])
    types = types_of(standing.registry.database)
    standing.registry.close()
    return types
