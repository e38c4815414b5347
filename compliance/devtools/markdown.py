"""Markdown tables, with nothing in a cell that would end it."""

from __future__ import annotations

from collections.abc import Iterable, Sequence


def table(columns: Sequence[str], rows: Iterable[Sequence[str]]) -> str:
    """A table with its heading; every row has one text a column."""
    lines = [_row(columns), _row(["---"] * len(columns))]
    return "\n".join(lines + [_row([cell(text) for text in row]) for row in rows]) + "\n"


def cell(text: str) -> str:
    """A text that stays inside its cell: one line, and no bare stroke."""
    return " ".join(text.replace("|", "\\|").split())


def code(text: str) -> str:
    """As typed; '' stays empty."""
    return f"`{text}`" if text else ""


def block(text: str, language: str = "") -> str:
    """A fenced block; the fence is longer than any inside it."""
    fence = "```"
    while fence in text:
        fence += "`"
    return f"{fence}{language}\n{text.rstrip()}\n{fence}\n"


def _row(cells: Sequence[str]) -> str:
    return f"| {' | '.join(cells)} |"
