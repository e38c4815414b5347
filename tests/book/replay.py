"""Loss of power, replayed: what strace saw a program do to its files, and the disks that could be left of it.

Each write and sync is taken from a real run. A disk is what was synced, plus any choice of what was not: each later
write kept, dropped, or torn at 512 bytes. The limits of this: making, naming and removing a file counts as durable at
once, a tear falls between sectors, and a disk that lies about syncing is outside it.
"""

from __future__ import annotations

import random
import re
import shutil
import subprocess
import sys
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path

SECTOR = 512
CALLS = "pwrite64,write,fdatasync,fsync,ftruncate,unlink,unlinkat"
WRITER = Path(__file__).parent / "writer.py"


@dataclass
class File:
    """What of a file is surely on the disk, and what was done to it since."""

    durable: bytearray = field(default_factory=bytearray)
    pending: list[tuple[int, bytes | None]] = field(default_factory=list)  # offset and bytes, or a new length

    def sync(self) -> None:
        """All that was pending is on the disk."""
        for change in self.pending:
            apply(self.durable, *change)
        self.pending.clear()

    def after_power_loss(self, choice: random.Random) -> bytes:
        """One of the contents that the disk could be left with."""
        content = bytearray(self.durable)
        for offset, data in self.pending:
            fate = choice.randrange(3)
            if fate == 0 or data is None:
                if fate == 0:
                    apply(content, offset, data)
            elif fate == 1:
                for start in range(0, len(data), SECTOR):
                    if choice.randrange(2):
                        apply(content, offset + start, data[start : start + SECTOR])
        return bytes(content)


def apply(content: bytearray, offset: int, data: bytes | None) -> None:
    """One write, or one cut to a length."""
    end = offset if data is None else offset + len(data)
    if len(content) < end:
        content.extend(bytes(end - len(content)))
    if data is None:
        del content[offset:]
    else:
        content[offset:end] = data


def strace_works() -> bool:
    """Whether a program can be traced here."""
    if shutil.which("strace") is None:
        return False
    return subprocess.run(["strace", "-f", "-o", "/dev/null", "true"], capture_output=True, check=False).returncode == 0


def trace(folder: Path, log: Path, count: int, *options: str) -> list[str]:
    """Run the writer under strace; the lines of the log."""
    strace = [
        "strace",
        "-f",
        "-y",
        "-xx",
        "-s",
        "1000000",
        "-e",
        f"trace={CALLS}",
        "-e",
        "signal=none",
        "-o",
        str(log),
    ]
    subprocess.run(
        [*strace, sys.executable, str(WRITER), str(folder), str(count), *options],
        check=True,
        capture_output=True,
    )
    return log.read_text(encoding="ascii").splitlines()


_LINE = re.compile(r"^\d+ +(\w+)\((.*)\) += (\d+)$")
_DESCRIPTOR = re.compile(r"^(\d+)<(.*?)>(?:, )?(.*)$")
_WRITE = re.compile(r'^"(.*)", \d+(?:, (\d+))?$')


def steps(lines: list[str], folder: Path) -> Iterator[tuple[str, str, tuple[int, bytes | None] | None]]:
    """What was done, in order: (call, name of the file, change); an acknowledgement is a 'say' with its text."""
    for line in lines:
        match = _LINE.match(line)
        if match is None:
            continue
        call, arguments, result = match[1], match[2], int(match[3])
        if call in ("unlink", "unlinkat"):
            path = Path(unescaped(re.findall(r'"(.*?)"', arguments)[0]).decode())
            if path.parent == folder:
                yield "unlink", path.name, None
            continue
        descriptor = _DESCRIPTOR.match(arguments)
        assert descriptor is not None, line
        path = Path(unescaped(descriptor[2]).decode())
        if call == "write":
            if descriptor[1] == "1":
                data = unescaped(_WRITE.match(descriptor[3])[1])  # type: ignore[index]
                yield "say", data.decode(), None
        elif path.parent == folder:
            if call == "pwrite64":
                written = _WRITE.match(descriptor[3])
                assert written is not None and written[2] is not None, line
                yield "write", path.name, (int(written[2]), unescaped(written[1])[:result])
            elif call == "ftruncate":
                yield "write", path.name, (int(descriptor[3]), None)
            else:
                yield "sync", path.name, None


def unescaped(text: str) -> bytes:
    """Bytes that strace wrote as hex escapes; paths come plain in some versions."""
    return bytes.fromhex(text.replace("\\x", "")) if text.startswith("\\x") else text.encode()


def disks(lines: list[str], folder: Path, seeds: int) -> Iterator[tuple[list[str], dict[str, bytes]]]:
    """After each step, `seeds` disks that a loss of power could leave: (acknowledged so far, files by name)."""
    there: dict[str, File] = {}
    said: list[str] = []
    for number, (call, name, change) in enumerate(steps(lines, folder)):
        if call == "say":
            said.append(name.strip())
            continue
        if call == "unlink":
            there.pop(name, None)
        else:
            file = there.setdefault(name, File())
            if call == "sync":
                file.sync()
            elif change is not None:
                file.pending.append(change)
        for seed in range(seeds):
            choice = random.Random(number * 1000 + seed)
            yield (
                said,
                {name: file.after_power_loss(choice) for name, file in there.items() if not name.endswith("-shm")},
            )
