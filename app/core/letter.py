"""The letter that asks well: plain words that settle what a rating means, on one sheet of paper.

It names the vehicle, asks only for what the registry does not know yet, and lets figures that it has be confirmed.
Whoever sends it signs it.
"""

import re
import textwrap
from collections.abc import Iterator, Sequence
from decimal import Decimal
from typing import Final

import msgspec

from app.core.claim import Condition
from app.core.conditions import Ruling
from app.core.confidence import SETS_AT
from app.core.letter_words import WORDS, Language, Words
from app.core.limits import limit
from app.core.mass import Unit, allowed_in
from app.core.scope import UNKNOWN, Years
from app.core.scoring import Dossier
from app.core.selection import Firmness, Side

WIDTH: Final = 72
SPACE_TO_WRITE: Final = "." * 32


class Named(msgspec.Struct, frozen=True):
    """The vehicle that a letter is about, in words: its maker's name, its model and series, and its model years."""

    maker: str
    model: str
    series: str | None
    years: Years


class Letter(msgspec.Struct, frozen=True):
    """A letter: what it is about, its questions without their numbers, and its whole text."""

    subject: str
    questions: tuple[str, ...]
    text: str


def known_figures(vehicle: Dossier) -> dict[Condition, Ruling]:
    """The limits that need only be confirmed: vetted, in one condition's own words, undisputed among the claims, and the
    same for every car that the vehicle could be."""
    found = {condition: limit(vehicle, UNKNOWN, condition, SETS_AT) for condition in Condition}
    return {
        condition: each.ruling
        for condition, each in found.items()
        if each.ruling.figure
        and each.ruling.vetted
        and not (each.ruling.notes or each.ruling.conflicts or each.unreviewed_lower or each.open)
    }


def letter(
    vehicle: Named,
    to: str | None,
    conditions: Sequence[Condition],
    known: dict[Condition, Ruling],
    language: Language,
) -> Letter:
    """A letter about a vehicle's roof in some conditions, to somebody by name (None: the name is left to be written)."""
    words = WORDS[language]
    unknown = [each for each in conditions if each not in known]
    subject = words.subject.format(vehicle=_name(vehicle), years=_years(vehicle.years, words))
    questions = tuple(_questions(unknown, words))
    confirm = [f"{words.when[each]}{words.colon} {_figure(known[each], words)}" for each in conditions if each in known]
    lines = [
        *_paragraph(f"{words.place_and_date} {SPACE_TO_WRITE}"),
        *_paragraph(f"{words.to} {SPACE_TO_WRITE if to is None else _printable(to)}"),
        *_paragraph(subject),
        *_paragraph(words.greeting),
        *_paragraph(words.opening),
        *(_listed(words.known, confirm) if confirm else ()),
        *_paragraph(words.please),
        *(line for number, each in enumerate(questions, start=1) for line in _numbered(number, each)),
        "",
        *_paragraph(words.closing),
        *_paragraph(words.farewell),
        "",
        SPACE_TO_WRITE,
        words.sender,
    ]
    return Letter(_glued(subject), tuple(_glued(each) for each in questions), "\n".join(lines) + "\n")


def _questions(unknown: Sequence[Condition], words: Words) -> Iterator[str]:
    """The questions, the first with a line for each condition."""
    if unknown:
        several = len(unknown) > 1
        cases = [f"- {words.when[each]}" for each in unknown]
        first = words.how_much if several else words.how_much_here
        yield "\n".join([first, *cases, *([words.which_of_these] if several else [])])
    yield from words.questions


def _name(vehicle: Named) -> str:
    parts = (vehicle.maker, vehicle.model, vehicle.series or "")
    return " ".join(filter(None, map(_printable, parts)))


def _years(years: Years, words: Words) -> str:
    if years.last is None:
        return words.still_made.format(first=years.first)
    if years.first == years.last:
        return words.one_year.format(first=years.first)
    return words.years.format(first=years.first, last=years.last)


def _figure(ruling: Ruling, words: Words) -> str:
    """A limit in words, never more than it is: all that may be on the roof, the cargo alone, or both."""
    told = []
    for side in Side:
        line = ruling.line(side)
        if line is not None:
            kilograms = f"{Decimal(str(allowed_in(Unit.KG, line.grams))).normalize():f}"
            mass = f"{kilograms.replace('.', words.decimal_point)} kg"
            shown = words.at_least.format(mass=mass) if line.firmness is Firmness.FLOOR else mass
            told.append(f"{shown} ({words.gross if side is Side.GROSS else words.net})")
    return ", ".join(told)


# The page


def _printable(text: str) -> str:
    """A name as it can stand on a line of paper, whatever was entered."""
    return " ".join("".join(each if each.isprintable() else " " for each in text).split())


def _glued(text: str) -> str:
    """What French parts from its word by a space may not be parted from it by the end of a line."""
    return re.sub(r" (?=[?!:;])", "\u00a0", text)


def _wrapped(text: str, first: str = "", rest: str = "") -> list[str]:
    return textwrap.wrap(_glued(text), WIDTH, initial_indent=first, subsequent_indent=rest, break_on_hyphens=False)


def _paragraph(text: str) -> list[str]:
    return [*_wrapped(text), ""]


def _listed(lead: str, items: Sequence[str]) -> list[str]:
    return [*_wrapped(lead), *(line for each in items for line in _wrapped(each, "- ", "  ")), ""]


def _numbered(number: int, question: str) -> Iterator[str]:
    """A question behind its number; its own lines stay lines."""
    for place, line in enumerate(question.split("\n")):
        case = line.startswith("- ")
        indent = "   " if place else f"{number}. "
        yield from _wrapped(line, indent, "     " if case else "   ")
