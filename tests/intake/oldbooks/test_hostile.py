"""Files that were made to do harm, or were broken on the way: one clear message, quickly, in little memory."""

from __future__ import annotations

import io
import json
import os
import random
import subprocess
import sys
import time
import zipfile
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from compliance.intake.oldbooks import limits
from compliance.intake.oldbooks.preview import Preview
from compliance.records.problem import Problem
from tests.intake.oldbooks.looking import BOOKS, look, refused_or, states, with_parts, work, workbook

HEADINGS = ("Date", "Rig", "Used (gal)", "Recovered (gal)", "Notes")
ROW = ("2021-09-03", "Big Blue", 450, 430, "ok")
SHEET = "xl/worksheets/sheet1.xml"
XMLNS = b'xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"'
SECONDS, MEGABYTES = 1.0, 150


def plain() -> bytes:
    """A sound workbook with one row of work."""
    return workbook({"Log": [HEADINGS, ROW]})


def sheet(rows: Iterable[bytes], before: bytes = b"", prolog: bytes = b"") -> bytes:
    """The XML of a sheet."""
    return (
        b'<?xml version="1.0"?>' + prolog + b"<worksheet " + XMLNS + b">" + before + b"<sheetData>" + b"".join(rows)
        + b"</sheetData></worksheet>"
    )  # fmt: skip


def noise(n: int) -> bytes:
    """Bytes that do not pack well, so that the ratio alone does not give a file away."""
    return random.Random(7).randbytes(n).hex().encode()


def one_text(text: bytes) -> bytes:
    return b'<row r="1"><c r="A1" t="inlineStr"><is><t>' + text + b"</t></is></c></row>"


BOMB = [b'<row spans="1:1"><c s="0" t="n"><v>12345</v></c></row>'] * 1_000_000
"""A million rows: 55 MB, which pack into less than 200 kB."""


def bomb() -> bytes:
    return with_parts(plain(), {SHEET: sheet(BOMB)})


def many_rows() -> bytes:
    rows = (b'<row r="%d"><c r="A%d"><v>%d</v></c></row>' % (n, n, n * 7919) for n in range(1, 30_001))
    return with_parts(plain(), {SHEET: sheet(rows)})


def formatted_rows() -> bytes:
    """Rows without anything in them, and attributes that do not pack."""
    chance = random.Random(3)
    rows = (b'<row r="%d" ht="%d"/>' % (n, chance.randint(1, 10**9)) for n in range(1, 400_001))
    return with_parts(plain(), {SHEET: sheet(rows)})


def beside(before: bytes, one: bytes, after: bytes, n: int) -> bytes:
    """A sheet with one row of work, and many of one thing that stands behind its cells."""
    with zipfile.ZipFile(io.BytesIO(plain())) as archive:
        xml = archive.read(SHEET)
    many = before + b"".join(one % (2 * k, 2 * k + 1) for k in range(1, n)) + after
    return with_parts(plain(), {SHEET: xml.replace(b"</sheetData>", b"</sheetData>" + many)})


def many_links() -> bytes:
    return beside(b"<hyperlinks>", b'<hyperlink ref="A%d" location="x%d"/>', b"</hyperlinks>", 400_000)


def many_merged() -> bytes:
    return beside(b"<mergeCells>", b'<mergeCell ref="C%d:XFD%d"/>', b"</mergeCells>", 95_000)


def many_named_otherwise() -> bytes:
    """By a prefix, which means the same to a parser."""
    xmlns = XMLNS.replace(b"xmlns=", b"xmlns:m=")
    return beside(b"<m:hyperlinks " + xmlns + b">", b'<m:hyperlink ref="A%d" location="x%d"/>', b"</m:hyperlinks>",
                  400_000)  # fmt: skip


def far_row() -> bytes:
    return with_parts(plain(), {SHEET: sheet([b'<row r="900000000"><c r="A900000000"><v>1</v></c></row>'])})


def wide_row() -> bytes:
    cells = b"".join(b"<c><v>%d</v></c>" % n for n in range(300))
    return with_parts(plain(), {SHEET: sheet([b'<row r="1">' + cells + b"</row>"])})


