"""Entries that are not handed in yet: one JSON file each, beside the book and no part of it.

A draft is written whole after every answer, so that what a crash takes is one answer at most. Two windows on one
draft: the last to save wins, and nothing of it is in the book before it is handed in.
"""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

from compliance.book import files
from compliance.book.canon import canonical
from compliance.records.problem import ComplianceError

FOLDER = "drafts"

# Lower case only: on some disks Run-1 and run-1 are one file. The reserved names are those of Windows.
_NAME = re.compile(r"(?!(?:con|prn|aux|nul|com[0-9]|lpt[0-9])(?:\.|$))[a-z0-9][a-z0-9._-]{0,79}")


def save(folder: Path, name: str, draft: dict[str, Any]) -> Path:
    """Keep the draft under its name, in place of an earlier one; it is on the disk when this returns.

    draft: str, int, bool, None, list and dict. Raises ComplianceError for a name or a value that cannot be kept,
    and when the disk fails; the earlier draft is then still there.
    """
    path = _path(folder, name)
    try:
        data = canonical(draft)
    except (TypeError, ValueError) as error:
        raise ComplianceError.one(
            f"The draft cannot be kept: {error}", f"draft {name}", "Enter that value again as plain text."
        ) from error
    files.make_folder(path.parent)
    files.write_whole(path, data)
    return path


def load(folder: Path, name: str) -> dict[str, Any]:
    """The draft of this name. Raises ComplianceError when there is none or it cannot be read."""
    path = _path(folder, name)
    try:
        draft = json.loads(path.read_bytes())
        if type(draft) is not dict:
            raise ValueError("not a set of fields")
    except FileNotFoundError as error:
        raise ComplianceError.one(
            f"There is no draft {name!r}",
            str(path),
            f"These are there: {', '.join(names(folder)) or 'none'}.",
        ) from error
    except OSError as error:
        raise files.explain(error, path) from error
    except ValueError as error:
        raise ComplianceError.one(
            f"The draft {name!r} cannot be read ({error})",
            str(path),
            "Open the file in an editor to see what is left, then delete the draft and enter the night again.",
        ) from error
    return draft


def names(folder: Path) -> list[str]:
    """The names of all drafts, sorted; whatever else lies in the folder is not ours."""
    place = folder / FOLDER
    if not place.is_dir():
        return []
    return sorted(path.stem for path in place.iterdir() if path.suffix == ".json" and _NAME.fullmatch(path.stem))


def delete(folder: Path, name: str) -> None:
    """Remove a draft, once it is handed in or given up; one that is gone already is no error.

    Raises ComplianceError where the disk will not.
    """
    path = _path(folder, name)
    try:
        path.unlink(missing_ok=True)
    except OSError as error:
        raise files.explain(error, path) from error


def _path(folder: Path, name: str) -> Path:
    if not _NAME.fullmatch(name):
        raise ComplianceError.one(
            f"{name!r} cannot be the name of a draft",
            str(folder / FOLDER),
            "Use lower-case letters, digits, dots and hyphens, up to 80 of them, beginning with a letter or digit.",
        )
    return folder / FOLDER / f"{name}.json"
