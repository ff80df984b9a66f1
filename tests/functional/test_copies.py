"""Copies among the demo's papers: the machine proposes each, and what people have said of them counts."""

import pytest

from app.bootstrap import Registry
from app.core.claim import SourceType
from app.core.confidence import Explanation, explain
from app.core.dossier import ClaimFacts, Facts, fold
from app.core.entries import CopyJudged
from app.persistence import ledger
from app.persistence.queries import documents as queries
from app.services import copies
from app.services.views.records import text_of
from seed_demo.makers import DOCUMENTS
from seed_demo.shapes import Document

COPIES = {document.key: document for document in DOCUMENTS if document.copies is not None}
PAPERS = {document.key: document for document in DOCUMENTS}


def filed(registry: Registry, facts: Facts, paper: Document) -> str:
    """The id under which a paper was filed."""
    with registry.database.read() as session:
        for id, document in facts.documents.items():
            row = queries.document(session, id=id)
            assert row is not None
            if document.publisher == paper.publisher and text_of(session, row.title_sha256) == paper.title:
                if row.edition == paper.edition:
                    return id
    raise AssertionError(f"{paper.key} was not filed")


@pytest.mark.parametrize(
    ("key", "people", "near"),
    # What repeats a page among others is not that near: it is shown because people have said that it is copied.
    [("zettlow-z3-echo", 1, True), ("larder-boats", 2, False), ("tarn-t3-echo", 0, True)],
    ids=["one", "two", "nobody"],
)
def test_a_copy_is_shown_with_what_was_said_of_it(
    key: str, people: int, near: bool, registry: Registry, facts: Facts
) -> None:
    of = PAPERS[str(COPIES[key].copies)]
    copy, original = filed(registry, facts, COPIES[key]), filed(registry, facts, of)
    with registry.database.read() as session:
        found = copies.resembling(session, registry.store, copy).items
    assert [(each.document, len(each.copied), each.one_root) for each in found] == [(original, people, people > 0)]
    assert (found[0].alike >= copies.ALIKE) is near


def test_every_copy_is_told_of() -> None:
    assert COPIES.keys() == {"zettlow-z3-echo", "larder-boats", "tarn-t3-echo"}


def test_a_copy_would_have_agreed_had_nobody_said_that_it_is_one(registry: Registry, facts: Facts) -> None:
    (claim,) = [
        each
        for each in facts.claims.values()
        if each.subject.id == "grelmund-zettlow-z3-2022"
        and each.source_type is SourceType.MAKER_STATEMENT
        and len(each.citations) > 1
    ]
    with registry.database.read() as session:
        unjudged = fold(each for each in ledger.every_entry(session) if not isinstance(each.payload, CopyJudged))
    before, after = explained(claim, unjudged), explained(claim, facts)
    assert "agreement.second_root" in {point.code for point in before.points}
    assert {point.code for point in before.points} - {point.code for point in after.points} == {"agreement.second_root"}
    assert after.confidence < before.confidence


def explained(claim: ClaimFacts, facts: Facts) -> Explanation:
    return explain(facts.claims[claim.id], facts)