def far_columns() -> bytes:
    """One formatted cell at the last column of each of many rows."""
    rows = (b'<row r="%d"><c r="A%d"><v>%d</v></c><c r="XFD%d" s="0"/></row>' % (n, n, n, n) for n in range(1, 3000))
    return with_parts(plain(), {SHEET: sheet(rows)})


def entity_bomb() -> bytes:
    declared = b'<!DOCTYPE x [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;">]>'
    return with_parts(plain(), {SHEET: sheet([one_text(b"&b;")], prolog=declared)})


def late_entities() -> bytes:
    """The declaration stands behind a long comment, where a glance at the beginning misses it."""
    declared = b"<!--" + b" " * 8000 + b'--><!DOCTYPE x [<!ENTITY a "ha">]>'
    return with_parts(plain(), {SHEET: sheet([one_text(b"&a;")], prolog=declared)})


def outside_entity() -> bytes:
    declared = b'<!DOCTYPE x [<!ENTITY a SYSTEM "file:///etc/passwd">]>'
    return with_parts(plain(), {"xl/sharedStrings.xml": b'<?xml version="1.0"?>' + declared + b"<sst>&a;</sst>"})


def long_text() -> bytes:
    return with_parts(plain(), {SHEET: sheet([one_text(noise(400_000) + b"a" * 30_000_000)])})


def quoted_text() -> bytes:
    """The text hides its tags, so that it has no end for a parser, and many for a glance."""
    quoted = b"<![CDATA[" + noise(400_000) + b"</t>" * 8_000_000 + b"]]>"
    return with_parts(plain(), {SHEET: sheet([one_text(quoted)])})


def long_comment() -> bytes:
    comment = b"<!--" + noise(400_000) + b"<c>" * 9_000_000 + b"-->"
    return with_parts(plain(), {SHEET: sheet([one_text(b"a")], before=comment)})


def many_texts() -> bytes:
    texts = b"".join(b"<si><t>%d</t></si>" % (n * 7919) for n in range(300_000))
    return with_parts(plain(), {"xl/sharedStrings.xml": b"<sst " + XMLNS + b">" + texts + b"</sst>"})


def large_styles() -> bytes:
    return with_parts(plain(), {"xl/styles.xml": b"<styleSheet " + XMLNS + b">" + noise(2_600_000) + b"</styleSheet>"})


def many_members() -> bytes:
    return with_parts(plain(), {f"xl/media/{n}.png": b"x" for n in range(250)})


def twice() -> bytes:
    held = io.BytesIO(plain())
    with zipfile.ZipFile(held, "a") as archive:
        archive.writestr("XL/workbook.xml", b"<workbook/>")
    return held.getvalue()


def too_much_inside() -> bytes:
    """Nine megabytes that do not pack, and as many zeros as may just not be."""
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", b"x")
        archive.writestr("xl/media/a.bin", noise(1_000_000))
        archive.writestr("xl/media/b.bin", b"\0" * 101_000_000)
    return held.getvalue()


def claims_too_little() -> bytes:
    """The directory says that the sheet has a hundred bytes."""
    data = bytearray(bomb())
    claimed, real = (100).to_bytes(4, "little"), len(sheet(BOMB)).to_bytes(4, "little")
    at = data.rfind(real)
    assert at > 0
    while at >= 0:
        data[at : at + 4] = claimed
        at = data.rfind(real)
    return bytes(data)


def ole(*, locked: bool) -> bytes:
    start = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 2000
    return start + ("EncryptedPackage".encode("utf-16-le") if locked else b"Workbook") + b"\0" * 2000


def word_document() -> bytes:
    held = io.BytesIO()
    with zipfile.ZipFile(held, "w") as archive:
        archive.writestr("[Content_Types].xml", b"x")
        archive.writestr("word/document.xml", b"<x/>")
    return held.getvalue()


def locked_archive() -> bytes:
    """A workbook in an archive with a password: one bit in the directory says so."""
    data = bytearray(plain())
    at = data.find(b"PK\x01\x02")
    data[at + 8] |= 1
    return bytes(data)


