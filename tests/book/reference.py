"""RFC 9162, section 2.1, written as it reads there: recursive, slow, and independent of the code that ships."""

from __future__ import annotations

from hashlib import sha256


def below(size: int) -> int:
    """The largest power of two smaller than size."""
    power = 1
    while power * 2 < size:
        power *= 2
    return power


def mth(data: list[bytes]) -> bytes:
    """2.1.1, Merkle tree hash."""
    if not data:
        return sha256(b"").digest()
    if len(data) == 1:
        return sha256(b"\x00" + data[0]).digest()
    k = below(len(data))
    return sha256(b"\x01" + mth(data[:k]) + mth(data[k:])).digest()


def path(m: int, data: list[bytes]) -> list[bytes]:
    """2.1.3.1, inclusion proof."""
    if len(data) == 1:
        return []
    k = below(len(data))
    if m < k:
        return [*path(m, data[:k]), mth(data[k:])]
    return [*path(m - k, data[k:]), mth(data[:k])]


def proof(m: int, data: list[bytes]) -> list[bytes]:
    """2.1.4.1, consistency proof."""
    return subproof(m, data, True)


def subproof(m: int, data: list[bytes], whole: bool) -> list[bytes]:
    """2.1.4.1, its helper."""
    if m == len(data):
        return [] if whole else [mth(data)]
    k = below(len(data))
    if m <= k:
        return [*subproof(m, data[:k], whole), mth(data[k:])]
    return [*subproof(m - k, data[k:], False), mth(data[:k])]
