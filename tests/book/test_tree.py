"""The tree, against published roots and proofs, a recursive reference, and a corpus of tampered proofs."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.book.tree import (
    EMPTY,
    Consistency,
    Frontier,
    Head,
    Inclusion,
    consistency,
    extends,
    includes,
    inclusion,
    leaf,
    node,
    root,
)

from . import reference

# transparency-dev/merkle 417fb0c31475, testonly/constants.go
INPUTS = [
    bytes.fromhex(text)
    for text in (
        "",
        "00",
        "10",
        "2021",
        "3031",
        "40414243",
        "5051525354555657",
        "606162636465666768696a6b6c6d6e6f",
    )
]
ROOTS = [
    "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855",
    "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "fac54203e7cc696cf0dfcb42c92a1d9dbaf70ad9e621f4bd8d98662f00e3c125",
    "aeb6bcfe274b70a14fb067a5e5578264db0fa9b51af5e0ba159158f329e06e77",
    "d37ee418976dd95753c1c73862b9398fa2a2cf9b4ff0fdfe8b30cd95209614b7",
    "4e3bbb1f7b478dcfe71fb631631519a3bca12c9aefca1612bfce4c13a86264d4",
    "76e67dadbcdf1e10e1b74ddc608abd2f98dfb16fbce75277b5232a127f2087ef",
    "ddb89be403809e325750d3d263cd78929c2942b7942a34b77e122c9594a74c8c",
    "5dc9da79a70659a9ad559cb701ded9a2ab9d823aad2f4960cfe370eff4604328",
]
NODES = {
    "L0": "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d",
    "L1": "96a296d224f285c67bee93c30f8a309157f0daa35dc5b87e410b78630a09cfc7",
    "L4": "bc1a0643b12e4d2d7c77918f44e0f4f79a838b6cf9ec5b5c283e1f4d88599e6b",
    "23": "5f083f0a1a33ca076a95279832580db3e0ef4584bdff1f54c8a360f50de3031e",
    "67": "ca854ea128ed050b41b35ffc1b87b8eb2bde461e9e3b5596ece6b9d5975a0ae0",
    "4567": "6b47aaf29ee3c2af9af889bc1fb9254dabd31177f16232dd6aab035ca39bf6e4",
}
LEAVES = [leaf(data) for data in INPUTS]

PUBLISHED_INCLUSION = [
    (5, 8, ["L4", "67", ROOTS[4]]),
    (2, 3, [ROOTS[2]]),
    (1, 5, ["L0", "23", "L4"]),
    (0, 8, ["L1", "23", "4567"]),
]


def leaves_of(size: int) -> tuple[list[bytes], list[bytes]]:
    """Leaf inputs and their hashes."""
    data = [str(number).encode() for number in range(size)]
    return data, [leaf(item) for item in data]


def test_published_leaf_and_node_hashes() -> None:
    """The two published hashes of single strings."""
    assert leaf(b"L123456").hex() == "395aa064aa4c29f7010acfe3f25db9485bbd4b91897b6ad7ad547639252b4d56"
    assert node(b"N123", b"N456").hex() == "aa217fe888e47007fa15edab33c2b492a722cb106c64667fc2b044444de66bbb"


@pytest.mark.parametrize("size", range(9))
def test_published_roots(size: int) -> None:
    """The roots over the first 0 to 8 published leaves, at once and leaf by leaf."""
    assert root(LEAVES[:size]).hex() == ROOTS[size]
    frontier = Frontier()
    for leaf_hash in LEAVES[:size]:
        frontier.append(leaf_hash)
    assert frontier.head() == Head(size, ROOTS[size])


def test_published_inner_nodes() -> None:
    """The inner hashes that the published proofs are made of."""
    assert LEAVES[0].hex() == NODES["L0"] and LEAVES[1].hex() == NODES["L1"] and LEAVES[4].hex() == NODES["L4"]
    assert root(LEAVES[2:4]).hex() == NODES["23"]
    assert root(LEAVES[6:8]).hex() == NODES["67"]
    assert root(LEAVES[4:8]).hex() == NODES["4567"]


@pytest.mark.parametrize(("index", "size", "names"), PUBLISHED_INCLUSION)
def test_published_inclusion_proofs(index: int, size: int, names: list[str]) -> None:
    """The published proofs come out of ours and are accepted by ours."""
    proof = inclusion(LEAVES[:size], index)
    assert [step.hex() for step in proof.path] == [NODES.get(name, name) for name in names]
    assert includes(Head(size, ROOTS[size]), LEAVES[index], proof)


def test_every_proof_up_to_64_leaves_equals_the_recursive_reference() -> None:
    """All inclusion and consistency proofs of all sizes to 64 are those of the RFC's own recursion, and accepted."""
    data, hashes = leaves_of(64)
    heads = [Head(size, reference.mth(data[:size]).hex()) for size in range(65)]
    for size in range(1, 65):
        assert root(hashes[:size]).hex() == heads[size].root_hex
        for number in range(size):
            there = inclusion(hashes[:size], number)
            assert list(there.path) == reference.path(number, data[:size])
            assert includes(heads[size], hashes[number], there)
            onward = consistency(hashes[:size], number + 1)
            assert list(onward.path) == reference.proof(number + 1, data[:size])
            assert extends(heads[number + 1], heads[size], onward)


