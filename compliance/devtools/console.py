"""The console blocks of a document, run against a fresh demo book as a reader would.

In a ```console block each line that begins with `$ ` is typed and the lines under it are what comes back. Answers to
questions stand in their place, behind the prompt. A line `...` stands for any lines. A block under
`<!-- save as NAME -->` is saved under that name first. `washwater`, `cd` and `echo $?` are known here.
"""

from __future__ import annotations

import contextlib
import io
import os
import re
import shlex
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from datetime import datetime
from hashlib import sha256
from itertools import count
from pathlib import Path
from typing import Final, TextIO, cast

from compliance.cli.main import main
from compliance.cli.shell import BOOK_VARIABLE, Shell
from compliance.devtools.here import DOCS, ROOT

NOW: Final = datetime.fromisoformat("2026-11-25T09:30:00-07:00")
"""What the clock of the documents shows."""
_BLOCK: Final = re.compile(r"(?:<!-- save as (?P<name>\S+) -->\n+)?^```(?P<kind>\w*)\n(?P<body>.*?)^```$", re.M | re.S)
_LOOSE: Final = (
    (re.compile(r"[ \t]+$", re.M), ""),
    (re.compile(r"\b(?=[a-f]*\d)[0-9a-f]{6,}\b"), "<hex>"),
    (re.compile(r"\d\d:\d\d:\d\d"), "<clock>"),
    (re.compile(r"\b\d+(\.\d+)? s\b"), "<seconds>"),
)


class AskedOtherwise(ValueError):
    """A command asks a question where the document has another one: there is no answer to give it."""


@dataclass(frozen=True)
class Typed:
    """One command of a document with what the document says comes back, which begins at so many characters."""

    command: str
    expected: str
    at: int = 0


@dataclass
class Terminal:
    """Where the commands of one document are typed: a folder, and the exit code of the last command.

    tokens: numbers from which the ids of its records are made, so that a document comes out the same each time.
    """

    folder: Path
    code: int = 0
    tokens: Iterator[int] = field(default_factory=lambda: count(1_000_000))

    def run(self, typed: Typed) -> str:
        """Type one command; returns all that it printed.

        Raises ValueError for one that is not known here, AskedOtherwise when the document has other questions.
        """
        program, *args = shlex.split(typed.command)
        if program == "cd":
            self.folder = self.folder / args[0]
            return ""
        if typed.command == "echo $?":
            return f"{self.code}\n"
        if program != "washwater":
            raise ValueError(f"not a command of these documents: {typed.command}")
        out = io.StringIO()
        shell = Shell(now=lambda: NOW, token=lambda: sha256(str(next(self.tokens)).encode()).digest()[:16])
        answers = _Answers(out, typed.expected)
        with _instead(self.folder, answers), contextlib.redirect_stdout(out), contextlib.redirect_stderr(out):
            self.code = main(args, shell)
        if answers.otherwise:
            raise AskedOtherwise(
                f"`{typed.command}` asks otherwise; mend the question in the document:{answers.otherwise}"
            )
        return out.getvalue()


class _Answers(io.TextIOBase):
    """Standard input that reads its answers off the document, and echoes them as a terminal does."""

    def __init__(self, out: io.StringIO, expected: str) -> None:
        super().__init__()
        self.out, self.lines = out, expected.split("\n")
        self.buffer = io.BytesIO()
        self.otherwise = ""

    def readline(self, size: int = -1, /) -> str:  # type: ignore[override]  # text, whatever the base of bases says
        shown = self.out.getvalue()
        at, prompt = shown.count("\n"), shown.rpartition("\n")[2]
        if at >= len(self.lines) or not self.lines[at].startswith(prompt.rstrip()):
            has = self.lines[at] if at < len(self.lines) else ""
            if has and prompt:
                self.otherwise = f"\n--- says\n{has}\n--- asks\n{prompt}"
            return ""
        answer = self.lines[at][len(prompt) :]
        self.out.write(answer + "\n")
        return answer + "\n"


