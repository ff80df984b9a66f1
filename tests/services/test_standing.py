"""What became of an answer: whatever leaves less, or leaves something unknown, is lowered."""

from typing import Any

import pytest

from app.services.standing import Effect, Outcome, effect_of

HEAVY, LIGHT = Outcome(True, (-25.0,)), Outcome(True, (-12.0,))
"""An own mass, as the room that it leaves."""


def of(*figures: float | None, caps: tuple[float | None, ...] = (), ranks: Any = ()) -> Outcome:
    return Outcome(True, figures, caps, ranks)


@pytest.mark.parametrize(
    ("was", "now", "effect"),
    [
        (of(75.0), of(75.0), Effect.STANDS),
        (of(75.0), of(70.0), Effect.LOWERED),
        (of(75.0), of(80.0), Effect.RAISED),
        (of(75.0, 50.0), of(80.0, 45.0), Effect.LOWERED),
        (of(75.0, 50.0), of(None, 50.0), Effect.LOWERED),
        (of(None, 50.0), of(75.0, 50.0), Effect.LOWERED),
        (of(75.0, caps=(None,)), of(75.0, caps=(60.0,)), Effect.LOWERED),
        (of(75.0, caps=(60.0,)), of(75.0, caps=(None,)), Effect.RAISED),
        (of(75.0, ranks=((1, "vetted"),)), of(75.0, ranks=((0, ""),)), Effect.LOWERED),
        (of(75.0, ranks=((0, ""),)), of(75.0, ranks=((1, "vetted"),)), Effect.RAISED),
        (of(75.0), Outcome(False, (None,)), Effect.EMPTIED),
        (Outcome(False, (None,)), of(75.0), Effect.FILLED),
        (LIGHT, HEAVY, Effect.LOWERED),
        (HEAVY, LIGHT, Effect.RAISED),
    ],
)
def test_what_became_of_an_answer(was: Outcome, now: Outcome, effect: Effect) -> None:
    assert effect_of(was, now) is effect