@given(st.lists(st.binary(max_size=8), max_size=80), st.data())
def test_a_frontier_taken_up_again_goes_on_as_if_never_put_down(inputs: list[bytes], data: st.DataObject) -> None:
    """Stored at any point and restored, the frontier ends with the same root as the reference."""
    cut = data.draw(st.integers(0, len(inputs)))
    first = Frontier()
    for item in inputs[:cut]:
        first.append(leaf(item))
    second = Frontier(first.size, first.hashes)
    for item in inputs[cut:]:
        second.append(leaf(item))
    assert second.root() == reference.mth(inputs)
    assert len(second.hashes) == len(inputs).bit_count()


def test_an_empty_tree_has_the_hash_of_nothing() -> None:
    """RFC 9162, 2.1.1."""
    assert Frontier().root() == root([]) == EMPTY


@pytest.mark.parametrize(("size", "hashes"), [(-1, []), (0, [EMPTY]), (3, [EMPTY]), (1, [b"short"]), (1, [])])
def test_a_frontier_refuses_hashes_that_do_not_make_its_size(size: int, hashes: list[bytes]) -> None:
    """One 32-byte hash a set bit of the size, no more, no less."""
    with pytest.raises(ValueError, match="cannot make a tree"):
        Frontier(size, hashes)


def test_proofs_of_what_is_not_there_are_refused_at_the_asking() -> None:
    """No leaf beyond the end, no consistency with nothing or with the future."""
    for index in (-1, 8):
        with pytest.raises(ValueError, match="there is no leaf"):
            inclusion(LEAVES, index)
    for size in (0, 9):
        with pytest.raises(ValueError, match="not a beginning"):
            consistency(LEAVES, size)


def test_a_head_is_read_back_from_what_was_printed() -> None:
    """Spaces around it do no harm; anything else does."""
    head = Head(8, ROOTS[8])
    assert Head.parse(f"  {head}\n") == head
    for text in (
        "",
        "8",
        f"8:{ROOTS[8][:-1]}",
        f"08:{ROOTS[8]}",
        f"-8:{ROOTS[8]}",
        f"8:{ROOTS[8].upper()}",
        f"{head}0",
    ):
        with pytest.raises(ValueError, match="a head is"):
            Head.parse(text)


def flipped(path: tuple[bytes, ...], step: int) -> tuple[bytes, ...]:
    """One bit of one hash of a path."""
    changed = bytes([path[step][0] ^ 1]) + path[step][1:]
    return (*path[:step], changed, *path[step + 1 :])


INCLUSION_TAMPERING: dict[str, Callable[[Head, bytes, Inclusion], tuple[Head, bytes, Inclusion]]] = {
    "modified-proof@first": lambda h, leaf_, p: (h, leaf_, replace(p, path=flipped(p.path, 0))),
    "modified-proof@last": lambda h, leaf_, p: (h, leaf_, replace(p, path=flipped(p.path, -1 % len(p.path)))),
    "truncated-proof": lambda h, leaf_, p: (h, leaf_, replace(p, path=p.path[:-1])),
    "beheaded-proof": lambda h, leaf_, p: (h, leaf_, replace(p, path=p.path[1:])),
    "empty-proof": lambda h, leaf_, p: (h, leaf_, replace(p, path=())),
    "trailing-garbage": lambda h, leaf_, p: (h, leaf_, replace(p, path=(*p.path, EMPTY))),
    "trailing-root": lambda h, leaf_, p: (h, leaf_, replace(p, path=(*p.path, bytes.fromhex(h.root_hex)))),
    "leading-leaf": lambda h, leaf_, p: (h, leaf_, replace(p, path=(leaf_, *p.path))),
    "reversed-proof": lambda h, leaf_, p: (
        h,
        leaf_,
        replace(p, path=p.path[:0:-1] + p.path[:1] if len(p.path) > 1 else ()),
    ),
    "wrong-leaf": lambda h, leaf_, p: (h, leaf(b"another"), p),
    "leaf-is-root": lambda h, leaf_, p: (h, bytes.fromhex(h.root_hex), p),
    "wrong-root": lambda h, leaf_, p: (replace(h, root_hex=ROOTS[0]), leaf_, p),
    "index-plus-1": lambda h, leaf_, p: (h, leaf_, replace(p, index=p.index + 1)),
    "index-minus-1": lambda h, leaf_, p: (h, leaf_, replace(p, index=p.index - 1)),
    "index-is-size": lambda h, leaf_, p: (h, leaf_, replace(p, index=p.size)),
    "size-claimed-n-plus-1": lambda h, leaf_, p: (h, leaf_, replace(p, size=p.size + 1)),
    "size-claimed-n-minus-1": lambda h, leaf_, p: (h, leaf_, replace(p, size=p.size - 1)),
    "size-claimed-zero": lambda h, leaf_, p: (h, leaf_, replace(p, size=0)),
    "size-claimed-double": lambda h, leaf_, p: (h, leaf_, replace(p, size=p.size * 2)),
}