HOSTILE: dict[str, tuple[str, Any, str]] = {
    "bomb": ("a.xlsx", bomb, "more than 100 times as much"),
    "too much inside": ("a.xlsx", too_much_inside, "bytes unpacked"),
    "claims too little": ("a.xlsx", claims_too_little, "damaged or no workbook"),
    "many rows": ("a.xlsx", many_rows, "more than 20,000 rows"),
    "formatted rows": ("a.xlsx", formatted_rows, "spread over millions of empty ones"),
    "far row": ("a.xlsx", far_row, "spread over millions of empty ones"),
    "wide row": ("a.xlsx", wide_row, "more than 200 columns"),
    "far columns": ("a.xlsx", far_columns, "spread over millions of empty ones"),
    "entity bomb": ("a.xlsx", entity_bomb, "declares texts of its own"),
    "late entities": ("a.xlsx", late_entities, "damaged or no workbook"),
    "outside entity": ("a.xlsx", outside_entity, "declares texts of its own"),
    "long text": ("a.xlsx", long_text, "one text of more than"),
    "quoted text": ("a.xlsx", quoted_text, "one text of more than"),
    "long comment": ("a.xlsx", long_comment, "one text of more than"),
    "many texts": ("a.xlsx", many_texts, "different texts"),
    "large styles": ("a.xlsx", large_styles, "xl/styles.xml has"),
    "links": ("a.xlsx", many_links, "more than 20,000 links, merged cells"),
    "merged cells": ("a.xlsx", many_merged, "more than 20,000 links, merged cells"),
    "links by a prefix": ("a.xlsx", many_named_otherwise, "more than 20,000 links, merged cells"),
    "many members": ("a.xlsx", many_members, "files are in it"),
    "a part twice": ("a.xlsx", twice, "a part is in it twice"),
    "old binary": ("a.xlsx", lambda: ole(locked=False), "old binary kind"),
    "old binary, named .xls": ("a.xls", lambda: ole(locked=False), "old binary kind"),
    "password": ("a.xlsx", lambda: ole(locked=True), "locked with a password"),
    "password of an archive": ("a.xlsx", locked_archive, "locked with a password"),
    "web page": ("a.xlsx", lambda: b"\n <HTML><table><tr><td>1</td></tr></table>", "a web page"),
    "web page, named .csv": ("a.csv", lambda: b"\xef\xbb\xbf<!DOCTYPE html><p>", "a web page"),
    "markup": ("a.xls", lambda: b'<?xml version="1.0"?><Workbook/>', "page of markup"),
    "a PDF": ("a.xlsx", lambda: b"%PDF-1.4\n", "this is a PDF"),
    "another archive": ("a.csv", lambda: b"\x1f\x8b\x08\0", "this is an archive"),
    "another document": ("a.xlsx", word_document, "an archive, and no workbook"),
    "text, named .xlsx": ("a.xlsx", lambda: b"Date,Used\n2021-09-03,450\n", "called a workbook and is none"),
    "cut short": ("a.xlsx", lambda: plain()[:-40], "damaged or no workbook"),
    "empty": ("a.csv", lambda: b" \n\n", "the file is empty"),
    "zero bytes": ("a.csv", lambda: b"Date,Used\n2021-09-03,4\0 50\n", "zero bytes"),
    "half UTF-16": ("a.csv", lambda: b"\xff\xfea\0b", "goes on as something else"),
    "open quote": ("a.csv", lambda: b'Date,Used,Notes\n2021-09-03,450,"ok\n2021-09-04,440,\n', "quote marks"),
    "quote within": ("a.csv", lambda: b'Date,Used,Notes\n2021-09-03,450,"ok" yes\n', "quote marks"),
    "many lines": ("a.csv", lambda: b"Date,Used\n" + b"2021-09-03,450\n" * 20_001, "more than 20,000 rows"),
    "many fields": ("a.csv", lambda: b"Date,Used\n" + b"1," * 250 + b"1\n", "more than 200 columns"),
    "too large": ("a.csv", lambda: b"Date,Used\n" + b"2021-09-03,450\n" * 700_000, "more than 10 MB"),
}

