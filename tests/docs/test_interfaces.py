"""docs/interfaces.md names every code and every call that there is."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

import pytest

from app.core.budget import ConstraintName, Verdict
from app.core.claim import AppliesTo, Basis, Bound, Condition, Interest, Quantity, SourceType
from app.core.enquiry import Channel, EnquiryState, Outcome
from app.core.evidence import DocumentKind, PublisherKind
from app.core.gear import CATEGORIES
from app.core.lifecycle import State
from app.core.mass import Per
from app.core.refusal import RefusalKind
from app.core.review import Decision, RejectionCode, Settlement
from app.core.scope import Body, Roof
from app.core.wording import NOTES

TOP = Path(__file__).parents[2]
DOC = (TOP / "docs" / "interfaces.md").read_text(encoding="utf-8")
PLACE_OF_CODE = {"CantrailError": 1, "invalid": 1, "Fault": 1, "_forbidden": 0, "ProblemError": 1, "problem": 1}


def codes() -> Iterator[str]:
    for path in sorted((TOP / "app").rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if not isinstance(node, ast.Call):
                continue
            place = PLACE_OF_CODE.get(getattr(node.func, "id", getattr(node.func, "attr", "")))
            if place is not None and len(node.args) > place:
                code = node.args[place]
                if isinstance(code, ast.Constant) and isinstance(code.value, str):
                    yield code.value


def test_every_error_code_is_listed() -> None:
    listed = set(re.findall(r"^\| `([a-z0-9_]+)` \| [0-9, ]+ \|", DOC, re.MULTILINE))
    found = set(codes())
    assert found
    assert sorted(found - listed) == []


@pytest.mark.parametrize(
    "words",
    [
        Verdict,
        ConstraintName,
        AppliesTo,
        Basis,
        Bound,
        Condition,
        Interest,
        Quantity,
        SourceType,
        DocumentKind,
        PublisherKind,
        State,
        Per,
        RefusalKind,
        Decision,
        RejectionCode,
        Settlement,
        Channel,
        EnquiryState,
        Outcome,
        Body,
        Roof,
        CATEGORIES,
    ],
    ids=lambda words: getattr(words, "__name__", "categories"),
)
def test_every_word_is_listed(words: list[str]) -> None:
    assert [str(word) for word in words if f"`{word}`" not in DOC] == []


def test_every_note_of_a_ruling_is_listed() -> None:
    shown = [code for code in NOTES if code.endswith(("_recorded", "_driving"))]
    assert shown
    assert [code for code in shown if f"`{code}`" not in DOC] == []
