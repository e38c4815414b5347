"""The list in docs/errors.md: each file of tests/errors/ with what is said about it, and the words of `verify`."""

from __future__ import annotations

from itertools import groupby
from pathlib import Path
from typing import Final

from compliance.book.verify import ANSWERS
from compliance.devtools.here import TESTS
from compliance.devtools.markdown import block, table

CORPUS: Final = TESTS / "errors"
LONGEST: Final = 160
"""Characters of one line of an input that is shown; the file itself has all of them."""


def part() -> str:
    """Messages about files, by kind of file, then what `verify` answers to each kind of damage."""
    made = ["## Messages about a file or an answer\n"]
    for kind, files in groupby(cases(), key=lambda path: path.stem.partition("-")[0]):
        made.append(f"### {kind}\n")
        made += [_case(path) for path in files]
    return "\n".join([*made, "## Damage to a book\n", _damage()])


def cases() -> list[Path]:
    """The inputs of the corpus, by name."""
    return sorted(path for path in CORPUS.iterdir() if path.suffix in (".toml", ".json"))


def _case(path: Path) -> str:
    typed = path.read_text(encoding="utf-8", errors="replace")
    said = path.with_suffix(".txt").read_text(encoding="utf-8")
    about = path.stem.partition("-")[2].replace("-", " ") or path.stem
    return f"**{about}**\n\n{block(_short(typed), path.suffix[1:])}\n{block(_short(said), 'text')}"


def _short(text: str) -> str:
    lines = (line if len(line) <= LONGEST else f"{line[:LONGEST]} …" for line in text.splitlines())
    return "\n".join(lines) or "(nothing)"


def _damage() -> str:
    """The three answers to each kind of damage; the fourth, what is damaged, names the records."""
    return table(
        ("damage", "how serious", "do this", "may I go on"), [(kind, *answers) for kind, answers in ANSWERS.items()]
    )
