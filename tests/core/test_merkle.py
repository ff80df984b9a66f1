import hashlib
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from app.core import merkle

Sizes = st.integers(min_value=1, max_value=300)


def leaf(number: int) -> bytes:
    return merkle.leaf_hash(str(number).encode())


def naive(leaves: list[bytes]) -> bytes:
    """MTH, word for word as RFC 6962 section 2.1 has it."""
    if not leaves:
        return hashlib.sha256(b"").digest()
    if len(leaves) == 1:
        return leaves[0]
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    return hashlib.sha256(b"\x01" + naive(leaves[:split]) + naive(leaves[split:])).digest()


def naive_path(m: int, leaves: list[bytes]) -> list[bytes]:
    """PATH, word for word as RFC 6962 section 2.1.1 has it."""
    if len(leaves) == 1:
        return []
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    if m < split:
        return [*naive_path(m, leaves[:split]), naive(leaves[split:])]
    return [*naive_path(m - split, leaves[split:]), naive(leaves[:split])]


def naive_proof(m: int, leaves: list[bytes], *, whole: bool = True) -> list[bytes]:
    """SUBPROOF, word for word as RFC 6962 section 2.1.2 has it."""
    if m == len(leaves):
        return [] if whole else [naive(leaves)]
    split = 1
    while split * 2 < len(leaves):
        split *= 2
    if m <= split:
        return [*naive_proof(m, leaves[:split], whole=whole), naive(leaves[split:])]
    return [*naive_proof(m - split, leaves[split:], whole=False), naive(leaves[:split])]


LEAVES = [leaf(number) for number in range(300)]


def stored() -> dict[tuple[int, int], bytes]:
    tree = merkle.Tree()
    nodes = {(end, 0): each for end, each in enumerate(LEAVES, start=1)}
    for end, each in enumerate(LEAVES, start=1):
        nodes |= {(end, level): hash for level, hash in tree.add(each)}
    return nodes


NODES = stored()


def node(end: int, level: int) -> bytes:
    return NODES[end, level]


def counting(seen: list[tuple[int, int]]) -> Callable[[int, int], bytes]:
    def looked_up(end: int, level: int) -> bytes:
        seen.append((end, level))
        return node(end, level)

    return looked_up


def test_a_leaf_completes_one_node_on_average() -> None:
    assert [merkle.completed_levels(end) for end in range(1, 9)] == [0, 1, 0, 2, 0, 1, 0, 3]
    assert len(NODES) - len(LEAVES) < len(LEAVES)


@given(Sizes)
def test_a_root_is_what_the_definition_says(size: int) -> None:
    grown = merkle.Tree()
    for each in LEAVES[:size]:
        grown.add(each)
    assert merkle.root(size, node) == naive(LEAVES[:size]) == grown.root()


@given(st.data())
def test_inclusion_proofs_are_what_the_definition_says_and_hold(data: st.DataObject) -> None:
    size = data.draw(Sizes)
    index = data.draw(st.integers(min_value=0, max_value=size - 1))
    proof = merkle.inclusion_proof(index, size, node)
    assert proof == naive_path(index, LEAVES[:size])
    assert merkle.inclusion_holds(index=index, size=size, leaf=LEAVES[index], proof=proof, root=merkle.root(size, node))


@given(st.data())
def test_consistency_proofs_are_what_the_definition_says_and_hold(data: st.DataObject) -> None:
    size = data.draw(Sizes)
    earlier = data.draw(st.integers(min_value=1, max_value=size))
    proof = merkle.consistency_proof(earlier, size, node)
    assert proof == naive_proof(earlier, LEAVES[:size])
    assert merkle.consistency_holds(
        earlier=earlier,
        earlier_root=merkle.root(earlier, node),
        size=size,
        root=merkle.root(size, node),
        proof=proof,
    )


