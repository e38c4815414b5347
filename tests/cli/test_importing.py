"""washwater import: the preview, the mapping, the commit, for people and for programs."""

from __future__ import annotations

import io
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from typing import Any

import openpyxl
import pytest

from compliance.cli.importing import _LONGEST
from tests.cli.conftest import Desk

MAPPING = "--save-mapping FILE.toml writes one to be edited, --mapping FILE.toml reads it"
BOOKS = Path(__file__).parent.parent / "oldbooks"


def size(book: Desk) -> int:
    count = book("verify", "--json").json["records"]
    assert isinstance(count, int)
    return count


def old_rows(book: Desk) -> list[dict[str, object]]:
    """What the book holds of old files."""
    from compliance.book.store import Book

    with Book.open(book.folder) as opened:
        return [dict(record.payload) for record in opened.records(kind="old row")]


def test_a_preview_writes_nothing_and_says_so(book: Desk) -> None:
    """Columns, habits, totals, an example, the counts."""
    before = size(book)
    said = book("import", BOOKS / "01-truck-log-2019.csv")
    assert (said.code, said.err) == (0, "")
    assert "D       Gal Used       used (gal)" in said.out and "H       Fuel           - not used" in said.out
    assert "dates are read month first, as '1/14/2019' in row 7 can only be" in said.out
    assert "total in row 15, used: says 4,915.5 gal, as rows 5 to 14 do" in said.out
    assert "row 5, new\n    1/7/2019 | Tom Adlow | Alder Foods | 412 | 380" in said.out
    assert "    read as date 2019-01-07; lead Tom Adlow; client Alder Foods; used 412 gal" in said.out
    assert "row 6, new" not in said.out
    assert "rows of work: 8 new, 0 duplicate, 0 refused, 0 questioned\n" in said.out
    assert "left aside: title 2, headings 2, total 1, blank 2\n" in said.out
    assert said.out.endswith("Nothing was written; --commit writes the new rows.\n")
    assert size(book) == before


def test_every_row_is_listed_when_asked(book: Desk) -> None:
    """With what it is read as, or what it is instead of work."""
    said = book("import", "--all", BOOKS / "01-truck-log-2019.csv")
    assert said.out.count(", new\n") == 8
    assert "row 10, headings: headings\n" in said.out
    assert "row 1, title: above the headings\n" in said.out
    assert "row 15, total: a total; it agrees with the rows above\n" in said.out


def test_rows_that_are_not_new_are_listed_with_reason_and_text(book: Desk) -> None:
    """And the questions, once for the file, with what to write."""
    said = book("import", BOOKS / "12-torn.xlsx")
    assert "row 12 of sheet 'Log 2018', refused: used: -20 is below zero\n    25/09/2018 | Big Blue" in said.out
    assert "row 6 of sheet 'Log 2018', questioned: used: '450+300' is no figure\n" in said.out
    assert "Questions for the file as a whole, which the mapping answers, above its first line in brackets:" in said.out
    assert '     write: turned_dates = "yes"\n     or: turned_dates = "no"\n' in said.out
    assert "\u202e" not in said.out and "<U+202E>" in said.out
    assert max(len(line) for line in said.out.splitlines() if line.startswith("    28/09")) == _LONGEST + 4
    assert said.out.endswith(
        f"Not written: 5 questioned rows; answer the questions in a mapping: {MAPPING}.\n"
        "Not written: 6 refused rows; mend the file.\n"
    )


def test_a_mapping_is_saved_edited_and_used_again(book: Desk, tmp_path: Path) -> None:
    """Its questions stand in it as comments; an answer in their place settles them."""
    file, to = BOOKS / "09-two-readings.csv", tmp_path / "map.toml"
    said = book("import", file, "--save-mapping", to)
    assert said.err == f"The mapping is in {to}.\n"
    text = to.read_text(encoding="utf-8")
    assert '#   dates = "month first"\n#   dates = "day first"\n' in text
    answered = text.replace('#   dates = "day first"', 'dates = "day first"')
    to.write_text(answered.replace('#   decimal = "point"', 'decimal = "point"'), encoding="utf-8")
    said = book("import", file, "--mapping", to, "--save-mapping", to, "--json")
    assert said.json["counts"] == {"new": 4, "duplicate": 0, "refused": 0, "questioned": 0}
    assert 'decimal = "point"  # the mark before decimals' in to.read_text(encoding="utf-8")
    taken = book("import", file, "--save-mapping", to)
    assert taken.code == 2 and "there is a file 'map.toml' already" in taken.err


