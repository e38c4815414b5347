"""The commands of `python -m compliance.devtools` do what they say, on small things."""

from __future__ import annotations

import re
import shutil
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

from compliance.devtools import bench, commandpage, console, fieldpage, growth, markdown, outside, pictures, samples
from compliance.devtools.__main__ import devtools
from compliance.devtools.here import DOCS
from compliance.intake import seeded_book
from compliance.records.fields import Field
from compliance.records.problem import ComplianceError
from compliance.water.volume import Unknown, exact

PNG = b"\x89PNG\r\n\x1a\n"
LARGEST_PICTURE = 200_000


@pytest.fixture
def quick_demo(made: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """The demo of the session in place of a new one each time."""
    monkeypatch.setattr(console, "demo", lambda to: Path(shutil.copytree(made, to)))


@pytest.mark.usefixtures("quick_demo")
def test_console_shows_what_differs_and_takes_it_over_when_asked(tmp_path: Path) -> None:
    """Exit 1 while a document is wrong; --write mends it; exit 0 then."""
    file = tmp_path / "page.md"
    file.write_text("# Page\n\n```console\n$ washwater list pages --from 2099-01-01\nnothing\n```\n", encoding="utf-8")
    runner = CliRunner()
    wrong = runner.invoke(devtools, ["console", str(file)])
    assert wrong.exit_code == 1
    assert "--- says\nnothing\n--- came back\nNo pages there.\n" in wrong.output
    assert runner.invoke(devtools, ["console", str(file), "--write"]).exit_code == 0
    assert "$ washwater list pages --from 2099-01-01\nNo pages there.\n```" in file.read_text(encoding="utf-8")
    assert runner.invoke(devtools, ["console", str(file)]).exit_code == 0


@pytest.mark.usefixtures("quick_demo")
def test_console_takes_all_documents_where_none_is_named(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    """A count that stands in three documents is mended in all; one that asks otherwise is named and left alone."""
    listed = "```console\n$ washwater list pages --from 2099-01-01\n{}\n```\n"
    asked = "```console\n$ washwater init other\nBusiness title: Bluebank\n```\n"
    texts = [listed.format("nothing"), listed.format("No pages there."), asked]
    files = [tmp_path / f"{i}.md" for i in range(len(texts))]
    for file, text in zip(files, texts, strict=True):
        file.write_text(text, encoding="utf-8")
    monkeypatch.setattr(console, "documents", lambda: files)
    with pytest.raises(SystemExit) as stopped:
        devtools(["console", "--write"])
    said = capsys.readouterr()
    assert stopped.value.code == 1 and said.out == f"wrote {files[0]}\n"
    assert said.err.startswith(f"{files[2]}: `washwater init other` asks otherwise")
    assert "Business title: Bluebank\n--- asks\nBusiness name:" in said.err
    assert [file.read_text(encoding="utf-8") for file in files] == [texts[1], texts[1], asked]


def test_a_demo_that_fails_is_no_demo(tmp_path: Path) -> None:
    """What it said is told."""
    (tmp_path / "demo").mkdir()
    (tmp_path / "demo" / "something").touch()
    with pytest.raises(RuntimeError, match="is not empty"):
        console.demo(tmp_path / "demo")


@pytest.mark.usefixtures("quick_demo")
def test_the_picture_of_a_proof_is_a_small_png(tmp_path: Path) -> None:
    """The first sheet only, as the README shows it."""
    if shutil.which("pdftoppm") is None:
        pytest.skip("pdftoppm is not installed (Debian: poppler-utils)")
    out = tmp_path / "proof.png"
    found = CliRunner().invoke(devtools, ["picture", str(out)])
    assert found.exit_code == 0, found.output
    assert out.read_bytes().startswith(PNG)
    assert 20_000 < out.stat().st_size < LARGEST_PICTURE
    assert [file.name for file in tmp_path.iterdir() if file.suffix == ".png"] == ["proof.png"]


def test_the_picture_in_the_readme_is_small() -> None:
    """A page of documents should open at once."""
    assert (DOCS / "proof.png").read_bytes().startswith(PNG)
    assert (DOCS / "proof.png").stat().st_size < LARGEST_PICTURE


def test_the_balance_is_drawn_to_scale() -> None:
    """The pieces of each bar are as tall together as what was used, and each carries its figure."""
    svg = pictures.balance()
    tall = [(int(x), float(h)) for x, h in re.findall(r'<rect x="(\d+)" y="[\d.]+" width="100" height="([\d.]+)"', svg)]
    for x in {x for x, _ in tall}:
        assert sum(h for at, h in tall if at == x) == pytest.approx(330, abs=0.2)
    for text in ("437.0 ± 7.6", "378.6 ± 6.0", "372.0 ± 8.6", "58.4 ± 9.7", "0 to 150 gal"):
        assert text in svg


@pytest.mark.parametrize("figure", [Unknown("not looked at", "not read"), exact(Decimal(-3))])
def test_what_is_no_length_is_not_drawn(figure: object) -> None:
    """Neither an unknown nor a negative figure becomes a bar."""
    with pytest.raises(ValueError, match="no figure that can be drawn"):
        pictures._number(pictures.Piece("used", figure, "known"))  # type: ignore[arg-type]


def test_the_benchmark_measures_every_row_and_holds_it_against_its_goal(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """At the smallest size that has a month; figures are positive, and met or missed by their own number."""
    profile = bench.Profile()
    rows = list(bench.measure(40, turns=1, profile=profile))
    assert [row.what.split(" ")[0] for row in rows] == [
        "washwater", "hand", "200", "check", "check", "month", "memory", "proof", "verify",
        "find", "the", "pack",
    ]  # fmt: skip
    found, with_words, pack = (row.detail for row in rows[-3:])
    assert int(found.rpartition(": ")[2]) >= 1 and int(with_words.rpartition(": ")[2]) >= 1
    assert int(pack.split(" ")[0]) > 10
    for row in rows:
        assert row.value > 0 and row.goal > 0
        assert row.met == (row.value <= row.goal if row.at_most else row.value >= row.goal)
    assert list(profile.by_size[40]) == list(growth.STEPS) and all(spent >= 0 for spent in profile.by_size[40].values())
    assert len(profile.commands[40]) == 8 and all(spent > 0 for spent in profile.commands[40].values())
    assert {"rules", "water", "records", "other"} <= set(profile.imports)

    def measured(stops: int, turns: int, profile: bench.Profile) -> Iterator[bench.Row]:
        profile.books[stops] = "15 records"
        profile.by_size[stops] = dict.fromkeys(growth.STEPS, 0.5)
        profile.commands[stops] = {"print a card": 0.25}
        profile.imports = {"rules": 21.0}
        return iter(rows)

    monkeypatch.setattr(bench, "measure", measured)
    shutil.copytree(DOCS, tmp_path / "docs")
    monkeypatch.setattr("compliance.devtools.here.DOCS", tmp_path / "docs")
    said = CliRunner().invoke(devtools, ["bench", "--stops", "40", "--turns", "1", "--write"])
    assert said.exit_code == 0, said.output
    written = (tmp_path / "docs" / "performance.md").read_text(encoding="utf-8")
    assert written.rstrip() == said.output.rstrip()
    assert written.count("| met |") + written.count("| missed |") == len(rows)
    assert "| judge by all rules | 0.500 |" in written and "| print a card | 0.250 |" in written
    assert "<svg xmlns=" in (tmp_path / "docs" / "performance.svg").read_text(encoding="utf-8")
    assert CliRunner().invoke(devtools, ["bench", "--stops", "40", "--turns", "1"]).exit_code == 0


def test_the_steps_of_a_large_book_are_timed_in_a_process_of_their_own(tmp_path: Path) -> None:
    """The same steps, each with its seconds."""
    seeded_book.make(tmp_path / "book", 40)
    assert list(growth.steps_apart(tmp_path / "book", "2001-01")) == list(growth.STEPS)


def test_a_command_or_an_option_that_says_nothing_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    """By its name; one that is not there at all is an error."""

    @click.command("mute", help="")
    @click.option("--silent", is_flag=True)
    def mute() -> None:
        pass

    monkeypatch.setattr(commandpage, "COMMANDS", {"mute": ("nowhere", "A line.")})
    monkeypatch.setattr(commandpage, "command_named", lambda name: mute)
    assert list(commandpage.undocumented()) == ["mute", "mute --silent"]
    monkeypatch.undo()
    with pytest.raises(KeyError, match="nonsense"):
        commandpage.command_named("nonsense")


def test_a_test_that_is_not_there_is_an_error(monkeypatch: pytest.MonkeyPatch) -> None:
    """A row cannot name a test or a file that does not exist."""
    gone = ("tests/water/test_film.py::test_gone", "tests/gone.py::test_gone")
    monkeypatch.setattr(outside, "sections", lambda: [("1", "Units", (outside.Row("v", "s", "read", gone),))])
    assert list(outside.missing()) == list(gone)
    with pytest.raises(ValueError, match="no such test"):
        outside.page()


def test_nothing_in_a_cell_ends_it_and_nothing_in_a_block_ends_it() -> None:
    """Strokes, line breaks and fences of the text itself."""
    assert markdown.table(("a", "b"), [("x | y", "two\nlines")]).splitlines()[-1] == "| x \\| y | two lines |"
    assert markdown.block("```\nx\n```", "text") == "````text\n```\nx\n```\n````\n"
    assert markdown.code("") == ""


def test_the_note_of_a_field_holds_its_help_and_the_words_of_the_card() -> None:
    """Each where there is one."""
    row = Field("a", "A", "A", help="how", said="lo hice")
    assert fieldpage._note(row) == "how; (card: lo hice)"
    assert fieldpage._note(Field("a", "A", "A")) == ""


def test_a_sample_that_is_refused_says_why(tmp_path: Path) -> None:
    """A file that is no TOML, and one that the validator refuses."""
    (tmp_path / "registers.toml").write_text("[business]\nname = 'B'\nunit = 'gal'\nzone = 'America/Denver'\n")
    case = tmp_path / "case"
    case.mkdir()
    (case / "1-run.toml").write_text("rig = ")
    with pytest.raises(ComplianceError, match="not TOML"):
        samples.state_of(case)
    (case / "1-run.toml").write_text("rig = 'R'\n")
    with pytest.raises(ComplianceError, match="lead"):
        samples.state_of(case)
    (case / "1-run.toml").unlink()
    assert samples.state_of(case).runs == ()
