"""Documents, their roots, and sketches of their words (sections 1 and 2.6)."""

from hypothesis import given
from hypothesis import strategies as some

from app.core import entries
from app.core.document import Document, Judged, document_advanced, roots
from app.core.sketch import NUMBERS, WORTH_COMPARING, sketch
from tests.core.test_properties import steady

FILE = "f" * 64


def document(number: int, sha256: str | None = None) -> Document:
    return Document(f"D{number}", number, "orrin", "handbook", sha256)


def shelf(count: int) -> dict[str, Document]:
    return {f"D{number}": document(number, f"{number:064d}") for number in range(1, count + 1)}


def pair(one: int, other: int) -> frozenset[str]:
    return frozenset({f"D{one}", f"D{other}"})


COPIED = Judged().with_word("a", copied=True)
SURELY = COPIED.with_word("b", copied=True)


def test_a_document_without_a_file_is_its_own_root_and_not_held() -> None:
    bare = document(7)
    assert (bare.origin, bare.held) == ("D7", False)
    kept = document_advanced(bare, entries.SnapshotKept("D7", FILE, 10, "text/html"))
    later = document_advanced(kept, entries.SnapshotKept("D7", "e" * 64, 10, "text/html"))
    assert (kept.held, later.sha256) == (True, FILE)
    taken = document_advanced(later, entries.DocumentTakenDown("D7", (FILE,), "rights", "a" * 64))
    assert (taken.held, taken.origin) == (False, FILE)


def test_one_and_the_same_file_is_one_root_without_anybody_s_word() -> None:
    documents = {"D1": document(1, FILE), "D2": document(2, "e" * 64), "D3": document(3, FILE)}
    assert roots(documents, {}) == {"D1": FILE, "D2": "e" * 64, "D3": FILE}
    assert roots(documents, {}, settled=True) == roots(documents, {})


def test_copies_of_copies_share_the_root_of_the_first_filed() -> None:
    documents = shelf(4)
    found = roots(documents, {pair(4, 3): COPIED, pair(3, 2): COPIED})
    assert found["D4"] == found["D3"] == found["D2"] == documents["D2"].origin != found["D1"]


def test_a_copy_of_what_is_not_known_here_stays_by_itself() -> None:
    documents = shelf(2)
    assert roots(documents, {pair(2, 9): COPIED}) == roots(documents, {})


def test_a_word_joins_where_that_lowers_and_two_where_that_raises() -> None:
    documents = shelf(2)
    apart = roots(documents, {})
    for judged, suspected, settled in (
        (COPIED, True, False),
        (SURELY, True, True),
        (COPIED.with_word("b", copied=False), True, False),
        (COPIED.with_word("b", copied=False).with_word("c", copied=False), False, False),
        (SURELY.with_word("c", copied=False).with_word("d", copied=False), False, False),
        (COPIED.with_word("a", copied=False), False, False),
    ):
        assert (roots(documents, {pair(1, 2): judged}) != apart) is suspected
        assert (roots(documents, {pair(1, 2): judged}, settled=True) != apart) is settled


@steady
@given(some.lists(some.tuples(some.integers(1, 8), some.integers(1, 8)), max_size=12))
def test_roots_are_the_connected_documents_whatever_the_order(pairs: list[tuple[int, int]]) -> None:
    documents = shelf(8)
    judgements = {pair(one, other): COPIED for one, other in pairs}
    found = roots(documents, judgements)
    reached = {number: {number} for number in range(1, 9)}
    for _ in range(8):
        for one, other in pairs:
            reached[one] |= reached[other]
            reached[other] |= reached[one]
    expected = {f"D{number}": documents[f"D{min(group)}"].origin for number, group in reached.items()}
    assert found == expected


# Sketches


WORDS = some.lists(
    some.sampled_from([f"word{number}" for number in range(500)]), min_size=60, max_size=200, unique=True
)


def shared(one: str, other: str) -> int:
    return len(set(sketch(one)) & set(sketch(other)))


@steady
@given(WORDS)
def test_a_text_s_sketch_is_itself_whatever_its_spaces_and_capitals(words: list[str]) -> None:
    text = " ".join(words)
    assert sketch(text) == sketch("\n".join(words).upper())
    assert 0 < len(sketch(text)) <= NUMBERS
    assert sketch(text) == tuple(sorted(set(sketch(text))))


@steady
@given(WORDS, some.integers(0, 59))
def test_a_near_copy_is_worth_comparing_and_another_text_is_not(words: list[str], place: int) -> None:
    changed = [*words[:place], "another", *words[place + 1 :]]
    assert shared(" ".join(words), " ".join(changed)) >= WORTH_COMPARING
    assert shared(" ".join(words), " ".join(f"other{word}" for word in words)) < WORTH_COMPARING


def test_a_text_of_a_few_words_has_no_sketch() -> None:
    assert sketch("roof load 75 kg") == ()
