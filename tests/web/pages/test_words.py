"""Every code that a page says has words, and no page asks for words of a family that is not there."""

import re
from enum import StrEnum
from pathlib import Path
from typing import Final

import pytest

from app.core.budget import Verdict
from app.core.claim import Basis, Bound, Condition, Quantity, SourceType, SubjectKind
from app.core.confidence import CURRENT
from app.core.derived import Method
from app.core.enquiry import Channel, Outcome
from app.core.evidence import DocumentKind, PublisherKind
from app.core.letter_words import Language
from app.core.lifecycle import State
from app.core.mass import Per
from app.core.pages import PageOutcome
from app.core.permissions import Role
from app.core.refusal import RefusalKind
from app.core.review import Decision, RejectionCode
from app.core.scope import Body, Dimension, Roof
from app.web.pages import claim_history, desk_common, writing
from app.web.pages.ladder import CAPS

PAGES: Final = Path(writing.__file__).parent
SAYS: Final = re.compile(r"""\bsaid\(['"]([a-z_]+)['"]\)|\bsaid\((?:[^()]|\([^()]*\))+,\s*['"]([a-z_]+)['"]\)""")
FAMILIES: Final[dict[str, type[StrEnum]]] = {
    "condition": Condition,
    "condition_in": Condition,
    "basis": Basis,
    "bound": Bound,
    "quantity": Quantity,
    "dimension": Dimension,
    "body": Body,
    "roof": Roof,
    "state": State,
    "source": SourceType,
    "decision": Decision,
    "method": Method,
    "verdict": Verdict,
    "role": Role,
    "subject": SubjectKind,
    "language": Language,
    "outcome": Outcome,
    "channel": Channel,
    "document": DocumentKind,
    "publisher": PublisherKind,
    "per": Per,
    "seen": PageOutcome,
    "refusal": RefusalKind,
}


def test_pages_say_only_what_has_words() -> None:
    asked = set()
    for path in [*PAGES.glob("*.py"), *PAGES.glob("templates/*")]:
        for found in SAYS.finditer(path.read_text(encoding="utf-8")):
            asked.add(found[1] or found[2])
    assert {"condition_in", "quantity", "state", "verdict"} <= asked
    assert asked <= writing.WORDS.keys()
    assert writing.WORDS.keys() == FAMILIES.keys()


@pytest.mark.parametrize("family", FAMILIES)
def test_every_code_of_a_family_has_words(family: str) -> None:
    assert writing.WORDS[family].keys() == set(FAMILIES[family])


def test_reasons_and_caps_have_words() -> None:
    assert desk_common.REASONS.keys() == claim_history.CODES.keys() == set(RejectionCode)
    assert CAPS.keys() >= CURRENT.caps.keys()
    assert claim_history.SEEN.keys() == set(PageOutcome)