_CHILD = """
import json, sys, time
from pathlib import Path
from compliance.cli.main import main
code = main(["--book", sys.argv[1], "import", sys.argv[2]])
took = time.process_time()
(peak,) = [line.split()[1] for line in Path("/proc/self/status").read_text().splitlines() if "VmHWM" in line]
print(json.dumps([code, took, int(peak) / 1024]), file=sys.stderr)
"""
"""Runs the command and measures it, from the start of the interpreter: seconds of work, since other programs may keep
the machine busy, and the largest memory. Not by ru_maxrss, which counts the process from which this one was made.
"""


@pytest.fixture(scope="module")
def record_folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A record book on the disk."""
    from compliance.cli.main import main
    from tests.cases import SAMPLES

    folder = tmp_path_factory.mktemp("hostile") / "book"
    assert main(["--book", str(folder), "init", "--from", str(SAMPLES / "registers.toml")]) == 0
    return folder


@pytest.mark.parametrize("case", HOSTILE)
def test_a_hostile_file_is_refused_with_one_message_quickly_and_in_little_memory(
    case: str, record_folder: Path, tmp_path: Path
) -> None:
    """By the command itself, in a process of its own: its time and its memory are those of the whole program."""
    name, make, says = HOSTILE[case]
    file = tmp_path / name
    file.write_bytes(make())
    done = subprocess.run(
        [sys.executable, "-c", _CHILD, str(record_folder), str(file)], capture_output=True, text=True, check=True
    )
    *told, measured = done.stderr.splitlines()
    code, seconds, megabytes = json.loads(measured)
    assert code == 2
    assert done.stdout == ""
    assert says in told[0], told
    assert [line.split(":")[0].strip() for line in told[1:]] == ["where", "do this"]
    assert seconds < SECONDS
    assert megabytes < MEGABYTES


@pytest.mark.parametrize("case", HOSTILE)
def test_a_hostile_file_gives_a_problem_and_no_exception(case: str) -> None:
    """In this process, where every branch is counted; one message with its three parts."""
    name, make, says = HOSTILE[case]
    data = make()
    if case == "too large":
        assert len(data) > limits.FILE
        return
    found = refused_or(data, name)
    assert isinstance(found, Problem)
    assert says in found.what
    assert name in found.where and found.next_step


def test_a_claimed_size_is_not_believed() -> None:
    """A sheet that claims every row there can be holds one; one that claims a single cell holds more."""
    rows: list[list[Any]] = [[*HEADINGS], [*ROW]]
    whole = workbook({"Log": rows})
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        xml = archive.read(SHEET)
    for claim in (b"A1:XFD1048576", b"A1"):
        claimed = xml.replace(b'<dimension ref="A1:E2"', b'<dimension ref="' + claim + b'"')
        assert claimed != xml
        began = time.process_time()
        found = look(with_parts(whole, {SHEET: claimed}), "a.xlsx")
        assert states(found) == ["new"]
        assert time.process_time() - began < SECONDS


def test_a_sheet_with_a_link_in_nearly_every_row_there_may_be_is_taken() -> None:
    """A log may have links and merged cells."""
    linked = beside(b"<hyperlinks>", b'<hyperlink ref="A%d" location="x%d"/>', b"</hyperlinks>", limits.BESIDE - 100)
    assert states(look(linked, "a.xlsx")) == ["new"]


def test_a_lone_cell_in_the_last_row_is_a_row_and_no_million() -> None:
    """The rows between are blank, and passed over."""
    end = b'<row r="1048576"><c r="A1048576" t="inlineStr"><is><t>2021-09-04</t></is></c>' \
          b'<c r="C1048576"><v>7</v></c></row></sheetData>'  # fmt: skip
    with zipfile.ZipFile(io.BytesIO(plain())) as archive:
        xml = archive.read(SHEET).replace(b"</sheetData>", end)
    found = look(with_parts(plain(), {SHEET: xml}), "a.xlsx")
    assert [line.number for line in work(found)] == [2, 1048576]
    assert found.aside["blank"] == 1048576 - 3


def test_cells_that_no_page_can_print_are_refused_with_their_row() -> None:
    """40,000 characters, control characters, marks that turn the direction: in a text file and in a workbook."""
    rows = [
        ("2021-09-03", "x" * 40_000), ("2021-09-04", "bell \x07"), ("2021-09-05", "turned \u202eeman"),
        ("2021-09-06", "isolated \u2067eman"), ("2021-09-07", "fine, with\na second line"),
    ]  # fmt: skip
    text = "Date,Notes,Used\n" + "".join(f'{day},"{note}",450\n' for day, note in rows)
    found = look(text)
    assert states(found) == ["refused"] * 4 + ["new"]
    assert "40,000 characters" in work(found)[0].reasons[0]
    assert "U+0007" in work(found)[1].reasons[0] and "<U+0007>" in work(found)[1].text
    assert "\u202e" not in work(found)[2].text and "\u2067" not in work(found)[3].text
    sheet_ = workbook({"Log": [("Date", "Notes", "Used"), ("2021-09-05", "turned \u202eeman", 450)]})
    assert states(look(sheet_, "a.xlsx")) == ["refused"]


def test_what_is_not_read_may_hold_anything() -> None:
    """A broken cell in a column that is left aside is nobody's business, and is still spelled out when it is shown."""
    found = look("Date,Used,Doodles\n2021-09-03,450,\x07\u202e\n")
    assert states(found) == ["new"]
    assert work(found)[0].text.endswith("<U+0007><U+202E>")


