"""The beam: names that collide with nothing and overflow nowhere, whatever is on the roof."""

from itertools import pairwise

import pytest

from app.web.pages.beam import described, drawing
from app.web.pages.beam_shapes import Drawing, Kind, Load, Mark, Thing, fitted, measured

ROOF = Mark(75, "roof stops you at 75", "roof 75", Kind.BINDING)
LOADS = {
    "nothing": Load("kg", 0, (), 0, ()),
    "nothing under a limit of nothing": Load("kg", 0, (), 0, (Mark(0, "roof 0", "roof 0", Kind.BINDING),)),
    "over": Load(
        "kg",
        25,
        (Thing("awning", 14), Thing("boards", 7.6), Thing("tent", 36)),
        84,
        (ROOF, Mark(80, "feet 80", "feet 80"), Mark(125, "the rack’s own sticker: 100", "sticker: 100", Kind.STICKER)),
    ),
    "forty things": Load("lb", 55, tuple(Thing(f"A rather long name {n}", n + 0.5) for n in range(40)), 900, (ROOF,)),
    "very small": Load("kg", 0.001, (Thing("pin", 0.002),), 0.003, (Mark(0.004, "roof", "roof", Kind.BINDING),)),
    "very large": Load("kg", 9e4, (Thing("W" * 80, 1e5),), 2e5, (Mark(1e5, "roof", "roof", Kind.BINDING),)),
    "far out": Load("kg", 5, (), 5, (ROOF, Mark(90000, "rack 90 000", "rack 90 000"))),
    "crowded": Load("kg", 5, (), 5, (ROOF, *(Mark(76 + n, f"rack number {n} {76 + n}", "rack") for n in range(20)))),
    "not known": Load("kg", 5, (Thing("tent", 50),), 55, (), known=False),
}


def _span(text, drawn: Drawing) -> tuple[float, float]:  # type: ignore[no-untyped-def]
    size = 18.0 if "bind" in text.style else 13.0 if "num" in text.style else 15.0
    width = measured(text.text, size, mono="num" in text.style)
    start = {"start": text.x, "end": text.x - width, "middle": text.x - width / 2}[text.anchor]
    return start, start + width


@pytest.mark.parametrize("narrow", [True, False])
@pytest.mark.parametrize("name", LOADS)
def test_letters_stay_on_the_drawing_and_apart(name: str, narrow: bool) -> None:
    drawn = drawing(LOADS[name], narrow=narrow)
    rows: dict[float, list[tuple[float, float]]] = {}
    for text in drawn.texts:
        start, end = _span(text, drawn)
        assert start >= 0, text
        assert end <= drawn.width + 0.5, text
        rows.setdefault(text.y, []).append((start, end))
    for spans in rows.values():
        assert all(before[1] <= after[0] + 0.5 for before, after in pairwise(sorted(spans)))
    for box in drawn.boxes:
        assert box.x >= 0
        assert box.width >= 0
        assert box.x + box.width <= drawn.width + 0.5


@pytest.mark.parametrize("name", LOADS)
def test_no_name_of_a_line_crosses_another_line(name: str) -> None:
    drawn = drawing(LOADS[name], narrow=False)
    lines = [rule for rule in drawn.rules if rule.style.startswith("lim")]
    for text in drawn.texts:
        if text.style.startswith("flag"):
            start, end = _span(text, drawn)
            assert not [rule for rule in lines if start < rule.x < end and rule.top < text.y], text


def test_what_is_too_much_stands_beyond_the_line_and_what_is_left_before_it() -> None:
    over = drawing(LOADS["over"], narrow=False)
    (too_much,) = [box for box in over.boxes if box.style == "over"]
    (line,) = [rule for rule in over.rules if rule.style == "lim bind"]
    assert too_much.x == line.x
    within = drawing(Load("kg", 25, (Thing("tent", 20),), 45, (ROOF,)), narrow=False)
    assert [box.style for box in within.boxes] == ["carrier", "a", "left"]
    assert "30 left" in [text.text for text in within.texts]


def test_it_is_told_in_words() -> None:
    assert described(LOADS["over"]) == (
        "Rack 25, awning 14, boards 7.6, tent 36: 82.6 kg on the roof. It may be 75 kg: over by 7.6 kg."
    )
    assert "and 28 more" in described(LOADS["forty things"])
    assert described(LOADS["not known"]).endswith("What it may carry is not known.")


def test_a_name_is_shortened_or_left_out() -> None:
    assert fitted("awning", 200, 15) == "awning"
    assert fitted("a very long awning", 80, 15).endswith("…")
    assert fitted("awning", 20, 15) == ""


def test_a_figure_is_never_cut_off_in_its_middle() -> None:
    stops = Mark(110.2, "roof off road stops you at 110.2", "roof off road 110.2", Kind.BINDING, "off road 110.2")
    roof, sticker = (
        Mark(165.3, "roof 165.3", "roof 165.3"),
        Mark(275.5, "sticker: 220.4", "sticker: 220.4", Kind.STICKER),
    )
    load = Load("lb", 55.2, (Thing("awning", 30.9), Thing("boards", 33.6)), 122, (stops, roof, sticker))
    assert [text.text for text in drawing(load, narrow=True).texts if "bind" in text.style] == ["110.2"]
    bounded = Mark(110.2, "", "roof off road at least 110.2", Kind.BINDING, "roof off road at least 110.2")
    least = Load("lb", 55.2, load.things, 122, (bounded, roof, sticker))
    (told,) = [text.text for text in drawing(least, narrow=True).texts if "bind" in text.style]
    assert told.endswith("\N{HORIZONTAL ELLIPSIS}")
