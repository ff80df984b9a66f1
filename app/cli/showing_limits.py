"""A limit on the terminal: the figure first, then what it rests on."""

from typing import Any

from app.cli.showing import BOUNDS, COUNTS, INDENT, WHEN, ask, certain, close, column, paragraph, plain, refused, say

SIDES = ("gross", "net")


def show_limit(shown: dict[str, Any]) -> None:
    """A limit, or why there is none."""
    figure = shown["figure"]
    if figure is None:
        say(f"UNKNOWN: {refused(shown['refusal'])}")
        if shown["cap"]:
            paragraph(f"Whatever it is, it is no more than {_sides(shown['cap'], shown['unit'])}.")
    else:
        say(_headline(shown))
        vetted = "Vetted" if shown["vetted"] else "NOT VETTED"
        roots = figure["roots"]
        print(
            f"{vetted}, confidence {certain(figure['confidence'])}, "
            f"{roots} independent source{'' if roots == 1 else 's'}."
        )
        _table(shown)
    for question in shown["questions"]:
        ask(question["dimension"], ((each["value"], _answer(each, shown)) for each in question["answers"]))
    close(shown)


def _headline(shown: dict[str, Any]) -> str:
    """The least that may be on the roof: off-road, the vehicle's own factor may have lowered the figure."""
    figure, reduced = shown["figure"], shown["reduced"] or {}
    least = {side: _lower(figure[side], reduced.get(side)) for side in SIDES}
    return f"{_sides(least, shown['unit'])}, {WHEN[shown['condition']]}: the roof limit of {shown['subject']}."


def _lower(one: dict[str, Any] | None, other: dict[str, Any] | None) -> dict[str, Any] | None:
    return min((each for each in (one, other) if each is not None), key=lambda side: side["value"], default=None)


def _sides(sides: dict[str, Any], unit: str) -> str:
    told = [
        f"{BOUNDS[side['bound']].removeprefix('at most ')}{plain(side['value'])} {unit} ({COUNTS[side['basis']]})"
        for side in (sides[each] for each in SIDES)
        if side is not None
    ]
    text = " and ".join(told)
    return text[0].upper() + text[1:]


def _table(shown: dict[str, Any]) -> None:
    reduced = shown["reduced"]
    rows = [("as recorded" if reduced else "", shown["figure"][side]) for side in SIDES]
    if reduced:
        rows += [(f"times {reduced['factor']}", reduced[side]) for side in SIDES]
    rows = [(what, side) for what, side in rows if side is not None]
    amounts = column(side["value"] for _, side in rows)
    wide = max(6, *map(len, amounts))
    between = 13 if reduced else 0
    print(f"\n{INDENT}{shown['unit']:>{wide}}  {'counts':<14}{'bound':<10}{'':<{between}}claims")
    for (what, side), amount in zip(rows, amounts, strict=True):
        bound = side["bound"].replace("_", " ")
        claims = ", ".join(side["claims"])
        print(f"{INDENT}{amount:>{wide}}  {COUNTS[side['basis']]:<14}{bound:<10}{what:<{between}}{claims}")


def _answer(answer: dict[str, Any], shown: dict[str, Any]) -> str:
    told = [
        f"{plain(answer[side])} {shown['unit']} ({counts})"
        for side, counts in zip(SIDES, COUNTS.values(), strict=True)
        if answer[side] is not None
    ]
    return " and ".join(told) or "not known"
