"""A figure worked back on the terminal: the rows, what they tell together, the figure."""

from typing import Any, Final

from app.cli.showing import INDENT, WIDTH, before_you_drive, in_columns, paragraph, plain, say, visible

SPANS: Final = ("mass", "load", "together")
HEADINGS: Final = ("itself", "load", "together")
LEAST_NAME: Final = 14
"""As narrow as the column of names may be; then the ends of spans go below each other."""


def show_derivation(shown: dict[str, Any]) -> None:
    """A figure worked back from accessory pages."""
    *sentences, figure = shown["working"]
    _table(shown["rows"], shown["unit"])
    print()
    for sentence in sentences:
        say(visible(sentence))
    paragraph(visible(figure))
    before_you_drive(shown["cautions"])


def _table(rows: list[dict[str, Any]], unit: str) -> None:
    named = [visible(row["accessory"]) for row in rows]
    parts = [row["part"].replace("_", "-") for row in rows]
    headings = [f"{heading}, {unit}" for heading in HEADINGS]
    number = max(len("row"), len(str(len(rows))))
    last = max(map(len, ("part", *parts)))
    for between in ("-", " to "):
        spans = [[_span(row[each], between) for each in SPANS] for row in rows]
        columns = zip(headings, *spans, strict=True)
        widths = [max(len(end) for text in column for end in text.partition(" to ")) for column in columns]
        name = WIDTH - number - last - sum(widths) - len(INDENT) * (len(widths) + 3)
        if name >= LEAST_NAME:
            break
    name = min(name, max(map(len, ("accessory", *named))))

    def line(first: str, accessory: str, amounts: list[str], part: str) -> None:
        amounted = [(amount, width, ">") for amount, width in zip(amounts, widths, strict=True)]
        in_columns([(first, number, ">"), (accessory, name, "<"), *amounted, (part, last, "<")])

    line("row", "accessory", headings, "part")
    for place, (accessory, amounts, part) in enumerate(zip(named, spans, parts, strict=True), start=1):
        line(str(place), accessory, amounts, part)


def _span(span: dict[str, Any], between: str) -> str:
    low, high = plain(span["low"]), plain(span["high"])
    return low if low == high else f"{low}{between}{high}"
