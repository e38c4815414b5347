"""The questions of init, as far as somebody answers them."""

from __future__ import annotations

from collections.abc import Callable

from tests.cli.conftest import Desk


def test_questions_that_are_stopped_make_no_book_and_say_so(desk: Desk, typed: Callable[[str], None]) -> None:
    """At the end of what is typed as at Ctrl-C; a second try finds the folder free."""
    typed("Gull Street Recovery\ngal\n")
    said = desk("init")
    assert said.code == 2 and not desk.folder.exists()
    assert said.err.endswith(
        "the questions were stopped before the last one; no book was made\n"
        "  where: washwater init\n"
        "  do this: begin again, Enter passes over what is not known yet; or give the answers in a file with --from\n"
    )


def test_a_unit_is_taken_in_any_case_of_letters(desk: Desk, typed: Callable[[str], None]) -> None:
    """And kept as the book writes it."""
    typed("Gull Street Recovery\nl\nAmerica/Denver\n" + "\n" * 20)
    said = desk("init")
    assert said.code == 0, said.err
    assert desk("registers", "business", "--json").json[0]["fields"]["unit"] == "L"
