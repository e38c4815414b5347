"""The Merkle tree over the headers of the records: RFC 9162, section 2.1, with SHA-256.

A leaf and a node are hashed with different first bytes, so that neither can pass for the other. A head, the size
together with the root, fixes every record up to it: the root alone does not bind the size, which is why the two
are always printed, kept and compared together.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from hashlib import sha256

from compliance.records.quick import dataclass

EMPTY = sha256(b"").digest()
"""The root of a tree without leaves (RFC 9162, 2.1.1)."""

_HEAD = re.compile(r"(0|[1-9][0-9]{0,17}):([0-9a-f]{64})")


@dataclass(frozen=True)
class Head:
    """The state of a book: how many records it holds, and the root over them in lower-case hex."""

    size: int
    root_hex: str

    def __str__(self) -> str:
        return f"{self.size}:{self.root_hex}"

    @classmethod
    def parse(cls, text: str) -> Head:
        """Read what `str` wrote, spaces around it allowed. Raises ValueError for anything else."""
        match = _HEAD.fullmatch(text.strip())
        if match is None:
            raise ValueError("a head is a number of records, a colon and 64 hex digits")
        return cls(int(match[1]), match[2])


@dataclass(frozen=True)
class Inclusion:
    """That the leaf at `index`, counted from 0, is in the tree of `size` leaves: hashes from the leaf upwards."""

    index: int
    size: int
    path: tuple[bytes, ...]


@dataclass(frozen=True)
class Consistency:
    """That the tree of `old_size` leaves is the beginning of the tree of `new_size` leaves."""

    old_size: int
    new_size: int
    path: tuple[bytes, ...]


def leaf(data: bytes) -> bytes:
    """The hash of a leaf."""
    return sha256(b"\x00" + data).digest()


def node(left: bytes, right: bytes) -> bytes:
    """The hash of two subtrees."""
    return sha256(b"\x01" + left + right).digest()


class Frontier:
    """The full subtrees of a growing tree, largest first: all that is needed to append a leaf and give the root."""

    def __init__(self, size: int = 0, hashes: Iterable[bytes] = ()) -> None:
        """Take up where another left off. Raises ValueError unless there is one 32-byte hash a set bit of size."""
        self.size = size
        self._hashes = list(hashes)
        if size < 0 or len(self._hashes) != size.bit_count() or any(len(h) != 32 for h in self._hashes):
            raise ValueError(f"{len(self._hashes)} subtrees cannot make a tree of {size} leaves")

    @property
    def hashes(self) -> tuple[bytes, ...]:
        """The hashes of the full subtrees, largest first."""
        return tuple(self._hashes)

    def append(self, leaf_hash: bytes) -> None:
        """Add a leaf: as many node hashes as the size has trailing one bits, one on average."""
        odd, joined, hashes = self.size, leaf_hash, self._hashes
        while odd & 1:
            joined = sha256(b"\x01" + hashes.pop() + joined).digest()
            odd >>= 1
        hashes.append(joined)
        self.size += 1

    def root(self) -> bytes:
        """The root over all leaves so far."""
        if not self._hashes:
            return EMPTY
        *larger, joined = self._hashes
        for left in reversed(larger):
            joined = node(left, joined)
        return joined

    def head(self) -> Head:
        """The size and the root."""
        return Head(self.size, self.root().hex())


def root(leaf_hashes: Iterable[bytes]) -> bytes:
    """The root over leaf hashes (not leaf inputs)."""
    frontier = Frontier()
    for leaf_hash in leaf_hashes:
        frontier.append(leaf_hash)
    return frontier.root()


def inclusion(leaf_hashes: Sequence[bytes], index: int) -> Inclusion:
    """The proof for one leaf (RFC 9162, 2.1.3.1). Raises ValueError for a leaf that is not there."""
    size = len(leaf_hashes)
    if not 0 <= index < size:
        raise ValueError(f"there is no leaf {index} in a tree of {size}")
    low, high = 0, size
    path: list[bytes] = []
    while high - low > 1:
        middle = low + _split(high - low)
        if index < middle:
            path.append(root(leaf_hashes[middle:high]))
            high = middle
        else:
            path.append(root(leaf_hashes[low:middle]))
            low = middle
    return Inclusion(index, size, tuple(reversed(path)))


def consistency(leaf_hashes: Sequence[bytes], old_size: int) -> Consistency:
    """The proof that an earlier tree is a beginning of this one (RFC 9162, 2.1.4.1).

    Raises ValueError unless 0 < old_size <= the number of leaves; nothing needs proving about an empty tree.
    """
    size = len(leaf_hashes)
    if not 0 < old_size <= size:
        raise ValueError(f"a tree of {old_size} leaves is not a beginning of one of {size}")
    low, high = 0, size
    path: list[bytes] = []
    while high != old_size:
        middle = low + _split(high - low)
        if old_size <= middle:
            path.append(root(leaf_hashes[middle:high]))
            high = middle
        else:
            path.append(root(leaf_hashes[low:middle]))
            low = middle
    if low:  # otherwise the old tree is this very subtree, and the reader has its root already
        path.append(root(leaf_hashes[low:high]))
    return Consistency(old_size, size, tuple(reversed(path)))


def includes(head: Head, leaf_hash: bytes, proof: Inclusion) -> bool:
    """Whether the proof shows the leaf under the head (RFC 9162, 2.1.3.2).

    The head must come from elsewhere, a printed page for instance; a proof that claims another size is refused.
    """
    if proof.size != head.size or not 0 <= proof.index < proof.size:
        return False
    position, last, joined = proof.index, proof.size - 1, leaf_hash
    for sibling in proof.path:
        if last == 0:
            return False
        if position & 1 or position == last:
            joined = node(sibling, joined)
            while not position & 1 and position:
                position, last = position >> 1, last >> 1
        else:
            joined = node(joined, sibling)
        position, last = position >> 1, last >> 1
    return last == 0 and joined.hex() == head.root_hex


def extends(old: Head, new: Head, proof: Consistency) -> bool:
    """Whether the proof shows that the new head continues the old one (RFC 9162, 2.1.4.2).

    Both heads must come from elsewhere; a proof that claims other sizes is refused.
    """
    if (proof.old_size, proof.new_size) != (old.size, new.size) or not 0 < old.size <= new.size:
        return False
    if old.size == new.size:
        return not proof.path and old.root_hex == new.root_hex
    path = list(proof.path)
    position, last = old.size - 1, new.size - 1
    while position & 1:
        position, last = position >> 1, last >> 1
    if not position:  # the old tree is a full subtree: its root starts the path and is not repeated in it
        path.insert(0, bytes.fromhex(old.root_hex))
    if not path:
        return False
    old_root = new_root = path[0]
    for sibling in path[1:]:
        if last == 0:
            return False
        if position & 1 or position == last:
            old_root, new_root = node(sibling, old_root), node(sibling, new_root)
            while not position & 1 and position:
                position, last = position >> 1, last >> 1
        else:
            new_root = node(new_root, sibling)
        position, last = position >> 1, last >> 1
    return last == 0 and old_root.hex() == old.root_hex and new_root.hex() == new.root_hex


def _split(size: int) -> int:
    """The largest power of two below size (size > 1)."""
    return 1 << (size - 1).bit_length() - 1
