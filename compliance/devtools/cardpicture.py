"""A card filled in by hand, as a picture: ink drawn over the rendered page, to see that boxes and lines take it."""

from __future__ import annotations

import random
import subprocess
import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any, Final

from compliance.reports import card_front
from compliance.reports.card import SHEETS, CardPaper, render
from compliance.reports.card_blank import Card
from compliance.reports.card_pen import Place

if TYPE_CHECKING:
    from PIL.ImageDraw import ImageDraw

DOTS: Final = 150
"""An inch of paper."""
INK: Final = (24, 52, 140)
SEED: Final = 8
_LETTER_MM: Final = 4.0
"""Height of a capital as a hand writes it."""
_PEN_MM: Final = 0.7
_MISS: Final = 0.13
"""How far a stroke ends from where it was meant to, in sides of a box."""

ROUTE: Final = (
    "Alder Oven, Canal Street", "Quillon Fish Counter", "Copperleaf Row north", "Copperleaf Row south",
    "Tern Street Laundry", "Old Depot Market", "Harbor deck", "Lantern Street Diner",
)  # fmt: skip
TONIGHT: Final = Card(
    "TVX7-67W2-6", "Bluebank Wash Recovery", "Big Blue", "3 sep 2026 · Sep 3, 2026", "Tomás Ibarra", ROUTE,
    "Big Blue recovery", "Big Blue supply meter", "Big Blue transfer meter",
)  # fmt: skip
"""The route night of the samples (case 2), as it is printed before the crew leaves."""
_STOP: Final = ("on_site=arrived", "work=done", "drains=covered", "covers=cover lifted", "got_away=saw none")
TICKED: Final = (
    *(f"stop.{n}.{answer}" for n in (1, 2, 3, 4, 5, 6, 8) for answer in _STOP),
    "stop.7.on_site=arrived", "stop.7.not_worked", "night.agent_use=none used", "night.sock=cleaned",
    "night.cartridges=same", "night.rain=none", "night.handover_end=not read",
)  # fmt: skip
WRITTEN: Final = {
    "night.crew": "Eli Sandoval", "night.start": "20:20", "night.end": "06:05", "stop.7.not_worked": "llovió",
    "stop.8.mark": "30.5", "night.tank_start": "vacío", "night.tank_now": "vacío", "night.supply_start": "999307",
    "night.supply_end": "999812", "night.handover_start": "18612", "night.where": "Port Alder station",
    "night.ticket": "R-20914", "night.remark": "portón cerrado",
}  # fmt: skip


def filled(out: Path, paper: CardPaper = "letter") -> int:
    """Write the card, filled in, as a PNG picture; returns its size in bytes. Needs pdftoppm."""
    from PIL import Image, ImageDraw

    wide, high = SHEETS[paper][0] / 2, SHEETS[paper][1]
    pen = card_front.draw(TONIGHT, wide, high)
    with tempfile.TemporaryDirectory() as folder:
        file = Path(folder) / "card.pdf"
        file.write_bytes(render([TONIGHT], paper))
        sheet = ["-png", "-singlefile", "-l", "1", "-r", str(DOTS)]
        subprocess.run(["pdftoppm", *sheet, str(file), str(file.with_suffix(""))], check=True)
        with Image.open(file.with_suffix(".png")) as page:
            scale = DOTS / 72
            picture = page.convert("RGB").crop((0, 0, round(wide * scale), round(high * scale)))
    draw = ImageDraw.Draw(picture)
    dice = random.Random(SEED)
    boxes = {box.key: box for box in pen.boxes}
    lines = {line.key: line for line in pen.lines}
    for key in TICKED:
        _tick(draw, boxes[key], scale, dice)
    for key, text in WRITTEN.items():
        _write(picture, lines[key], text, scale, dice)
    picture.quantize(32).save(out, optimize=True)
    return out.stat().st_size


def _tick(draw: ImageDraw, box: Place, scale: float, dice: random.Random) -> None:
    """Two strokes of a thick pen, as far as a hand in a glove misses."""
    for stroke in (((0.12, 0.15), (0.88, 0.9)), ((0.9, 0.1), (0.1, 0.86))):
        ends = [(x + dice.uniform(-_MISS, _MISS), y + dice.uniform(-_MISS, _MISS)) for x, y in stroke]
        at = [((box.x + box.w * x) * scale, (box.y + box.h * y) * scale) for x, y in ends]
        draw.line(at, INK, max(2, round(_PEN_MM * DOTS / 25.4)))


def _write(picture: Any, line: Place, text: str, scale: float, dice: random.Random) -> None:
    """Letters of a hand's size, none of them quite straight. ValueError when they do not fit their line."""
    font = _font(round(_LETTER_MM / 0.73 * DOTS / 25.4))
    letters = [_letter(letter, font, dice.uniform(-7, 7)) for letter in text]
    wide = sum(advance for _, advance in letters)
    if wide > (line.w + 4) * scale:
        raise ValueError(f"{text!r} is {wide / DOTS * 25.4:.0f} mm wide, {line.key} has {line.w / 72 * 25.4:.0f} mm")
    x, y = (line.x + 1) * scale, (line.y + line.h) * scale
    for mask, advance in letters:
        at = (round(x), round(y - mask.height * 0.86 + dice.uniform(-1, 1)))
        picture.paste(INK, at, mask)
        x += advance


def _letter(letter: str, font: Any, turned: float) -> tuple[Any, float]:
    """One letter as a mask, and how far the next one is from it."""
    from PIL import Image, ImageDraw

    left, _, right, bottom = font.getbbox(letter)
    mask = Image.new("L", (int(right - left) + 8, int(bottom) + 4))
    ImageDraw.Draw(mask).text((2, 0), letter, 255, font=font)
    return mask.rotate(turned, expand=False), font.getlength(letter) * 0.86


def _font(size: int) -> Any:
    from importlib import resources

    from PIL import ImageFont

    with resources.as_file(resources.files("compliance.reports") / "fonts" / "DejaVuSans.ttf") as file:
        return ImageFont.truetype(file, size)