def test_a_heading_or_a_sheet_name_that_turns_the_direction_is_spelled_out() -> None:
    """It goes into mappings and messages."""
    data = workbook({"Log \u202e1202": [("Date", "Used", "Ga\u202es"), ("2021-09-03", 450, 3)]})
    found = look(data, "a.xlsx", said='sheet_names = "nothing"')
    assert found.sheets[0].layout.sheet.name == "Log <U+202E>1202"
    assert "\u202e" not in found.mapping


def test_texts_like_formulas_stay_texts() -> None:
    """In a text file nothing is a formula: in a remark it is kept, as a figure it is asked about."""
    found = look('Date,Used,Notes\n2021-09-03,=4*100,"=HYPERLINK(""a"")"\n2021-09-04,400,@SUM(A1)\n')
    assert states(found) == ["questioned", "new"]
    assert work(found)[0].fields["remarks"] == '=HYPERLINK("a")'


def test_without_the_library_that_refuses_harm_no_workbook_is_opened(monkeypatch: pytest.MonkeyPatch) -> None:
    """openpyxl goes on without it, so we do not."""
    monkeypatch.setattr("openpyxl.DEFUSEDXML", False)
    found = refused_or(plain(), "a.xlsx")
    assert isinstance(found, Problem) and "defusedxml" in found.next_step


def test_a_file_that_is_not_there_or_cannot_be_read_is_told(tmp_path: Path) -> None:
    """With the reason of the system."""
    from compliance.intake.oldbooks.opening import read_bytes

    found = read_bytes(tmp_path / "none.xlsx")
    assert isinstance(found, Problem) and "No such file" in found.what
    assert isinstance(read_bytes(tmp_path), Problem)
    assert isinstance(read_bytes(Path("a\0b")), Problem)


SOUND = sorted(path for path in BOOKS.iterdir() if path.suffix in (".xlsx", ".csv", ".tsv"))


@given(st.sampled_from(SOUND), st.data())
def test_a_damaged_file_is_read_or_refused_and_never_an_exception(path: Path, data: st.DataObject) -> None:
    """Bytes changed, cut out or doubled anywhere."""
    raw = bytearray(path.read_bytes())
    for _ in range(data.draw(st.integers(1, 4))):
        at = data.draw(st.integers(0, len(raw) - 1))
        how = data.draw(st.sampled_from(("change", "cut", "double")))
        if how == "change":
            raw[at] = data.draw(st.integers(0, 255))
        elif how == "cut":
            del raw[at : at + data.draw(st.integers(1, 50))]
        else:
            raw[at:at] = raw[at : at + 20]
        if not raw:
            break
    assert isinstance(refused_or(bytes(raw), path.name), Preview | Problem)