@contextlib.contextmanager
def _instead(folder: Path, stdin: _Answers) -> Iterator[None]:
    """Another folder and standard input for a while, a terminal of a fixed width, and no book named outside."""
    before, was = dict(os.environ), sys.stdin
    os.environ["COLUMNS"] = "100"
    os.environ.pop(BOOK_VARIABLE, None)
    sys.stdin = cast(TextIO, stdin)
    try:
        with contextlib.chdir(folder):
            yield
    finally:
        sys.stdin = was
        os.environ.clear()
        os.environ.update(before)


@dataclass(frozen=True)
class Block:
    """A fenced block: the name to save it under ('' for none), its kind, its body and where that begins."""

    name: str
    kind: str
    body: str
    at: int


def documents() -> list[Path]:
    """Every document with a console block, in the order of their names after the README."""
    found = [ROOT / "README.md", ROOT / "DEVELOPERS.md", *sorted(DOCS.glob("*.md"))]
    return [file for file in found if "```console\n" in file.read_text(encoding="utf-8")]


def blocks(text: str) -> Iterator[Block]:
    """Every fenced block of a document, from top to bottom."""
    for match in _BLOCK.finditer(text):
        yield Block(match["name"] or "", match["kind"], match["body"], match.start("body"))


def typed_in(block: Block) -> list[Typed]:
    """The commands of one console block."""
    found: list[Typed] = []
    at = block.at
    for line in block.body.splitlines(keepends=True):
        at += len(line)
        if line.startswith("$ "):
            found.append(Typed(line[2:].strip(), "", at))
        elif found:
            found[-1] = replace(found[-1], expected=found[-1].expected + line)
    return found


def agrees(expected: str, found: str) -> bool:
    """Whether what came back is what the document says, but for ids, codes, clocks and seconds."""
    pattern = "".join(
        r"(?:.*\n)*" if line == "..." else re.escape(line) + r"\n" for line in _plain(expected).splitlines()
    )
    return re.fullmatch(pattern, _plain(found)) is not None


def _plain(text: str) -> str:
    for pattern, instead in _LOOSE:
        text = pattern.sub(instead, text)
    return text.rstrip("\n") + "\n" if text.strip() else ""


def differences(text: str, terminal: Terminal) -> Iterator[tuple[Typed, str]]:
    """Run a document from top to bottom; yields each command whose answer is another one, with that answer."""
    for block in blocks(text):
        if block.name:
            (terminal.folder / block.name).write_text(block.body, encoding="utf-8")
        if block.kind == "console":
            for typed in typed_in(block):
                found = terminal.run(typed)
                if not agrees(typed.expected, found):
                    yield typed, found


def rewritten(text: str, terminal: Terminal) -> str:
    """The document with the answers that came back in place of those that differ."""
    for typed, found in reversed(list(differences(text, terminal))):
        text = text[: typed.at] + _shortened(found, typed.expected) + text[typed.at + len(typed.expected) :]
    return text


def _shortened(found: str, expected: str) -> str:
    """An answer with `...` where the document has it, and as many lines before and after."""
    before, dots, after = expected.partition("...\n")
    lines = found.splitlines(keepends=True)
    first, last = before.count("\n"), after.count("\n")
    if not dots or len(lines) < first + last:
        return found
    return "".join([*lines[:first], dots, *lines[len(lines) - last :]])


def demo(to: Path) -> Path:
    """Make the demo in a new folder, under the clock of the documents; returns the folder."""
    to.parent.mkdir(parents=True, exist_ok=True)
    found = Terminal(to.parent, tokens=count(1))
    said = found.run(Typed(f"washwater demo {shlex.quote(to.name)}", ""))
    if found.code != 0:
        raise RuntimeError(f"the demo failed:\n{said}")
    return to
