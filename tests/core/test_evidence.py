"""Which documents a source type may rest on: whose they are, and of what kind (section 2.6)."""

from itertools import product

import pytest

from app.core.claim import SourceType
from app.core.evidence import MAKERS, MANUALS, STATEMENTS, Cited, DocumentKind, PublisherKind, misfit


def cited(kind: DocumentKind, publisher: str = "maker", importer_of: tuple[str, ...] = ()) -> list[Cited]:
    return [Cited(kind, publisher, importer_of)]


@pytest.mark.parametrize("kind", DocumentKind)
def test_a_manual_page_is_a_handbook_a_plate_or_an_instruction_of_the_maker_s_own(kind: DocumentKind) -> None:
    fits = kind in {DocumentKind.HANDBOOK, DocumentKind.PLATE_PHOTO, DocumentKind.INSTRUCTION_SHEET}

    assert (misfit(SourceType.MANUAL_PAGE, "maker", cited(kind)) is None) is fits
    assert misfit(SourceType.MANUAL_PAGE, "maker", cited(kind, "dealer")) is not None
    assert misfit(SourceType.MANUAL_PAGE, "maker", cited(kind, "importer", ("maker",))) is not None


@pytest.mark.parametrize("kind", DocumentKind)
def test_a_maker_s_statement_is_a_page_a_letter_or_a_catalogue_of_its_own_or_its_importer_s(kind: DocumentKind) -> None:
    fits = kind in {DocumentKind.MAKER_PAGE, DocumentKind.LETTER, DocumentKind.CATALOGUE}

    assert (misfit(SourceType.MAKER_STATEMENT, "maker", cited(kind)) is None) is fits
    assert (misfit(SourceType.MAKER_STATEMENT, "maker", cited(kind, "importer", ("other", "maker"))) is None) is fits
    assert misfit(SourceType.MAKER_STATEMENT, "maker", cited(kind, "importer", ("other",))) is not None
    assert misfit(SourceType.MAKER_STATEMENT, "maker", cited(kind, "dealer")) is not None


def test_no_document_is_both_a_manual_and_a_statement() -> None:
    assert not MANUALS & STATEMENTS


@pytest.mark.parametrize("source", [SourceType.MANUAL_PAGE, SourceType.MAKER_STATEMENT])
def test_what_cites_nothing_is_neither(source: SourceType) -> None:
    assert misfit(source, "maker", []) is not None


@pytest.mark.parametrize(
    ("source", "good"),
    [(SourceType.MANUAL_PAGE, DocumentKind.HANDBOOK), (SourceType.MAKER_STATEMENT, DocumentKind.LETTER)],
)
def test_it_is_the_first_citation_that_counts(source: SourceType, good: DocumentKind) -> None:
    first, other = Cited(good, "maker"), Cited(DocumentKind.ACCESSORY_PAGE, "rackmaker")

    assert misfit(source, "maker", [first, other]) is None
    assert misfit(source, "maker", [other, first]) is not None


def test_a_rack_maker_s_list_of_roof_limits_is_unverified() -> None:
    listed = cited(DocumentKind.CATALOGUE, "rackmaker")

    assert misfit(SourceType.MAKER_STATEMENT, "maker", listed) is not None
    assert misfit(SourceType.UNVERIFIED, "maker", listed) is None


def test_everything_else_may_be_entered_as_unverified() -> None:
    for kind, publisher in product(DocumentKind, ["maker", "dealer"]):
        assert misfit(SourceType.UNVERIFIED, "maker", cited(kind, publisher)) is None
    assert misfit(SourceType.UNVERIFIED, "maker", []) is None


@pytest.mark.parametrize("kind", DocumentKind)
def test_a_derivation_is_not_taken_yet(kind: DocumentKind) -> None:
    assert misfit(SourceType.ACCESSORY_DERIVED, "maker", cited(kind)) is not None


@pytest.mark.parametrize("source", [each for each in SourceType if each is not SourceType.UNVERIFIED])
def test_a_misfit_says_what_to_do_in_a_sentence(source: SourceType) -> None:
    said = misfit(source, "maker", [])

    assert said is not None
    assert said.startswith(("A ", "An "))
    assert said.endswith(".")


def test_dealers_shops_and_people_are_no_makers() -> None:
    others = {PublisherKind.DEALER, PublisherKind.SHOP, PublisherKind.PERSON, PublisherKind.FORUM}

    assert others | {PublisherKind.IMPORTER, PublisherKind.PUBLIC_BODY} == set(PublisherKind) - MAKERS
