"""A limit as it is sent: what a question's replies would give, and what each side says it is."""

from app.core.claim import Bound, Condition
from app.core.limits import limit
from app.core.mass import Unit
from app.core.scope import UNKNOWN, Scope
from app.services.views.answers import LimitView, Receipt, limit_view
from tests.core.builders import AT_MOST, OFF_ROAD, ON_ROAD, Told, factor, once, roof_limit, told, vehicle

RECEIPT = Receipt("sha256:0", 1, "m1")
WAGONS = Scope(bodies=("wagon",))


def sent(*claims: Told, condition: Condition = OFF_ROAD) -> LimitView:
    """The limit of a wagon or van, not known which."""
    dossier = vehicle(*claims, bodies=("van", "wagon"))
    return limit_view(limit(dossier, UNKNOWN, condition, 0.80), dossier, "roof_limit", Unit.KG, RECEIPT)


def replies(view: LimitView) -> list[tuple[object, float | None, float | None]]:
    return [(each.value, each.gross, each.net) for asked in view.questions for each in asked.answers]


def test_what_a_reply_would_give_is_reduced_by_the_own_factor() -> None:
    claims = (told(roof_limit("140")), told(roof_limit("100", scope=WAGONS), id="C2", publisher="importer"))
    halved = sent(*claims, told(factor("1/2"), id="C3"))

    assert halved.reduced is not None and halved.reduced.gross is not None
    assert halved.reduced.gross.value == 50.0
    assert replies(halved) == [("van", 70.0, None), ("wagon", 50.0, None)]
    assert replies(sent(*claims)) == [("van", 140.0, None), ("wagon", 100.0, None)]
    assert replies(sent(*claims, told(factor("1/2"), id="C3"), condition=ON_ROAD)) == replies(sent(*claims))


def test_a_reply_gives_the_off_road_figure_where_that_is_lower_than_what_the_factor_leaves() -> None:
    claims = (told(roof_limit("140")), told(roof_limit("60", OFF_ROAD, scope=WAGONS), id="C2"))

    assert replies(sent(*claims, told(factor("1/2"), id="C3"))) == [("van", 70.0, None), ("wagon", 60.0, None)]


def test_a_reply_that_leaves_no_figure_gives_none_reduced_either() -> None:
    found = sent(told(roof_limit("100", scope=WAGONS)), once(roof_limit("140"), id="C2"), told(factor("1/2"), id="C3"))

    assert found.figure is None
    assert replies(found) == [("van", None, None), ("wagon", 50.0, None)]


def test_what_an_exact_figure_is_reduced_to_is_exact() -> None:
    found = sent(told(roof_limit("75")), told(factor("1/2", scope=WAGONS), id="C2"))

    assert found.reduced is not None and found.reduced.gross is not None
    assert (found.reduced.gross.value, found.reduced.gross.bound) == (37.5, "exact")


def test_what_a_floor_is_reduced_to_is_a_floor_beside_a_cap_as_low() -> None:
    floor, cap = told(roof_limit("75", bound=Bound.AT_LEAST)), once(roof_limit("75", bound=AT_MOST), id="C2")
    found = sent(floor, cap, told(factor("1/2"), id="C3"))

    assert found.reduced is not None and found.reduced.gross is not None
    assert (found.reduced.gross.value, found.reduced.gross.bound) == (37.5, "at_least")
