"""Attachments and issued pages: files named by the SHA-256 of their bytes, and how any file is written whole.

A file is on the disk before the record that names it is written. The name is the hash and nothing else; what the
file was called where it came from is data in the record.
"""

from __future__ import annotations

import errno
import os
import re
from collections.abc import Iterable, Iterator
from hashlib import sha256
from pathlib import Path

from compliance.records.problem import ComplianceError

FOLDER = "files"
LARGEST = 25_000_000
"""Bytes: a photo or a scan of some pages. A film belongs elsewhere."""

_NAME = re.compile(r"[0-9a-f]{64}")
_CHUNK = 1 << 20
_FOLDERS_SYNC = os.name == "posix"  # elsewhere a folder cannot be opened, and its entries are written with the file


def put(folder: Path, source: bytes | Path, *, largest: int = LARGEST) -> str:
    """Keep the bytes, or a copy of the file, in the book's folder; returns the SHA-256 in hex.

    It is on the disk when this returns; a file that is there already is left alone, a damaged one is replaced.
    Raises ComplianceError when the source cannot be read or is larger than `largest` bytes, or the disk fails.
    """
    return _keep(folder, _checked(source, largest), None)


def copy(folder: Path, sha: str, to: Path) -> bool:
    """Copy a kept file into another book's folder; false, and nothing copied, when it is not what its name says.

    Raises ComplianceError when it cannot be read, or the disk fails.
    """
    return _keep(to, _pieces(get(folder, sha)), sha) == sha


def get(folder: Path, sha: str) -> Path:
    """Where the file with this SHA-256 is. Raises ComplianceError when the book does not hold it."""
    path = folder / FOLDER / sha
    if not _NAME.fullmatch(sha) or not path.is_file():
        raise ComplianceError.one(
            f"The book holds no file {sha!r}",
            str(folder / FOLDER),
            "Attach it again from where it came from, or bring it back from a backup.",
        )
    return path


def sound(folder: Path, sha: str) -> bytes | None:
    """The bytes that were kept under this hash; None where the book has lost them or has others in their place.

    For whoever goes on without them and says so; '' is the hash of nothing that was ever kept.
    """
    try:
        data = get(folder, sha).read_bytes()
    except (ComplianceError, OSError):
        return None
    return data if sha256(data).hexdigest() == sha else None


def names(folder: Path) -> list[str]:
    """The hashes of all files kept, sorted; whatever else lies in the folder is not ours."""
    place = folder / FOLDER
    return sorted(path.name for path in place.iterdir() if _NAME.fullmatch(path.name)) if place.is_dir() else []


def hash_of(path: Path) -> str:
    """The SHA-256 of a file's bytes, in hex. Raises ComplianceError when it cannot be read."""
    hasher = sha256()
    for piece in _pieces(path):
        hasher.update(piece)
    return hasher.hexdigest()


def write_whole(target: Path, data: bytes) -> None:
    """Write a file so that a crash leaves the old one or the new one, and it is on the disk when this returns.

    Raises ComplianceError when the disk fails.
    """
    part = _part(target.parent)
    try:
        write_new(part, [data])
        part.replace(target)
        sync_folder(target.parent)
    except OSError as error:
        raise explain(error, target) from error
    finally:
        part.unlink(missing_ok=True)


def move_whole(source: Path, target: Path) -> None:
    """Give a finished file its name; content and name are on the disk when this returns.

    Raises ComplianceError when the disk fails.
    """
    try:
        with source.open("rb+") as file:
            os.fsync(file.fileno())
        source.replace(target)
        sync_folder(target.parent)
    except OSError as error:
        raise explain(error, target) from error


def make_folder(folder: Path) -> None:
    """Make a folder and those above it. Raises ComplianceError when the disk refuses."""
    try:
        if not folder.is_dir():
            folder.mkdir(parents=True, exist_ok=True)
            sync_folder(folder.absolute().parent)
    except OSError as error:
        raise explain(error, folder) from error


def require_empty(folder: Path) -> None:
    """Raise ComplianceError unless the folder is new or empty."""
    try:
        used = folder.exists() and (not folder.is_dir() or any(folder.iterdir()))
    except OSError as error:
        raise explain(error, folder) from error
    if used:
        raise ComplianceError.one(
            "The place for the copy is in use",
            str(folder),
            "Name a new or an empty folder; nothing was overwritten.",
        )


def sync_folder(folder: Path) -> None:
    """Have the entries of a folder on the disk."""
    if _FOLDERS_SYNC:
        handle = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(handle)
        finally:
            os.close(handle)


def explain(error: OSError, path: Path) -> ComplianceError:
    """An error of the file system in plain words."""
    where = f"{path} and the disk it is on ({error.strerror or error})"
    if error.errno in (errno.ENOSPC, errno.EDQUOT, errno.EFBIG):
        return ComplianceError.one(
            "The disk is full; the file was not written",
            where,
            "Free some space on that disk, then do it again.",
        )
    return ComplianceError.one(
        "The disk did not take or give a file",
        where,
        "Check that the folder exists, that you may read and write in it, and that the disk is well; then do it again.",
    )


def _checked(source: bytes | Path, largest: int) -> Iterable[bytes]:
    """The bytes of the source in pieces, once its size is known to be allowed."""
    try:
        size = len(source) if isinstance(source, bytes) else source.stat().st_size
        if isinstance(source, Path) and not source.is_file():
            raise IsADirectoryError(errno.EISDIR, "not a file", str(source))
    except OSError as error:
        raise explain(error, Path(str(source))) from error
    if size > largest:
        raise ComplianceError.one(
            f"The file is too large: {size:,} bytes, {largest:,} at most",
            "the bytes given" if isinstance(source, bytes) else str(source),
            "Attach a smaller copy, a photo at lower resolution for instance.",
        )
    return [source] if isinstance(source, bytes) else _pieces(source)


def _pieces(path: Path) -> Iterator[bytes]:
    try:
        with path.open("rb") as file:
            while piece := file.read(_CHUNK):
                yield piece
    except OSError as error:
        raise explain(error, path) from error


def _keep(folder: Path, pieces: Iterable[bytes], only: str | None) -> str:
    """Write the pieces under their hash, which is returned; if it is not the one wanted, nothing stays."""
    place = folder / FOLDER
    make_folder(place)
    part = _part(place)
    try:
        digest = write_new(part, pieces)
        target = place / digest
        if only in (None, digest) and not (target.is_file() and hash_of(target) == digest):
            part.replace(target)
            sync_folder(place)
    except OSError as error:
        raise explain(error, place) from error
    finally:
        part.unlink(missing_ok=True)
    return digest


def _part(folder: Path) -> Path:
    """A name for a file in the making; one that a crash leaves behind is never read."""
    return folder / f".part-{os.urandom(8).hex()}"


def write_new(path: Path, pieces: Iterable[bytes]) -> str:
    """Write a file that is not there yet, piece by piece; it is on the disk when its SHA-256 (hex) is returned.

    Raises OSError: the caller knows which name means something to the reader.
    """
    hasher = sha256()
    with path.open("xb") as file:
        for piece in pieces:
            hasher.update(piece)
            file.write(piece)
        file.flush()
        os.fsync(file.fileno())
    return hasher.hexdigest()
