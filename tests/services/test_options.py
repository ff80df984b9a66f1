"""What else could be done, asked all along a history: as of then it is the same for ever, and it is what budgets say."""

import random
from contextlib import suppress
from typing import Any

import msgspec

from app.core.errors import CantrailError
from app.services.answering import Answers
from app.services.asked import BudgetIn, OptionsIn
from app.services.options import of_budget, options
from app.services.views.options import OptionsView
from tests.services.histories import Region, WideLife
from tests.services.outdoors import Outdoors


def asked_in(life: WideLife, rng: random.Random) -> OptionsIn:
    body: dict[str, Any] = {
        "vehicle": rng.choice(life.vehicles).id,
        "condition": rng.choice(["on_road", "off_road", "parked"]),
        "min_confidence": rng.choice([0.8, 0.8, 0.5, 0.9]),
        "carriers": [{"id": rng.choice(life.carriers).id}],
        "gear": [{"name": "box", "mass": rng.randint(1, 40), "quantity": 3}, {"id": rng.choice(life.gear).id}],
    }
    return msgspec.convert(body, OptionsIn, strict=False)


def test_as_of_then_it_is_the_same_for_ever(outdoors: Outdoors) -> None:
    rng = random.Random("what else")
    taken: list[tuple[OptionsIn, OptionsView]] = []

    def take(life: WideLife) -> None:
        if rng.random() < 0.15:
            with suppress(CantrailError):
                asked = asked_in(life, rng)
                taken.append((asked, options(outdoors.answers, asked)))

    Region(outdoors, rng, ["Aldous"]).live(160, take)
    again = Answers(outdoors.database, 50)
    for asked, then in taken:
        assert options(again, msgspec.structs.replace(asked, as_of=then.receipt.as_of)) == then
    assert len(taken) > 10
    assert any(len(then.alternatives) > 1 for _, then in taken)
    assert len({then.receipt.digest for _, then in taken}) > 5
    for asked, then in taken[-5:]:
        plain = BudgetIn(**{name: getattr(asked, name) for name in BudgetIn.__struct_fields__ if name != "gear"})
        assert of_budget(plain).gear == []
        for each in then.alternatives:
            fixing = each.fixing if each.fixing in {None, "built_in"} else {"id": each.fixing}
            racks = {"carriers": [{"id": each.carriers[0]}], "fixing": fixing, "as_of": then.receipt.as_of}
            body = {**msgspec.to_builtins(asked), **racks, "gear": []}
            budget = msgspec.json.decode(again.budget(msgspec.convert(body, BudgetIn, strict=False)).body)
            assert (budget["ceiling"], budget["condition"]) == (each.ceiling, each.condition)
