"""Two pictures: the water balance of a sample night as SVG, and the first sheet of a proof as PNG."""

from __future__ import annotations

import json
import subprocess
import tempfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from decimal import Decimal
from html import escape
from pathlib import Path
from typing import Final

from compliance.water.results import LoadFacts, RunFacts
from compliance.water.shown import shown
from compliance.water.volume import Figure, Volume

CASE: Final = "2026-09-01-big-blue"
"""The night whose balance is drawn: one stop, metered, one load (sample case 1)."""
JOB: Final = "Alder Oven dock, September"
"""The job whose proof is shown: that of the same night."""
DOTS_AN_INCH: Final = 96

_WIDTH, _TOP, _TALL, _BAR = 760, 64, 330, 100
_LABEL = 36
_COLOURS: Final = {"known": "#1f5a73", "open": "#ffffff"}


@dataclass(frozen=True)
class Piece:
    """A part of a bar. kind: 'known' (a reading shows it) or 'open' (not explained)."""

    label: str
    figure: Figure
    kind: str


@dataclass(frozen=True)
class Bar:
    """One look at the night's water, from the gun on; its pieces make up what was used."""

    title: str
    under: str
    pieces: tuple[Piece, ...]


def balance() -> str:
    """docs/balance.svg: where the water of one night went, each step with what it does not explain."""
    run, load = _night()
    stop = run.stops[0]
    used = Piece("used", run.used.figure, "known")
    at_stop = Piece("not explained, stop", stop.not_explained, "open")
    in_tank = Piece("not explained, tank", load.not_explained, "open")
    bars = (
        Bar("1. Used", "supply meter", (used,)),
        Bar("2. Captured", "tank marks", (Piece("captured", load.captured.figure, "known"), at_stop)),
        Bar("3. Handed over", "transfer meter", (Piece("handed over", load.handed_over, "known"), in_tank, at_stop)),
    )
    if run.film is None:
        raise ValueError(f"{CASE} has no area, so no film to draw beside it")
    return _svg(bars, run.film)


def _night() -> tuple[RunFacts, LoadFacts]:
    from compliance.devtools.here import ROOT
    from compliance.devtools.samples import state_of
    from compliance.water.fold import calculate

    night = calculate(state_of(ROOT / "sample_jobs" / "case-01-one-stop"))
    run = next(run for run in night.runs.values() if run.ref == CASE)
    return run, night.loads[run.loads[0]]


def _svg(bars: Sequence[Bar], film: tuple[str, str]) -> str:
    whole = sum((_number(piece) for piece in bars[0].pieces), Decimal(0))
    step = (_WIDTH - 60) // len(bars)
    shapes = [line for i, bar in enumerate(bars) for line in _bar(bar, 30 + i * step, whole)]
    title = "The water balance of one night: used, captured, handed over, and what each step does not explain"
    words = "; ".join(f"{bar.title[3:]}: {', '.join(_told(piece) for piece in bar.pieces)}" for bar in bars)
    height = _TOP + _TALL + 52
    least, most = (Decimal(end).quantize(Decimal(1)) for end in film)
    lines = [
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {_WIDTH} {height}" role="img" aria-labelledby="t d" '
        'font-family="sans-serif" font-size="14">',
        f'<title id="t">{escape(title)}</title>',
        f'<desc id="d">{escape(words)}</desc>',
        f'<rect width="{_WIDTH}" height="{height}" fill="#ffffff"/>',
        *shapes,
        f'<text x="30" y="{height - 14}" fill="#595959" font-size="12">US gallons, ± at about 95 %. White: not '
        f"explained. A film on the pavement may hold {least:f} to {most:f} gal of it (an assumption).</text>",
        "</svg>",
    ]
    return "\n".join(lines) + "\n"


def _bar(bar: Bar, x: int, whole: Decimal) -> Iterator[str]:
    yield f'<text x="{x}" y="24" font-weight="bold" fill="#1a1a1a">{escape(bar.title)}</text>'
    yield f'<text x="{x}" y="44" fill="#595959" font-size="12">read by: {escape(bar.under)}</text>'
    y, label_y = Decimal(_TOP), Decimal(0)
    for piece in reversed(bar.pieces):  # from the top down, so that a thin piece pushes the next label away
        tall = _number(piece) / whole * _TALL
        fill, dash = _COLOURS[piece.kind], ' stroke-dasharray="5 3"' if piece.kind == "open" else ""
        yield (
            f'<rect x="{x}" y="{y:.1f}" width="{_BAR}" height="{tall:.1f}" fill="{fill}" stroke="#1f5a73" '
            f'stroke-width="1.2"{dash}/>'
        )
        label_y = max(y + tall / 2, label_y + _LABEL)
        label, amount = _told(piece).split(": ")
        beside = x + _BAR + 6
        yield f'<text x="{beside}" y="{label_y - 3:.1f}" font-size="12">{escape(label)}</text>'
        yield f'<text x="{beside}" y="{label_y + 12:.1f}" font-size="12" font-weight="bold">{escape(amount)}</text>'
        y += tall


def _number(piece: Piece) -> Decimal:
    best = piece.figure.best if isinstance(piece.figure, Volume) else None
    if best is None or best < 0:
        raise ValueError(f"{piece.label} of {CASE} is no figure that can be drawn")
    return best


def _told(piece: Piece) -> str:
    assert isinstance(piece.figure, Volume)
    return f"{piece.label}: {shown(piece.figure).text}"


def proof(out: Path) -> int:
    """The first sheet of a proof of the demo as a picture; returns its size in bytes."""
    from compliance.devtools.console import Terminal, Typed, demo

    with tempfile.TemporaryDirectory() as folder:
        made = demo(Path(folder) / "demo")
        pages = json.loads(Terminal(made).run(Typed("washwater list pages --json", "")))
        number = next(page["number"] for page in pages if page["about"] == JOB)
        sheet = ["-png", "-singlefile", "-f", "1", "-r", str(DOTS_AN_INCH)]
        file = made / "pages" / f"{number}.pdf"
        subprocess.run(["pdftoppm", *sheet, str(file), str(out.with_suffix(""))], check=True)
    return out.stat().st_size
