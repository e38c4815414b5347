"""The card filled in with ink: what a hand writes fits, and a tick stays in its own box."""

from __future__ import annotations

import shutil
from pathlib import Path

import pytest
from click.testing import CliRunner
from PIL import Image

from compliance.devtools import cardpicture
from compliance.devtools.__main__ import devtools
from compliance.devtools.here import DOCS
from compliance.reports import card_front
from compliance.reports.card import SHEETS

LARGEST = 200_000


def inked(picture: Image.Image, area: tuple[float, float, float, float]) -> int:
    """How many dots of an area are blue."""
    scale = cardpicture.DOTS / 72
    left, top, right, bottom = (round(side * scale) for side in area)
    dots = (picture.getpixel((x, y)) for x in range(left, right) for y in range(top, bottom))
    return sum(blue > red + 60 for red, _, blue in dots)


@pytest.mark.parametrize("paper", ["letter", "A4"])
def test_ink_fills_the_boxes_that_are_ticked_and_no_other(tmp_path: Path, paper: str) -> None:
    """A thick pen that misses a little; words as large as a hand writes them stay on their lines, or it is an error."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm is not installed (Debian: poppler-utils)")
    out = tmp_path / "card.png"
    found = CliRunner().invoke(devtools, ["card-picture", str(out), "--paper", paper])
    assert found.exit_code == 0, found.output
    assert out.stat().st_size < LARGEST
    wide, high = SHEETS[paper][0] / 2, SHEETS[paper][1]
    pen = card_front.draw(cardpicture.TONIGHT, wide, high)
    with Image.open(out) as file:
        picture = file.convert("RGB")
    for box in pen.boxes:
        dots = inked(picture, (box.x + 1, box.y + 1, box.x + box.w - 1, box.y + box.h - 1))
        assert (dots > 60) == (box.key in cardpicture.TICKED), (box.key, dots)
    for line in pen.lines:
        dots = inked(picture, (line.x, line.y + 2, line.x + line.w, line.y + line.h))
        assert (dots > 60) == (line.key in cardpicture.WRITTEN), (line.key, dots)


def test_what_does_not_fit_its_line_is_an_error(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Else the picture would prove nothing."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm is not installed (Debian: poppler-utils)")
    monkeypatch.setattr(cardpicture, "WRITTEN", {"stop.8.mark": "thirty and a half"})
    with pytest.raises(ValueError, match=r"'thirty and a half' is \d+ mm wide, stop.8.mark has 1\d mm"):
        cardpicture.filled(tmp_path / "card.png")


def test_the_picture_in_the_documents_is_small() -> None:
    """A page of documents should open at once."""
    assert (DOCS / "card.png").read_bytes().startswith(b"\x89PNG")
    assert (DOCS / "card.png").stat().st_size < LARGEST
