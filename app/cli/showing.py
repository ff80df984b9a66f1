"""What every answer on the terminal has: 80 columns, no colour needed, and figures as they were sent, to the digit."""

import textwrap
from collections.abc import Iterable, Sequence
from decimal import ROUND_FLOOR, Decimal
from itertools import zip_longest
from typing import Any, Final

WIDTH: Final = 80
INDENT: Final = "  "

COUNTS: Final = {"includes_carrier": "rack counted", "excludes_carrier": "cargo alone"}
BOUNDS: Final = {"exact": "", "at_least": "at least ", "at_most": "at most "}
WHEN: Final = {"on_road": "on sealed roads", "off_road": "off road", "parked": "parked"}
OPTIONS: Final = {
    "years": ("model year", "--year"),
    "bodies": ("body", "--body"),
    "roofs": ("roof", "--roof"),
    "markets": ("country", "--market"),
}

OTHER: Final = "any other"


def plain(amount: float) -> str:
    """An amount with the decimals that it was sent with: rounding it here might allow too much."""
    text = f"{_exact(amount):f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def column(amounts: Iterable[float | None], unknown: str = "?") -> list[str]:
    """Amounts under each other, aligned on the point."""
    given = list(amounts)
    decimals = max((len(plain(each).partition(".")[2]) for each in given if each is not None), default=0)
    texts = [unknown + " " * (decimals and decimals + 1) if each is None else f"{each:.{decimals}f}" for each in given]
    width = max(map(len, texts), default=0)
    return [text.rjust(width) for text in texts]


def certain(confidence: float) -> str:
    """A confidence, never made to look higher than it is."""
    return f"{_exact(confidence).quantize(Decimal('0.001'), rounding=ROUND_FLOOR)}"


def _exact(number: float) -> Decimal:
    return Decimal(str(number))


def visible(text: str) -> str:
    """A text from elsewhere on one line, with all spelt out that a terminal would obey or hide."""
    return "".join(each if each.isprintable() else each.encode("unicode_escape").decode() for each in text)


def say(sentence: str, first: str = "", rest: str = "") -> None:
    """A sentence, wrapped; ids are never broken."""
    print(textwrap.fill(sentence, WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False))


def paragraph(sentence: str) -> None:
    """A sentence with a line to itself before it."""
    print()
    say(sentence)


def in_columns(cells: Sequence[tuple[str, int, str]]) -> None:
    """One row: each text with its width and how it stands in it (`<` or `>`); what is too long goes on below."""
    wrapped = [textwrap.wrap(text, width, break_on_hyphens=False) or [""] for text, width, _ in cells]
    for line in zip_longest(*wrapped, fillvalue=""):
        shown = [f"{part:{side}{width}}" for part, (_, width, side) in zip(line, cells, strict=True)]
        print((INDENT + INDENT.join(shown)).rstrip())


def ask(dimension: str, answers: Iterable[tuple[Any, str]]) -> None:
    """A question on which the answer depends, and what each reply would give."""
    name, option = OPTIONS[dimension]
    paragraph(f"Which {name}? It changes the answer; tell it with {option}:")
    told = sorted(((value_name(value), amount) for value, amount in answers), key=lambda each: each[0] == OTHER)
    width = max(len(value) for value, _ in told)
    for value, amount in told:
        print(f"{INDENT}{value:<{width}}  {amount}")


def value_name(value: Any) -> str:
    """A value of a dimension, as an option takes it."""
    if not isinstance(value, dict):
        return OTHER if value == "none_of_these" else str(value)
    if value["from"] == value["to"]:
        return str(value["from"])
    return f"{value['from']} to {'now' if value['to'] is None else value['to']}"


def refused(refusal: dict[str, Any]) -> str:
    """Why a figure is not named, with the best claim there is."""
    best = refusal["best"]
    if best is None:
        return str(refusal["sentence"])
    return f"{refusal['sentence']} The most certain is {best['claim']}, at {certain(best['confidence'])}."


def before_you_drive(cautions: Iterable[str]) -> None:
    """The cautions."""
    print("\nBefore you drive:")
    for caution in cautions:
        say(caution, "- ", "  ")


def close(shown: dict[str, Any]) -> None:
    """What stands at the end of every answer."""
    unit = shown["unit"]
    for conflict in shown["conflicts"]:
        between = f"{plain(conflict['low'])} to {plain(conflict['high'])} {unit}"
        paragraph(f"Conflict: {', '.join(conflict['claims'])} say {between}; the lowest stands.")
    for lower in shown["unreviewed_lower"]:
        figure = lower["figure"].replace("_", " ")
        value = "" if lower["value"] is None else f", {plain(lower['value'])} {unit}"
        worse = "more" if lower["figure"] == "own_mass" else "lower"
        paragraph(f"Not reviewed yet: {lower['claim']} has the {figure} {worse}{value}. It changes nothing so far.")
    for note in shown["notes"]:
        paragraph(note["sentence"])
    before_you_drive(shown["cautions"])
    receipt = shown["receipt"]
    if receipt["method"]:
        print(f"\nAs of entry {receipt['as_of']}, method {receipt['method']}, {receipt['digest'][:23]}")