@given(st.sampled_from([path for path in SOUND if path.suffix == ".xlsx"]), st.data())
def test_a_workbook_with_damaged_parts_is_read_or_refused(path: Path, data: st.DataObject) -> None:
    """The archive is sound, and what is in it is not."""
    whole = path.read_bytes()
    with zipfile.ZipFile(io.BytesIO(whole)) as archive:
        name = data.draw(st.sampled_from(archive.namelist()))
        part = bytearray(archive.read(name))
    at = data.draw(st.integers(0, len(part) - 1))
    change = data.draw(st.sampled_from((b"", b"<", b"x", b'"', b"999999999", b"-1", b"&a;", b"<row>")))
    part[at : at + data.draw(st.integers(0, 30))] = change
    replaced: dict[str, bytes | None] = {name: None if data.draw(st.booleans()) and change == b"" else bytes(part)}
    assert isinstance(refused_or(with_parts(whole, replaced), path.name), Preview | Problem)


def test_the_limits_are_those_that_were_set() -> None:
    """ASVS 5.2 (files): 10 MB, 100 MB unpacked, ratio 100, 200 members, 20,000 rows, 200 columns."""
    assert (limits.FILE, limits.UNPACKED, limits.RATIO) == (10_000_000, 100_000_000, 100)
    assert (limits.MEMBERS, limits.ROWS, limits.COLUMNS) == (200, 20_000, 200)
    assert os.name  # the measurements above are of a POSIX system


@pytest.mark.parametrize(
    "cell",
    ["1" * 19_000, "1,1" * 6_000, "450" + " " * 19_000 + "+", "t " * 9_000, "9/" * 9_000, "(" * 19_000, "- " * 9_000,
     "1 1/" * 4_000, "sept " * 3_000, "~" * 19_000, "a" * 19_000, "0" * 18_999 + "x", "." * 19_000],
    ids=lambda cell: cell[:6],
)  # fmt: skip
def test_a_long_cell_is_not_searched_without_end(cell: str) -> None:
    """As a date, a figure, a level, a heading, the name of a sheet: time grows with the length, and no faster."""
    heads = "Date,Used,Tank before (in),Meter start,Client\n"
    began = time.process_time()
    found = look(
        heads + "".join(f'2021-09-{n:02},"{cell}","{cell}","{cell}",A\n"{cell}",450,1,1,B\n' for n in range(1, 9))
    )
    look(f'Date,Used,"{cell}"\n2021-09-03,450,1\n', said=f'[columns]\n"{cell}" = "recovered"\n')
    look(f'Date,Meter,"{cell}"\n,Start,"{cell}"\n2021-09-03,450,1\n')
    assert len(work(found)) == 16
    assert not any(line.state == "new" for line in work(found))
    assert time.process_time() - began < SECONDS


@pytest.mark.parametrize("name", ["1" * 31, "q1" * 15 + "x", "sheet" * 6 + "!", "1 " * 15 + "!"])
def test_the_name_of_a_sheet_is_not_searched_without_end(name: str) -> None:
    """However it repeats itself."""
    began = time.process_time()
    look(workbook({name[:31]: [HEADINGS, ROW]}), "a.xlsx")
    assert time.process_time() - began < SECONDS


def test_two_sheets_of_one_name_are_refused() -> None:
    """One of them would be lost; no spreadsheet writes that."""
    data = workbook({"A": [HEADINGS, ROW], "B": [HEADINGS, ROW]})
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        book = archive.read("xl/workbook.xml").replace(b'name="B"', b'name="A"')
    found = refused_or(with_parts(data, {"xl/workbook.xml": book}), "a.xlsx")
    assert isinstance(found, Problem) and "two sheets have the same name" in found.what