def spoilt(proof: list[bytes], data: st.DataObject) -> list[bytes]:
    """A proof with a bit flipped, a hash left out, doubled, added or moved."""
    places = st.integers(min_value=0, max_value=max(len(proof) - 1, 0))
    place = data.draw(places)
    match data.draw(st.sampled_from(["flip", "drop", "double", "append", "prepend", "swap"])) if proof else "append":
        case "flip":
            bit = data.draw(st.integers(min_value=0, max_value=255))
            flipped = bytearray(proof[place])
            flipped[bit // 8] ^= 1 << bit % 8
            return [*proof[:place], bytes(flipped), *proof[place + 1 :]]
        case "drop":
            return [*proof[:place], *proof[place + 1 :]]
        case "double":
            return [*proof[: place + 1], *proof[place:]]
        case "append":
            return [*proof, data.draw(st.sampled_from([*proof, bytes(32), LEAVES[0]]))]
        case "prepend":
            return [data.draw(st.sampled_from([*proof, bytes(32), LEAVES[0]])), *proof]
        case _:
            other = data.draw(places)
            moved = list(proof)
            moved[place], moved[other] = moved[other], moved[place]
            return moved


@given(st.data())
def test_a_forged_inclusion_proof_is_refused(data: st.DataObject) -> None:
    size = data.draw(Sizes)
    index = data.draw(st.integers(min_value=0, max_value=size - 1))
    proof = merkle.inclusion_proof(index, size, node)
    root = merkle.root(size, node)
    forged = spoilt(proof, data)
    if forged != proof:
        assert not merkle.inclusion_holds(index=index, size=size, leaf=LEAVES[index], proof=forged, root=root)
    other = data.draw(st.integers(min_value=-2, max_value=size + 2))
    if other != index:
        assert not merkle.inclusion_holds(index=other, size=size, leaf=LEAVES[index], proof=proof, root=root)
    assert not merkle.inclusion_holds(index=index, size=size, leaf=leaf(999), proof=proof, root=root)


@given(st.data())
def test_a_forged_consistency_proof_is_refused(data: st.DataObject) -> None:
    size = data.draw(Sizes)
    earlier = data.draw(st.integers(min_value=1, max_value=size))
    proof = merkle.consistency_proof(earlier, size, node)
    before, root = merkle.root(earlier, node), merkle.root(size, node)
    forged = spoilt(proof, data)
    if forged != proof:
        assert not merkle.consistency_holds(earlier=earlier, earlier_root=before, size=size, root=root, proof=forged)
    rewritten = merkle.Tree()
    for each in [*LEAVES[: earlier - 1], leaf(999)]:
        rewritten.add(each)
    assert not merkle.consistency_holds(
        earlier=earlier, earlier_root=rewritten.root(), size=size, root=root, proof=proof
    )


@given(st.data())
def test_a_forked_tree_has_no_proof_from_what_was_kept(data: st.DataObject) -> None:
    """Whoever rewrites an entry and makes the whole tree again still cannot lead from the old root to the new one."""
    size = data.draw(st.integers(min_value=2, max_value=120))
    earlier = data.draw(st.integers(min_value=1, max_value=size - 1))
    at = data.draw(st.integers(min_value=0, max_value=earlier - 1))
    forked = [*LEAVES[:at], leaf(999), *LEAVES[at + 1 : size]]
    assert not merkle.consistency_holds(
        earlier=earlier,
        earlier_root=naive(LEAVES[:earlier]),
        size=size,
        root=naive(forked),
        proof=naive_proof(earlier, forked),
    )


@pytest.mark.parametrize(
    ("earlier", "size", "proof", "holds"),
    [
        (0, 5, [], True),
        (0, 5, [LEAVES[0]], False),
        (5, 5, [], True),
        (5, 5, [LEAVES[0]], False),
        (5, 3, [LEAVES[0]], False),
        (3, 5, [], False),
        (-1, 5, [LEAVES[0]], False),
        (1, 2, [LEAVES[1]], True),
    ],
)
def test_the_edges_of_consistency(earlier: int, size: int, proof: list[bytes], *, holds: bool) -> None:
    earlier_root = naive(LEAVES[: max(earlier, 0)])
    assert (
        merkle.consistency_holds(
            earlier=earlier, earlier_root=earlier_root, size=size, root=naive(LEAVES[:size]), proof=proof
        )
        is holds
    )


def test_the_empty_tree_is_the_beginning_of_no_other_than_with_its_own_root() -> None:
    assert not merkle.consistency_holds(earlier=0, earlier_root=bytes(32), size=3, root=naive(LEAVES[:3]), proof=[])


@pytest.mark.parametrize(("index", "size"), [(0, 0), (-1, 5), (5, 5)])
def test_there_is_no_proof_of_a_leaf_that_is_not_there(index: int, size: int) -> None:
    with pytest.raises(ValueError, match="no leaf"):
        merkle.inclusion_proof(index, size, node)


@pytest.mark.parametrize(("earlier", "size"), [(0, 5), (6, 5), (-1, 5)])
def test_there_is_no_proof_from_a_size_that_does_not_come_before(earlier: int, size: int) -> None:
    with pytest.raises(ValueError, match="does not begin"):
        merkle.consistency_proof(earlier, size, node)


@given(Sizes)
def test_proofs_need_few_nodes(size: int) -> None:
    seen: list[tuple[int, int]] = []
    merkle.root(size, counting(seen))
    merkle.inclusion_proof(size // 2, size, counting(seen))
    merkle.consistency_proof(max(size // 3, 1), size, counting(seen))
    assert len(seen) <= 6 * size.bit_length()
