"""Say at the end of a run, loudly, what could not be tested on this machine."""

from __future__ import annotations

import pytest

from .replay import strace_works


def pytest_terminal_summary(terminalreporter: pytest.TerminalReporter) -> None:
    """Skipped tests are easily overlooked; a loss of power that nobody replayed must not be."""
    if not strace_works():
        terminalreporter.write_sep("!", "strace cannot be used here: LOSS OF POWER AND FAILING DISKS WERE NOT TESTED")
