"""Text is kept as it is typed, or refused; nothing in it is silently dropped."""

from __future__ import annotations

import unicodedata
from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.text import LONGEST, LONGEST_NAME, check_text, shown, words
from compliance.records.problem import Problem


@given(st.text(max_size=200))
def test_a_text_is_kept_in_one_form_or_refused(text: str) -> None:
    """Apart from NFC and line ends nothing changes; what is refused says which character."""
    found = check_text(text, "here")
    if isinstance(found, Problem):
        assert "cannot be printed" in found.what
    elif found:
        assert found == unicodedata.normalize("NFC", text.replace("\r\n", "\n"))
        assert check_text(found, "here") == found
    else:
        assert not text.strip()


@pytest.mark.parametrize("code", [0, 7, 8, 11, 13, 27, 127, 0x85, 0x2028, 0x202E, 0x2066, 0xD800])
def test_what_no_page_prints_as_it_was_written_is_refused(code: int) -> None:
    """Control characters, lone surrogates, and marks that turn the direction of writing."""
    found = check_text(f"a{chr(code)}b", "here")
    assert isinstance(found, Problem)
    assert f"(U+{code:04X}) after 1 others" in found.what


def test_a_remark_may_have_lines_and_tabs_and_a_name_may_not() -> None:
    """Windows line ends become one newline."""
    assert check_text("one\r\ntwo\tthree", "") == "one\ntwo\tthree"
    assert isinstance(check_text("one\ntwo", "", name=True), Problem)
    assert isinstance(check_text("one\ttwo", "", name=True), Problem)
    assert check_text("  Big Blue ", "", name=True) == "Big Blue"


def test_length_is_capped_for_a_text_and_for_a_name() -> None:
    """The last one that is kept, and the first that is not."""
    assert check_text("x" * LONGEST, "") == "x" * LONGEST
    assert isinstance(check_text("x" * (LONGEST + 1), ""), Problem)
    assert check_text("x" * LONGEST_NAME, "", name=True) == "x" * LONGEST_NAME
    assert isinstance(check_text("x" * (LONGEST_NAME + 1), "", name=True), Problem)


@pytest.mark.parametrize(
    ("raw", "text"),
    [("a", "a"), (48213, "48213"), (date(2026, 9, 14), "2026-09-14"), (True, None), (None, None), ([1], None),
     (10**30, None)],
)  # fmt: skip
def test_a_whole_number_or_date_of_a_file_is_read_as_its_text(raw: Any, text: str | None) -> None:
    """A ticket number without quotes is still a text; yes and no are not."""
    assert words(raw) == text


def test_what_came_in_is_shown_short() -> None:
    """An error never prints a page of the user's own text."""
    assert shown("x" * 100) == f"'{'x' * 57}...'"
    assert shown([1]) == "a list"
    assert shown({}) == "a table of keys"
    assert shown(False) == "false without quotes"
    assert shown(10**30) == "a number of more than 19 digits"
