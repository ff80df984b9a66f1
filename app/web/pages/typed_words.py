"""What somebody typed into a form, said back in words: the names of its fields as people read them, and codes as what
they chose. What they did not type, but the form brought along, is left out."""

import re
from collections.abc import Iterable, Mapping
from typing import Final

from app.core.claim import Interest
from app.web.pages.claim_forms import INTERESTS
from app.web.pages.desk_common import REASONS
from app.web.pages.writing import WORDS, opening

_LABELS: Final[Mapping[str, str]] = {
    "address": "Address of the page",
    "answer": "Why the rejection does not hold",
    "answer_by": "Wait for an answer until",
    "answered_on": "Answered on",
    "applies_to": "What it multiplies",
    "ask_again": "Ask again",
    "asked": "Whom you asked",
    "asked_on": "Asked on",
    "basis": "Whether the rack counts",
    "bound": "The page says",
    "channel": "How you asked",
    "code": "Why it falls",
    "confirms_record": "The record is checked, too",
    "copied": "A copy",
    "days": "For how many days",
    "excluded_mass": "Rack that it leaves out",
    "is_distinct": "It is another one",
    "leaves_out": "The load leaves the accessory out",
    "load": "Load on this vehicle",
    "locator": "Where on the page",
    "maker_is_new": "The maker is new here",
    "market": "Country",
    "markets": "Countries",
    "mass": "Weighs",
    "multiple": "How many times",
    "one_time_password": "Turn off their one-time passwords",
    "per": "The figure is",
    "questions": "What you asked",
    "quote": "What it says there",
    "rack": "Rack",
    "rating": "Its own rating",
    "scopes": "What it may do",
    "should_say": "What it should say",
    "source_type": "Kind of source",
    "takes": "What it is worked back from",
    "value": "Figure",
    "with": "With the fixing",
    "years_from": "From the model year",
    "years_to": "To the model year",
}
"""Fields whose names do not say what they are."""

_FAMILIES: Final[Mapping[str, tuple[str, ...]]] = {
    "basis": ("basis",),
    "bodies": ("body",),
    "body": ("body",),
    "bound": ("how",),
    "channel": ("channel",),
    "condition": ("condition", "said"),
    "conditions": ("condition",),
    "decision": ("decided",),
    "interest": ("interest",),
    "kind": ("document", "publisher", "interest"),
    "language": ("language",),
    "outcome": ("outcome",),
    "per": ("per",),
    "quantity": ("quantity",),
    "role": ("role",),
    "roofs": ("roof",),
    "source_type": ("source",),
    "subject_kind": ("subject",),
    "applies_to": ("target",),
    "code": ("reason",),
    "fixing": ("fixing",),
    "do": ("deed",),
    "settlement": ("deed",),
}
_OTHERS: Final[Mapping[str, Mapping[str, str]]] = {
    "how": {"exact": "this figure", "at_least": "at least", "at_most": "at most"},
    "said": {"driving": "driving; which roads, the page does not say"},
    "decided": {"approve": "approve", "reject": "reject", "ask_evidence": "ask for evidence"},
    "interest": {str(code): text for code, text in INTERESTS.items()} | {Interest.NONE: "none"},
    "target": {"own_rating": "its own rating", "roof_limit": "the roof limit", "both": "both"},
    "reason": REASONS,
    "fixing": {"built_in": "part of the rack", "separate": "a thing of its own"},
    "deed": {"uphold": "uphold it", "refute": "refute it", "confirm": "confirm", "refuse": "refuse"},
}
_SAID: Final[Mapping[str, str]] = {"silent": "not said", "all": "every one"}
_DIMENSIONS: Final = frozenset({"years", "bodies", "roofs", "markets"})
"""Of each a form says whether it is silent, speaks of all, or of some; which ones stands in fields of their own."""
_UNSAID: Final = frozenset(
    {"kind", "then", "read", "show", "more_rows", "filed", "back", "kept", "kept_name", "record"}
)
"""Fields that forms bring along. Of `kind` there are two: the desk's, and what a thing is."""
_ROW: Final = re.compile(r"(?:row([0-9]{1,2})_([a-z_]+)|([a-z_]+)-([0-9]{1,2}))")


def told(fields: Iterable[tuple[str, str]]) -> list[tuple[str, str]]:
    """Labels with what was typed, in the order of the form; what was chosen several times stands together."""
    found: dict[str, list[str]] = {}
    for name, text in fields:
        row = _ROW.fullmatch(name)
        bare = name if row is None else (row[2] or row[3])
        place = "" if row is None else f"Row {int(row[1] or row[4]) + 1}: "
        if text and not name.startswith("_") and not _is_left_out(bare, text):
            label = _label(bare)
            found.setdefault(place + (label[:1].lower() + label[1:] if place else label), []).append(_value(bare, text))
    return [(label, ", ".join(values)) for label, values in found.items()]


def _is_left_out(name: str, text: str) -> bool:
    if name.removesuffix("_said") in _DIMENSIONS and text in {"some", "these"}:
        return True
    if name == "kind":
        return not any(text in _family(each) for each in _FAMILIES["kind"])
    return name in _UNSAID


def _label(name: str) -> str:
    bare = name.removesuffix("_these")
    if bare.endswith("_said"):
        return opening(bare.removesuffix("_said"))
    if bare in _LABELS:
        return _LABELS[bare]
    if bare.endswith("_unit"):
        return f"Unit of the {_label(bare.removesuffix('_unit')).lower()}"
    return opening(bare.replace("_", " "))


def _value(name: str, text: str) -> str:
    if name.removesuffix("_said") in _DIMENSIONS and text in _SAID:
        return _SAID[text]
    families = _FAMILIES.get(name.removesuffix("_these"), ())
    return next((words[text] for words in map(_family, families) if words.get(text)), text)


def _family(name: str) -> Mapping[str, str]:
    return _OTHERS.get(name) or WORDS[name]
