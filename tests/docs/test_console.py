"""Every console block of README and docs does what it says, against a fresh demo book."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from compliance.devtools.console import (
    AskedOtherwise,
    Terminal,
    Typed,
    agrees,
    blocks,
    differences,
    documents,
    rewritten,
    typed_in,
)

WITH_CONSOLE = documents()


@pytest.mark.parametrize("file", WITH_CONSOLE, ids=lambda file: file.name)
def test_the_console_blocks_of_a_document_run_as_they_stand(file: Path, fresh: Callable[[], Terminal]) -> None:
    """From top to bottom in one folder; `python -m compliance.devtools console FILE` shows what differs."""
    text = file.read_text(encoding="utf-8")
    found = [
        f"$ {typed.command}\n--- says\n{typed.expected}--- came back\n{answer}"
        for typed, answer in differences(text, fresh())
    ]
    assert found == []


def test_the_pages_for_the_owner_hold_commands_that_run() -> None:
    """Else the test above would pass on nothing."""
    named = {file.name for file in WITH_CONSOLE}
    assert {"README.md", "start.md", "findings.md", "balance.md", "files.md", "pages.md"} <= named


def test_an_answer_that_differs_is_found(fresh: Callable[[], Terminal]) -> None:
    """A wrong figure, a missing line, and an exit code."""
    text = "```console\n$ washwater list runs --csv\nnothing\n$ washwater nonsense\n...\n$ echo $?\n0\n$ echo $?\n```\n"
    found = list(differences(text, fresh()))
    assert [typed.command for typed, _ in found] == ["washwater list runs --csv", "echo $?", "echo $?"]
    assert [answer for _, answer in found[1:]] == ["2\n", "2\n"]
    mended = rewritten(text, fresh())
    assert "2026-09-01,2026-09-01-big-blue" in mended and mended.count("$ echo $?\n2\n") == 2
    assert list(differences(mended, fresh())) == []


def test_a_document_that_leaves_lines_out_goes_on_to_do_so(fresh: Callable[[], Terminal]) -> None:
    """What stands before and after the dots is taken over line by line."""
    text = "```console\n$ washwater rules --csv\nid\n...\nlast\n```\n"
    mended = rewritten(text, fresh()).splitlines()
    assert mended[2:4] == ["id,slug,severity,basis,title", "..."] and len(mended) == 6
    assert "," in mended[4]
    few = rewritten("```console\n$ washwater list pages --from 2099-01-01\n1\n...\n3\n```\n", fresh())
    assert few.splitlines()[2:4] == ["No pages there.", "```"]


def test_ids_clocks_and_seconds_may_differ_and_nothing_else() -> None:
    """Figures, names and the order of lines are compared."""
    says = "run 1a2b3c4d5e6f handed in 21:04:33 (0.3 s)\n450 gal\n"
    assert agrees(says, "run 99aa00bb11cc handed in 07:00:00 (12 s)\n450 gal   \n")
    assert not agrees(says, "run 1a2b3c4d5e6f handed in 21:04:33 (0.3 s)\n451 gal\n")
    assert not agrees("a\nb\n", "b\na\n")
    assert agrees("a\n...\nd\n", "a\nb\nc\nd\n") and agrees("...\n", "a\n") and agrees("", "")
    assert not agrees("a\n...\n", "b\nc\n") and not agrees("", "a\n")


def test_answers_to_questions_are_typed_where_they_stand(fresh: Callable[[], Terminal]) -> None:
    """`init` asks; where the document ends the input ends, and the command is stopped."""
    terminal = fresh()
    says = "Business name: Bluebank\nUnit of volume (US gallon or litre) [gal]:\n"
    answer = terminal.run(Typed("washwater init other", says))
    assert answer.startswith("Business name: Bluebank\nUnit of volume (US gallon or litre) [gal]: \nTime zone")
    assert terminal.code == 2
    assert not (terminal.folder / "other").exists()


def test_a_question_that_the_document_has_otherwise_is_no_answer(fresh: Callable[[], Terminal]) -> None:
    """Half an answer is not taken over, and what the document does next is not done in a book that is not there."""
    text = "```console\n$ washwater init other\nBusiness name: Bluebank\nUnit of weight: kg\n$ cd other\n```\n"
    for run in (lambda: list(differences(text, fresh())), lambda: rewritten(text, fresh())):
        with pytest.raises(AskedOtherwise, match=r"(?s)--- says\nUnit of weight: kg\n--- asks\nUnit of volume \("):
            run()


def test_only_commands_of_these_documents_are_known(fresh: Callable[[], Terminal]) -> None:
    """A document cannot make the tests run anything else."""
    terminal = fresh()
    with pytest.raises(ValueError, match="not a command of these documents"):
        terminal.run(Typed("rm -r book", ""))
    assert terminal.run(Typed("cd book", "")) == ""
    assert "110" not in terminal.run(Typed("washwater list pages --json", "")) and terminal.code == 0


def test_blocks_are_found_with_the_names_they_are_saved_under() -> None:
    """And a console block is cut into its commands."""
    text = "<!-- save as a.toml -->\n```toml\nx = 1\n```\n\n```console\n$ washwater a\n1\n2\n$ washwater b\n```\n"
    saved, console = blocks(text)
    assert (saved.name, saved.kind, saved.body) == ("a.toml", "toml", "x = 1\n")
    assert [(typed.command, typed.expected) for typed in typed_in(console)] == [
        ("washwater a", "1\n2\n"),
        ("washwater b", ""),
    ]
    assert all(text[typed.at :].startswith(typed.expected) for typed in typed_in(console))