def test_commit_writes_what_is_new_and_the_same_again_changes_nothing(book: Desk) -> None:
    """One transaction; the file is kept by its hash."""
    before = size(book)
    said = book("import", BOOKS / "06-foreman-notes.csv", "--commit", "--who", "Ruth Okafor")
    assert said.code == 0
    assert "4 rows were written, as stated in 06-foreman-notes.csv; the file itself is kept.\n" in said.out
    assert f"Not written: 2 questioned rows; answer the questions in a mapping: {MAPPING}.\n" in said.out
    assert size(book) == before + 4
    rows = old_rows(book)
    assert {row["who"] for row in rows} == {"Ruth Okafor"}
    assert (book.folder / "files" / str(rows[0]["sha256"])).read_bytes() == (
        BOOKS / "06-foreman-notes.csv"
    ).read_bytes()
    again = book("import", BOOKS / "06-foreman-notes.csv", "--commit")
    assert "rows of work: 0 new, 4 duplicate, 0 refused, 2 questioned" in again.out
    assert "There was nothing new to write." in again.out
    assert size(book) == before + 4
    mapped = book("import", BOOKS / "06-foreman-notes.csv", "--mapping", BOOKS / "06.mapping.toml", "--commit")
    assert "2 rows were written" in mapped.out and size(book) == before + 6


def test_verify_looks_at_the_old_book_and_at_how_it_was_read(book: Desk) -> None:
    """Both are kept; without the mapping nobody could read the rows off the file again."""
    book("import", BOOKS / "01-truck-log-2019.csv", "--commit")
    row = old_rows(book)[0]
    before = book("verify", "--json").json["files"]
    for kept in (row["sha256"], row["mapping"]):
        path = book.folder / "files" / str(kept)
        held = path.read_bytes()
        path.unlink()
        told = book("verify")
        assert told.code == 3 and str(kept) in told.out + told.err, kept
        path.write_bytes(held)
    assert book("verify").code == 0 and before == len(list((book.folder / "files").iterdir()))


def test_an_overlapping_book_brings_only_what_is_new(book: Desk) -> None:
    """Book 10 repeats two rows of book 01, and one of its own; its nights of the fortnight to come are refused."""
    book("import", BOOKS / "01-truck-log-2019.csv", "--commit")
    said = book("import", BOOKS / "10-doubles.csv", "--json")
    assert said.json["counts"] == {"new": 1, "duplicate": 3, "refused": 2, "questioned": 0}
    assert said.json["rows"][1]["why"] == ["row 5 of 01-truck-log-2019.csv, imported before, says the same"]


def test_old_rows_change_no_balance_and_no_finding(book: Desk) -> None:
    """They are no nights: what is checked, listed and balanced is the same before and after."""
    book.case("01")
    before = [book(*args).json for args in (("check", "--json"), ("list", "--json"), ("list", "loads", "--json"))]
    for name in ("01-truck-log-2019.csv", "03-years.xlsx", "05-tank-inches.xlsx"):
        assert book("import", BOOKS / name, "--commit").code == 0
    after = [book(*args).json for args in (("check", "--json"), ("list", "--json"), ("list", "loads", "--json"))]
    assert after == before
    assert len(old_rows(book)) == 22
    assert book("verify", "--deep").code == 0


