"""The bundled typeface: each character has its glyph, and breaking lines loses nothing."""

from __future__ import annotations

import re
from importlib import resources

import pytest
from hypothesis import given
from hypothesis import strategies as st
from reportlab.pdfbase import pdfmetrics

from compliance.reports import fonts
from compliance.reports.text import COVERED

BLANK = {0x20, 0xA0, *range(0x2000, 0x200B), 0x202F, 0x205F}


@pytest.mark.parametrize("name", [fonts.REGULAR, fonts.BOLD])
def test_the_files_hold_a_drawn_glyph_for_each_character_that_the_pages_print(name):
    """The list of characters and the font files agree exactly, and only blanks have an empty outline."""
    fonts.register()
    face = pdfmetrics.getFont(name).face
    covered = {code for a, b in COVERED for code in range(a, b + 1)}
    assert set(face.charToGlyph) - {0xFFFF} == covered  # FFFF closes a font's own table
    empty = {c for c in covered if face.glyphPos[face.charToGlyph[c]] == face.glyphPos[face.charToGlyph[c] + 1]}
    assert empty <= BLANK
    assert face.charToGlyph[ord("A")] != 0


def test_the_licence_travels_with_the_files():
    """Both grants that the font files name are beside them in full."""
    licence = (resources.files("compliance.reports") / "fonts" / "LICENSE.txt").read_text("utf-8")
    assert "Bitstream Vera Fonts Copyright" in licence
    assert "Arev Fonts Copyright" in licence


@given(st.text(alphabet="abcWi .-中\n", max_size=120), st.floats(4, 200))
def test_breaking_lines_loses_nothing_but_blanks_at_breaks(text, room):
    """All letters stay in order, and no line is wider than the room unless it is one character."""
    lines = fonts.wrap(text, room, 8)
    assert re.sub(r"\s", "", "".join(lines)) == re.sub(r"\s", "", text)
    assert all(fonts.width(line, 8) <= room + 0.01 or len(line) == 1 for line in lines)


def test_text_that_fits_is_left_alone():
    """Inner blanks stay, and each newline is a line."""
    assert fonts.wrap("a  b\n\n c", 100, 8) == ["a  b", "", " c"]


def test_shortened_text_says_so():
    """It ends in an ellipsis and reports the cut; text that fits reports none."""
    lines, cut = fonts.shortened("one two three four five six seven", 40, 8, 2)
    assert len(lines) == 2
    assert lines[-1].endswith("…")
    assert cut
    assert fonts.shortened("one", 40, 8, 2) == (["one"], False)
