"""One text of a cell: kept as it is, or refused when no page could print it."""

from __future__ import annotations

from compliance.intake.oldbooks.table import BLANK, Cell
from compliance.intake.text import check_text
from compliance.records.problem import Problem


def text_cell(text: str) -> Cell:
    """A text as a cell; what cannot be printed, or is too long, gives it a fault and stays out of everything else."""
    if not text.isascii() or not text.isprintable() or len(text) > 1000:
        read = check_text(text.replace("\r\n", "\n").replace("\r", "\n"), "")
        if isinstance(read, Problem):
            return Cell(text.strip()[:200], fault=read.what)
        text = read
    text = text.strip()
    return Cell(text) if text else BLANK