def test_the_answer_in_json_holds_every_row(book: Desk) -> None:
    """With its fields, its reason and its own text; sheets, totals and questions beside."""
    answer = book("import", BOOKS / "04-clients.xlsx", "--mapping", BOOKS / "04.mapping.toml", "--json").json
    assert answer["written"] is None and answer["mapping"] is None
    assert answer["sheets"][0]["heading_rows"] == [1, 2]
    assert answer["sheets"][0]["columns"]["meter_start"] == "Meter / Start"
    turned = next(row for row in answer["rows"] if row["sheet"] == "Alder Foods" and row["row"] == 5)
    assert (turned["state"], turned["meter_difference"]) == ("new", "-99555")
    assert "goes from 99741 back to 186" in turned["why"][0]
    totals = book("import", BOOKS / "02-bitacora-2022.csv", "--json").json["totals"]
    assert [(one["says"], one["adds_up"], one["agrees"]) for one in totals] == [
        ("3791", "3791.0", True), ("3389", "3289", False),
    ]  # fmt: skip
    asked = book("import", BOOKS / "09-two-readings.csv", "--json").json["questions"]
    assert [(one["key"], one["rows"]) for one in asked] == [("dates", 3), ("decimal", 3)]
    assert asked[1]["answers"] == ['decimal = "point"', 'decimal = "comma"'] and asked[1]["under"] == {}
    done = book("import", BOOKS / "04-clients.xlsx", "--mapping", BOOKS / "04.mapping.toml", "--json", "--commit").json
    assert done["written"] == 8 and len(done["mapping"]) == 64


def test_sheets_may_be_chosen(book: Desk) -> None:
    """One by one; sheets with the same columns are told in short."""
    said = book("import", BOOKS / "03-years.xlsx", "--sheet", "2019", "--sheet", "2021")
    assert "sheet '2019': headings in row 3\n" in said.out
    assert "sheet '2021': headings in row 1, columns as above\n" in said.out
    assert "2020" not in said.out
    wrong = book("import", BOOKS / "03-years.xlsx", "--sheet", "2018")
    assert wrong.code == 2 and "there is no sheet '2018'" in wrong.err


def test_a_book_without_headings_is_read_by_letters(book: Desk) -> None:
    """The preview says that there are none."""
    said = book("import", BOOKS / "11-no-headings.csv", "--mapping", BOOKS / "11.mapping.toml")
    assert said.out.startswith("no headings\ncolumn  heading  read as\n")
    assert "E                recovered" in said.out


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (("nothing.csv",), "the file cannot be read"),
        (("{01}", "--mapping", "nothing.toml"), "the file cannot be read"),
        (("{01}", "--mapping", "{01}"), "the mapping is not TOML"),
        (("{01}", "--mapping", "{bad}"), "'dats' is nothing that a mapping says"),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_told_and_nothing_is_written(
    book: Desk, tmp_path: Path, args: tuple[str, ...], says: str
) -> None:
    """Exit code 2, with the three parts of every message."""
    bad = tmp_path / "bad.toml"
    bad.write_text('dats = "day first"\nyears = 2021\n')
    named = [arg.replace("{01}", str(BOOKS / "01-truck-log-2019.csv")).replace("{bad}", str(bad)) for arg in args]
    before = size(book)
    said = book("import", *named, "--commit")
    assert (said.code, said.out) == (2, "")
    assert says in said.err and "  do this: " in said.err
    assert size(book) == before


def test_a_file_whose_name_a_terminal_would_obey_is_named_plainly(book: Desk, tmp_path: Path) -> None:
    """In the listing and in the record."""
    file = tmp_path / "old\x1b[31m.csv"
    file.write_text("Date,Used\n2021-09-03,450\n")
    said = book("import", file, "--commit")
    assert said.code == 0 and "\x1b" not in said.out
    assert old_rows(book)[0]["file"] == "old<U+001B>[31m.csv"


_CHILD = """
import sys, time
from compliance.cli.main import main
code = main(["--book", sys.argv[1], "import", *sys.argv[2:]])
print(code, time.process_time(), file=sys.stderr)
"""