@pytest.mark.parametrize("name", INCLUSION_TAMPERING)
def test_tampered_inclusion_proofs_are_refused(name: str) -> None:
    """Named by the tampering: each is refused for every leaf of trees of 2 to 20 leaves."""
    _, hashes = leaves_of(20)
    for size in range(2, 21):
        head = Head(size, root(hashes[:size]).hex())
        for index in range(size):
            proof = inclusion(hashes[:size], index)
            assert includes(head, hashes[index], proof)
            assert not includes(*INCLUSION_TAMPERING[name](head, hashes[index], proof)), (size, index)


CONSISTENCY_TAMPERING: dict[str, Callable[[Head, Head, Consistency], tuple[Head, Head, Consistency]]] = {
    "modified-proof@first": lambda a, b, p: (a, b, replace(p, path=flipped(p.path, 0))),
    "modified-proof@last": lambda a, b, p: (a, b, replace(p, path=flipped(p.path, -1 % len(p.path)))),
    "truncated-proof": lambda a, b, p: (a, b, replace(p, path=p.path[:-1])),
    "beheaded-proof": lambda a, b, p: (a, b, replace(p, path=p.path[1:])),
    "empty-proof": lambda a, b, p: (a, b, replace(p, path=())),
    "trailing-garbage": lambda a, b, p: (a, b, replace(p, path=(*p.path, EMPTY))),
    "trailing-root": lambda a, b, p: (a, b, replace(p, path=(*p.path, bytes.fromhex(b.root_hex)))),
    "leading-old-root": lambda a, b, p: (a, b, replace(p, path=(bytes.fromhex(a.root_hex), *p.path))),
    "swapped-roots": lambda a, b, p: (replace(a, root_hex=b.root_hex), replace(b, root_hex=a.root_hex), p),
    "swapped-heads": lambda a, b, p: (b, a, p),
    "wrong-old-root": lambda a, b, p: (replace(a, root_hex=ROOTS[0]), b, p),
    "wrong-new-root": lambda a, b, p: (a, replace(b, root_hex=ROOTS[0]), p),
    "old-size-claimed-zero": lambda a, b, p: (a, b, replace(p, old_size=0)),
    "old-size-zero-throughout": lambda a, b, p: (replace(a, size=0), b, replace(p, old_size=0)),
    "old-size-claimed-plus-1": lambda a, b, p: (a, b, replace(p, old_size=p.old_size + 1)),
    "old-size-claimed-minus-1": lambda a, b, p: (a, b, replace(p, old_size=p.old_size - 1)),
    "size-claimed-n-plus-1": lambda a, b, p: (a, b, replace(p, new_size=p.new_size + 1)),
    "size-claimed-n-minus-1": lambda a, b, p: (a, b, replace(p, new_size=p.new_size - 1)),
}


@pytest.mark.parametrize("name", CONSISTENCY_TAMPERING)
def test_tampered_consistency_proofs_are_refused(name: str) -> None:
    """Named by the tampering: each is refused for every pair of sizes up to 20."""
    _, hashes = leaves_of(20)
    heads = [Head(size, root(hashes[:size]).hex()) for size in range(21)]
    for new in range(2, 21):
        for old in range(1, new):
            proof = consistency(hashes[:new], old)
            assert extends(heads[old], heads[new], proof)
            assert not extends(*CONSISTENCY_TAMPERING[name](heads[old], heads[new], proof)), (old, new)


def test_one_size_is_consistent_with_itself_only() -> None:
    """Equal sizes need equal roots and an empty proof."""
    head = Head(3, ROOTS[3])
    assert extends(head, head, Consistency(3, 3, ()))
    assert not extends(head, Head(3, ROOTS[4]), Consistency(3, 3, ()))
    assert not extends(head, head, Consistency(3, 3, (EMPTY,)))


def test_a_root_alone_does_not_bind_the_size() -> None:
    """Why a head is size and root together: with the size of the head itself forged, some proofs still add up."""
    _, hashes = leaves_of(20)
    fooled = 0
    for new in range(2, 20):
        for old in range(1, new):
            proof = consistency(hashes[:new], old)
            true_old, true_new = (Head(size, root(hashes[:size]).hex()) for size in (old, new))
            fooled += extends(true_old, replace(true_new, size=new + 1), replace(proof, new_size=new + 1))
            assert not extends(true_old, true_new, replace(proof, new_size=new + 1))
    assert fooled
