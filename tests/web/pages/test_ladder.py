"""The ladder of points: bars that add up to the sum, within the drawing, and the cap that holds."""

import math
from itertools import pairwise

from app.core.confidence import CURRENT, Cap, Point, probability
from app.services.views.claims import ConfidenceView
from app.web.pages.ladder import CAPS, RUNGS, Ladder, Rests, Rung, exactly, ladder

ALMOST = 0.011


def view(*points: float, caps: tuple[Cap, ...] = (), codes: tuple[str, ...] = ()) -> ConfidenceView:
    named = tuple(
        Point(codes[place] if codes else "blind.first_match", each, f"R{place}") for place, each in enumerate(points)
    )
    uncapped = probability(points)
    held = min([uncapped, *(cap.at_most for cap in caps)])
    return ConfidenceView("C1", "m1", named, round(math.fsum(points), 6), uncapped, caps, held, None)


def ends(rung: Rung) -> tuple[float, float]:
    """Where a bar begins and where it ends, in the order in which its points were added."""
    left, width = float(rung.x.rstrip("%")), float(rung.width.rstrip("%"))
    return (left + width, left) if rung.below else (left, left + width)


def places(drawn: Ladder) -> list[float]:
    return [place for rung in (*drawn.rungs, drawn.total) for place in ends(rung)]


def test_each_rung_begins_where_the_one_before_it_ended() -> None:
    drawn = ladder(view(1.6, 0.7, -0.4, 1.0, 0.6))

    assert abs(ends(drawn.rungs[0])[0] - float(drawn.nought.rstrip("%"))) < ALMOST
    for one, other in pairwise(drawn.rungs):
        assert abs(ends(one)[1] - ends(other)[0]) < ALMOST
    assert abs(ends(drawn.total)[1] - ends(drawn.rungs[-1])[1]) < ALMOST
    assert [rung.below for rung in drawn.rungs] == [False, False, True, False, False]
    assert [rung.points for rung in drawn.rungs] == [1.6, 0.7, -0.4, 1.0, 0.6]


def test_widths_are_in_proportion_to_points() -> None:
    one, other = ladder(view(0.8, 1.6)).rungs

    assert abs(2 * float(one.width.rstrip("%")) - float(other.width.rstrip("%"))) < ALMOST


def test_everything_stays_within_the_drawing() -> None:
    for points in ((-9.0, 0.1), (0.0,), (1.6,), (-0.0004,), (*[-1.0] * 60, 2.0), (0.4,) * 40, ()):
        drawn = ladder(view(*points))

        assert all(0 <= place <= 100 + ALMOST for place in places(drawn)), points
        assert 0 < float(drawn.nought.rstrip("%")) < 100
        assert 0 < float(drawn.needed.rstrip("%")) < 100
        assert len(drawn.rungs) == len(points)


def test_hardly_any_points_can_still_be_seen() -> None:
    shown = ladder(view(3.0, 0.0, -0.0001)).rungs

    assert all(float(rung.width.rstrip("%")) >= 0.8 for rung in shown)


def test_a_claim_that_needs_much_more_has_its_mark_at_the_end_of_the_drawing() -> None:
    assert ladder(view(-3.0)).needed_anchor == "end"
    assert ladder(view(4.0)).needed_anchor == "middle"


def test_the_lowest_cap_holds_and_the_others_say_why_they_do_not() -> None:
    caps = (Cap("sums_agree", 0.92), Cap("one_approval", 0.79), Cap("past_review_by_a_year", 0.999))

    shown = ladder(view(4.0, caps=caps)).caps

    assert [(each.at_most, each.holds, each.why_not) for each in shown if not each.holds] == [
        (0.92, False, "a lower one holds"),
        (0.999, False, "not reached"),
    ]
    assert [each.at_most for each in shown if each.holds] == [0.79]
    assert not any(each.holds for each in ladder(view(0.5, caps=caps)).caps)


def test_the_sum_can_be_checked_by_hand() -> None:
    drawn = ladder(view(1.6, 0.7, -1.193148, -1.187, 2.7))
    by_hand = sum(float(exactly(rung.points).replace("\N{MINUS SIGN}", "-")) for rung in drawn.rungs)

    assert abs(by_hand - drawn.sum) < 0.0005
    assert math.floor(1000 / (1 + math.exp(-by_hand))) / 1000 == drawn.uncapped
    assert (exactly(1.0), exactly(-0.6), exactly(0.0), exactly(-1.193148)) == ("+1.0", "−0.6", "+0.0", "−1.1931")


def test_every_point_and_cap_of_the_method_has_words() -> None:
    assert {code for code in CURRENT.points if code != "age.most"} <= RUNGS.keys()
    assert CURRENT.caps.keys() | {"weakest_input"} <= CAPS.keys()


def test_a_row_tells_on_what_it_rests() -> None:
    drawn = ladder(view(1.0, 0.6), lambda about: [Rests(f"reading {about}", f"#{about}")])

    assert drawn.rungs[1].rests == [Rests("reading R1", "#R1")]
    assert ladder(view(1.0)).rungs[0].rests == []