def test_twenty_thousand_rows_are_looked_at_in_less_than_ten_seconds(book: Desk, tmp_path: Path) -> None:
    """In a process of its own, from the start of the interpreter; seconds of work, since the machine may be busy."""
    made = openpyxl.Workbook()
    sheet = made.active
    assert sheet is not None
    heads = "Date,Rig,Crew lead,Client,Site,Job,Used (gal),Recovered (gal),Meter start,Meter end,Tank start (in),"
    sheet.append([*heads.split(",")[:-1], "Tank end (in)", "Dumped at", "Ticket", "Accepted", "Remarks"])
    for n in range(19_999):
        sheet.append([
            f"{2000 + n // 1000}-{n % 12 + 1:02}-{n % 28 + 1:02}", f"Rig {n % 3}", f"Lead {n % 9}", f"Client {n % 40}",
            f"Site {n % 200}", f"J-{n:06}", 400 + n % 90, 380 + n % 80, 400 * n, 400 * n + 390, 0, n % 30 + 0.5,
            f"Place {n % 7}", f"T{n:07}", 370 + n % 80, f"remark {n}",
        ])  # fmt: skip
    made.save(tmp_path / "large.xlsx")
    done = subprocess.run(
        [sys.executable, "-c", _CHILD, str(book.folder), str(tmp_path / "large.xlsx")],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    code, seconds = done.stderr.split()
    assert code == "0" and float(seconds) < 10
    assert "rows of work: 19,999 new, 0 duplicate, 0 refused, 0 questioned" in done.stdout


def test_what_was_read_wrongly_is_taken_back_and_comes_in_again(book: Desk) -> None:
    """Cancelled by the reason, all rows of the file; nothing is erased."""
    file = BOOKS / "03-years.xlsx"
    book("import", file, "--commit")
    before = size(book)
    said = book("import", file, "--take-back", "the figures were litres", "--who", "Ruth Okafor", "--sheet", "2019")
    assert said.out == "4 rows were taken back; the book still says what they said, and why.\n"
    assert size(book) == before + 4 and len(old_rows(book)) == 10
    assert book("import", file, "--json").json["counts"] == {"new": 4, "duplicate": 6, "refused": 0, "questioned": 0}
    said = book("import", file, "--take-back", "the figures were litres", "--who", "Ruth Okafor", "--json")
    assert said.json["taken_back"] == 6
    again = book("import", file, "--take-back", "twice", "--who", "Ruth Okafor")
    assert again.out == "Nothing of this file is in the book; nothing was changed.\n"


def test_the_spreadsheet_of_rows_that_were_taken_back_is_still_looked_after(book: Desk) -> None:
    """The rows say what they said, and the file that they came from is kept and looked at as long."""
    file = BOOKS / "03-years.xlsx"
    book("import", file, "--commit")
    book("import", file, "--take-back", "the figures were litres", "--who", "Ruth Okafor")
    kept = sorted((book.folder / "files").iterdir())
    assert book("verify", "--deep", "--json").json["files"] == len(kept) > 0
    for one in kept:
        one.unlink()
    said = book("verify", "--deep", "--json")
    assert said.code == 3 and len(said.json["damage"]) == len(kept)


def test_taking_back_needs_a_reason_and_a_name(book: Desk) -> None:
    """As every cancellation does; nothing is written without."""
    book("import", BOOKS / "03-years.xlsx", "--commit")
    before = size(book)
    said = book("import", BOOKS / "03-years.xlsx", "--take-back", " ")
    assert said.code == 2
    assert "it is not said why" in said.err and "it is not said who says so" in said.err
    assert book("import", BOOKS / "03-years.xlsx", "--take-back", "bad \x07", "--who", "R").code == 2
    assert size(book) == before


def test_a_heading_that_is_not_known_leads_to_a_mapping(book: Desk, tmp_path: Path) -> None:
    """'Gallons' says not of what: the column is left aside, and how it can be named is said once."""
    old = tmp_path / "old.csv"
    heads = "Fecha,Cliente,Galones usados,D\u00f3nde se tir\u00f3,Boleto,Gallons"
    old.write_text(f"{heads}\n2025-03-01,A,300,Station,R-1,280\n")
    said = book("import", old)
    assert "D       D\u00f3nde se tir\u00f3   destination" in said.out
    assert "E       Boleto          ticket" in said.out
    assert "F       Gallons         - not used\n" in said.out
    assert said.out.count(f"A column that is not used can be named in a mapping: {MAPPING}.\n") == 1
    old.write_text("Fecha,Cliente,Galones usados\n2025-03-01,A,300\n")
    assert "can be named in a mapping" not in book("import", old).out


# ---- long files --------------------------------------------------------------------------------------------------


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        return True


def long_file(folder: Path, rows: int) -> Path:
    """A plain log of that many nights' work."""
    lines = [f"2019-{1 + n % 12:02}-{1 + n // 12 % 28:02},Big Blue,Client {n},{n},{n}\n" for n in range(rows)]
    file = folder / "long.csv"
    file.write_text("Date,Rig,Client,Used,Recovered\n" + "".join(lines), encoding="utf-8")
    return file


def test_a_long_import_says_how_far_it_is_on_a_terminal_alone(
    book: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Reading, understanding, writing; the answer itself has nothing of it."""
    monkeypatch.setattr("compliance.cli.progress.PATIENCE", -1.0)
    monkeypatch.setattr("compliance.cli.progress._OFTEN", 0.0)
    monkeypatch.setenv("TERM", "xterm")
    file = long_file(tmp_path, 300)
    assert book("import", file).err == ""
    stream = Terminal()
    monkeypatch.setattr("compliance.cli.progress.sys.stderr", stream)
    said = book("import", file, "--commit", "--who", "R")
    for words in (
        "reading records, 1 of", "reading rows of the file, 200", "understanding rows, 200 of 300",
        "looking for what is in the book already", "writing 300 rows, all or none",
    ):  # fmt: skip
        assert words in stream.getvalue()
    assert stream.getvalue().endswith("\r") and "\n" not in stream.getvalue()
    assert "understanding" not in said.out and "300 rows were written" in said.out


def test_a_listing_that_is_cut_short_still_says_what_was_written(book: Desk, monkeypatch: pytest.MonkeyPatch) -> None:
    """The rows are in the book by then; 'Stopped' alone would let somebody think that they are not."""

    def stopped(_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("compliance.cli.importing._say_line", stopped)
    said = book("import", BOOKS / "09-two-readings.csv", "--mapping", BOOKS / "09.mapping.toml", "--commit")
    assert said.code == 2 and "rows were written, as stated in 09-two-readings.csv" in said.out
    assert said.err.endswith("Stopped. Nothing more was handed in or issued.\n")


def test_an_import_that_is_interrupted_while_it_writes_leaves_no_row(
    book: Desk, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In the middle of the rows; it can be done again, and then all of them are there."""
    from compliance.book.store import Book

    file, before = long_file(tmp_path, 50), size(book)
    insert = Book._insert

    def interrupted(self: Book, seq: int, *given: Any) -> None:
        insert(self, seq, *given)
        if seq == before + 25:
            raise KeyboardInterrupt

    with monkeypatch.context() as patch:
        patch.setattr(Book, "_insert", interrupted)
        said = book("import", file, "--commit", "--who", "R")
    assert (said.code, said.out, said.err.strip()) == (2, "", "Stopped. Nothing more was handed in or issued.")
    assert size(book) == before and old_rows(book) == []
    assert "50 rows were written" in book("import", file, "--commit", "--who", "R").out
    assert len(old_rows(book)) == 50 and book("verify").code == 0


@pytest.mark.parametrize("after", [0.8, 1.4])
def test_control_c_at_any_moment_leaves_all_rows_or_none(book: Desk, tmp_path: Path, after: float) -> None:
    """By a signal to the program itself, whatever it is doing then."""
    file, before, rows = long_file(tmp_path, 3000), size(book), 3000
    command = [sys.executable, "-c", "from compliance.cli.main import run; run()", "--book", str(book.folder)]
    running = subprocess.Popen(
        [*command, "import", str(file), "--commit", "--who", "R"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        env={**os.environ, "TERM": "xterm"},
    )
    time.sleep(after)
    running.send_signal(signal.SIGINT)
    running.communicate(timeout=60)
    written = size(book) - before
    assert written in (0, rows) and len(old_rows(book)) == written
    assert (running.returncode == 0) <= (written == rows)
    assert book("verify").code == 0
