"""What the rules say of parts and figures, as it is said at the counter."""

import re
from collections.abc import Mapping
from typing import Final

from app.services.views.budgets import StepView

Names = Mapping[str, str]
"""What subjects are called, by their ids."""

STICKER: Final = "the carrier's own rating would have said"
_WORDS: Final = {STICKER: "the rack’s sticker would have said"}
_PLAIN: Final = (
    ("^roof_limit of (.*): not known$", r"Roof limit of \1"),
    ("^own_mass of (.*): not known$", r"\1, its own mass"),
    ("^load_rating of (.*): not known$", r"\1, what it is rated for"),
    ("^roof limit", "Roof limit"),
    ("^rating of", "Rating of"),
    ("^Roof limit of given\\b", "Roof limit as you gave it"),
    (r"\bgiven (?:carrier 1|carrier)\b", "your rack"),
    (r"\bgiven carrier [0-9]+\b", "your rack on top"),
    (r"\bgiven fixing\b", "your fixing"),
    (", carrier counted$", ", rack included"),
    (", cargo alone$", ", rack not counted"),
)


def step_text(step: StepView, names: Names) -> str:
    """A step in the words of the counter."""
    return _WORDS.get(step.text) or in_plain_words(named(step.text, names))


def in_plain_words(text: str) -> str:
    """What the rules say of figures and parts, as people say it."""
    for code, wanted in _PLAIN:
        text = re.sub(code, wanted, text)
    return text


def named(sentence: str, names: Names) -> str:
    """A sentence with names for ids."""
    if not names:
        return sentence
    ids = "|".join(re.escape(id) for id in sorted(names, key=len, reverse=True))
    return re.sub(rf"(?<![\w-])({ids})(?![\w-])", lambda found: names[found[1]], sentence)
