"""What is left after a loss of power, replayed from real system calls; and failing system calls."""

from __future__ import annotations

import os
import shutil
import subprocess
import sys
from collections import Counter
from hashlib import sha256
from pathlib import Path

import pytest

from compliance.book.store import Book
from compliance.book.tree import Head
from compliance.book.verify import verify
from compliance.records.problem import BookDamaged, ComplianceError

from . import replay
from .making import book_of

NO_STRACE = "strace is missing or may not trace here: LOSS OF POWER IS NOT TESTED in this run"


@pytest.fixture(autouse=True)
def strace() -> None:
    """Without strace this fails where it must run, and is told elsewhere."""
    if not replay.strace_works():
        if os.environ.get("CI") == "true":
            pytest.fail(NO_STRACE)
        pytest.skip(NO_STRACE)


def outcome(folder: Path, said: list[str]) -> str:
    """What a disk holds against what was acknowledged: sound, lost or damaged."""
    if not said:
        try:
            return "sound" if verify(folder).sound else "damaged"
        except BookDamaged:
            return "damaged"
        except ComplianceError:
            return "sound"  # no book yet, and none was promised
    kept = Head.parse(said[-1].split()[-1])
    try:
        report = verify(folder, kept_head=kept)
        if report.sound:
            with Book.open(folder) as book:
                return "sound" if all(book.record(line.split()[2]) for line in said if line[:4] == "kept") else "lost"
    except BookDamaged:
        return "damaged"
    except ComplianceError:
        return "lost"
    return "lost" if {damage.kind for damage in report.damage} <= {"shorter"} else "damaged"


def outcomes(tmp_path: Path, count: int, seeds: int, *options: str) -> Counter[str]:
    """Trace a run, rebuild every disk, and count how they are left; equal disks are looked at once."""
    folder = tmp_path / "book"
    lines = replay.trace(folder, tmp_path / "strace.log", count, "create", "few-pages", *options)
    seen: dict[bytes, str] = {}
    counted: Counter[str] = Counter()
    for said, content in replay.disks(lines, folder, seeds):
        key = sha256(repr((said, sorted(content.items()))).encode()).digest()
        if key not in seen:
            place = tmp_path / "disk"
            place.mkdir()
            for name, data in content.items():
                (place / name).write_bytes(data)
            seen[key] = outcome(place, said)
            shutil.rmtree(place)
        counted[seen[key]] += 1
    return counted


def test_a_loss_of_power_takes_nothing_that_was_acknowledged(tmp_path: Path) -> None:
    """From the making of the book to its closing: at least 2,000 disks, none damaged, no record lost."""
    counted = outcomes(tmp_path, 25, 8)
    assert counted["lost"] == counted["damaged"] == 0
    assert counted["sound"] >= 2000, counted


@pytest.mark.parametrize(("setting", "damages"), [("sync-off", True), ("sync-normal", False)])
def test_the_replay_finds_the_losses_of_a_book_that_syncs_less(tmp_path: Path, setting: str, damages: bool) -> None:
    """The controls: the same replay must find losses with synchronous OFF and NORMAL, or it proves nothing."""
    counted = outcomes(tmp_path, 12, 2, setting)
    assert counted["lost"] > 40, counted
    assert (counted["damaged"] > 0) == damages, counted


@pytest.mark.parametrize("call", ["pwrite64", "fdatasync", "ftruncate"])
def test_a_failing_disk_leaves_whole_records_and_is_told(tmp_path: Path, call: str) -> None:
    """The Nth system call fails: what was acknowledged is there, the book is sound, and the refusal names the disk."""
    refused = 0
    for number in (1, 2, 3, 5, 8, 13, 21, 34):
        folder = tmp_path / f"{call}-{number}"
        book_of(folder, 3).close()
        inject = ["strace", "-f", "-o", "/dev/null", "-e", f"inject={call}:error=EIO:when={number}"]
        command = [*inject, sys.executable, str(replay.WRITER), str(folder), "8", "few-pages"]
        done = subprocess.run(command, capture_output=True, text=True, check=False)
        kept = [line.split() for line in done.stdout.splitlines() if line.startswith("kept")]
        told = [line for line in done.stdout.splitlines() if line.startswith("refused")]
        report = verify(folder, deep=True, kept_head=Head.parse(kept[-1][-1]) if kept else None)
        assert report.sound, report
        assert report.head.size >= 3 + len(kept)
        assert done.returncode == (2 if told else 0), (done.stdout, done.stderr)
        assert told or len(kept) == 8
        assert all("disk" in line and "records.sqlite" in line for line in told)
        refused += len(told)
    assert refused >= (1 if call == "ftruncate" else 3)
