"""Tickets from a list and photos from a folder: a preview first, then all that is matched in one go."""

from __future__ import annotations

import csv
import io
import re
import sys
import zipfile
from base64 import b64decode
from collections.abc import Callable
from datetime import datetime, timedelta, timezone
from hashlib import sha256
from pathlib import Path

import pytest

from compliance.reports.ownfiles import MOST_PHOTOS
from compliance.reports.text import word
from tests.cli.conftest import Desk
from tests.intake import taking
from tests.intake.taking import exif, photo

JOB = "Alder Oven dock, September"
RUN = "2026-09-01-big-blue"
TAKEN = datetime(2026, 9, 1, 22, 5, tzinfo=timezone(timedelta(hours=-6)))


def records(book: Desk) -> int:
    return int(book("verify", "--json").json["records"])


# ---- tickets -------------------------------------------------------------------------------------------------


@pytest.fixture
def awaiting(book: Desk) -> Desk:
    """A book with one night whose hauler's ticket is to come."""
    from tests.cases import SAMPLES

    assert book("log", "--from", SAMPLES / "case-08-hauler-ticket" / "1-run.toml").code == 0
    return book


def a_list(tmp_path: Path, text: str) -> Path:
    file = tmp_path / "list.csv"
    file.write_text(text, encoding="utf-8")
    return file


LIST = (
    "number,date,place,accepted,received_by,colour\n"
    "DF-1187,2026-09-08,Dry Fork Hauling,308 gal,Ana Lind,red\n"
    "DF-1188,2026-09-01,Dry Fork Hauling,500 gal,Ana Lind,red\n"
    "DF-1189,09/09/2026,Dry Fork Hauling,500 gal,Ana Lind,red\n"
)


def test_a_list_is_previewed_with_counts_and_written_in_one_go(awaiting: Desk, tmp_path: Path) -> None:
    """Our own volume and the difference stand beside each; the same list again finds all of it known."""
    file = a_list(tmp_path, LIST)
    handover = awaiting("list", "handovers", "--json").json[0]
    before = records(awaiting)
    said = awaiting("ticket", "--from", file, "--json", "--who", "Ruth Okafor")
    assert said.code == 0, said.err
    rows = said.json
    assert [row["outcome"] for row in rows] == ["matched", "no handover", "refused"]
    assert rows[0]["for"] == handover["handover"]
    assert rows[0]["our volume"].startswith("350") and rows[0]["difference"] == "42 gal less, 12.0 %"
    assert "the column 'colour' is passed over" in said.err
    assert "1 matched, 1 no handover, 1 refused. Nothing was written; --commit writes 1 record." in said.err
    assert records(awaiting) == before
    done = awaiting("ticket", "--from", file, "--commit", "--who", "Ruth Okafor")
    assert "1 record was written" in done.err
    assert records(awaiting) == before + 1
    after = awaiting("list", "handovers", "--json").json[0]
    assert (after["tickets"], after["accepted"], after["difference"]) == ("DF-1187", "308 gal", "42 gal less, 12.0 %")
    assert after["our volume"] == handover["our volume"]
    again = awaiting("ticket", "--from", file, "--commit")
    assert "1 known, 1 no handover, 1 refused. 0 records were written." in again.err
    assert records(awaiting) == before + 1


def test_a_preview_that_was_saved_and_settled_is_handed_in_in_place_of_the_list(awaiting: Desk, tmp_path: Path) -> None:
    """What was ambiguous or not found names its handover in the column 'for'."""
    preview = awaiting("ticket", "--from", a_list(tmp_path, LIST), "--csv").out
    rows = list(csv.DictReader(io.StringIO(preview)))
    rows[1]["for"] = rows[0]["for"]
    out = io.StringIO()
    writer = csv.DictWriter(out, rows[0])
    writer.writeheader()
    writer.writerows(rows[:2])
    said = awaiting("ticket", "--from", a_list(tmp_path, out.getvalue()), "--commit", "--json")
    assert [row["because"] for row in said.json] == ["named in the list", "named in the list"]
    assert {row["difference"] for row in said.json} == {"458 gal more, 130.9 %"}
    assert "2 matched. 2 records were written." in said.err
    assert awaiting("list", "handovers", "--json").json[0]["tickets"] == "DF-1187, DF-1188"


def test_a_ticket_without_a_handover_waits_for_the_night_that_has_its_number(book: Desk, tmp_path: Path) -> None:
    """On the morning list until the card is in; then it stands beside our volume as if it had come afterwards."""
    said = book("ticket", "R-21044", "--accepted", "259 gal", "--who", "Ruth Okafor")
    assert said.code == 2 and "nor of which place it is" in said.err
    assert "  do this: add --place with the name of the place whose ticket it is, or --for RUN/LINE\n" in said.err
    place = ("--place", "Port Alder receiving station", "--received-by", "card reader")
    assert book("ticket", "R-21044", *place, "--accepted", "259 gal", "--who", "Ruth Okafor").code == 0
    assert "for no handover yet: " in book("show", "ticket R-21044").out
    (need,) = [one for one in book("complete", "--list", "--json").json if one["kind"] == "ticket"]
    assert need["needed"] == "ticket R-21044 of Port Alder receiving station: no handover has its number yet"
    night = tmp_path / "night.toml"
    night.write_text(
        'rig = "Big Blue"\nlead = "Marisol Vega"\ndate = "2026-09-02"\nwhere = "see lines"\n'
        '[[line]]\nline = "stop"\nsite = "Harbor deck"\n'
        '[[line]]\nline = "hand over"\nplace = "port alder receiving station"\namount = "261 gal"\n'
        'ticket = "r-21044"\n'
    )
    assert book("log", "--from", night).code == 0
    assert [one for one in book("complete", "--list", "--json").json if one["kind"] == "ticket"] == []
    (row,) = book("list", "handovers", "--json").json
    assert (row["tickets"], row["accepted"], row["difference"]) == ("R-21044", "259 gal", "2 gal less, 0.8 %")


def test_a_list_that_cannot_be_read_is_refused(awaiting: Desk, tmp_path: Path) -> None:
    """With one message; an empty one is told."""
    assert "no column is headed 'number'" in awaiting("ticket", "--from", a_list(tmp_path, "a,b\n1,2\n")).err
    assert awaiting("ticket", "--from", a_list(tmp_path, "number\n")).out == "The list holds no ticket.\n"
    assert awaiting("ticket", "--from", tmp_path / "gone.csv").code == 2
    assert awaiting("ticket", "--from", a_list(tmp_path, LIST), "T-1").code == 2
    assert awaiting("ticket", "T-1").code == 2
    assert awaiting("ticket").code == 2


# ---- photos --------------------------------------------------------------------------------------------------


@pytest.fixture
def phone(tmp_path: Path) -> Path:
    """Four photos as a phone keeps them, and a note."""
    folder = tmp_path / "phone"
    folder.mkdir()
    (folder / "a upright.jpg").write_bytes(photo("JPEG", exif(TAKEN, turned=6)))
    (folder / "b.heic").write_bytes(photo("HEIF", exif(TAKEN + timedelta(minutes=1))))
    (folder / "c another day.jpg").write_bytes(photo("JPEG", exif(TAKEN - timedelta(days=200))))
    (folder / "d half.jpg").write_bytes(photo("JPEG", exif(TAKEN), taking.picture(900, 700))[:-9000])
    (folder / "note.txt").write_text("x")
    return folder


def test_photos_of_a_folder_are_matched_to_runs_and_kept_in_one_go(book: Desk, phone: Path) -> None:
    """The originals as they came, beside each a copy for pages; the same folder again changes nothing."""
    book.case("01")
    before = records(book)
    said = book("attach", "--photos", phone, "--who", "Marisol Vega", "--json")
    assert said.code == 0, said.err
    rows = said.json
    assert [row["outcome"] for row in rows] == ["matched", "matched", "no run", "refused"]
    assert {row["run"] for row in rows[:2]} == {RUN} and rows[0]["line"]
    assert "2 matched, 1 no run, 1 refused. Nothing was written; --commit writes 2 records." in said.err
    assert "1 other file is passed over" in said.err
    assert records(book) == before and not (book.folder / "files").exists()
    done = book("attach", "--photos", phone, "--who", "Marisol Vega", "--commit")
    assert "2 records were written." in done.err
    assert records(book) == before + 2
    kept = {path.read_bytes() for path in (book.folder / "files").iterdir()}
    assert len(kept) == 4 and (phone / "b.heic").read_bytes() in kept
    assert book("verify", "--deep").code == 0
    again = book("attach", "--photos", phone, "--who", "Marisol Vega", "--commit")
    assert "2 known, 1 no run, 1 refused. 0 records were written." in again.err
    assert records(book) == before + 2


def test_a_missing_copy_is_damage(book: Desk, phone: Path) -> None:
    """Copies are files of the book like the originals."""
    book.case("01")
    assert book("attach", "--photos", phone, "--who", "R", "--commit").code == 0
    (copy,) = (path for path in (book.folder / "files").iterdir() if path.read_bytes()[:3] == b"\xff\xd8\xff"
               and b"Quoll" not in path.read_bytes() and b"Exif" not in path.read_bytes()
               and path.stat().st_size < 3000 and _size(path) == (240, 320))  # fmt: skip
    copy.unlink()
    assert book("verify").code == 3


def _size(path: Path) -> tuple[int, int]:
    from PIL import Image

    with Image.open(path) as image:
        return image.size


def test_a_named_run_takes_all_photos(book: Desk, phone: Path) -> None:
    """Whatever their clock says; a run that is not there is refused, and so are other names beside a folder."""
    book.case("01")
    rows = book("attach", "--photos", phone, "--run", RUN, "--who", "R", "--json").json
    assert [row["outcome"] for row in rows] == ["matched", "matched", "matched", "refused"]
    assert book("attach", "--photos", phone, "--run", "2026-01-01-x", "--who", "R").code == 2
    assert book("attach", RUN, "--photos", phone, "--who", "R").code == 2
    assert book("attach", "--who", "R").code == 2
    assert book("attach", RUN, phone / "note.txt", "--csv", "--who", "R").code == 2
    assert book("attach", RUN, phone / "note.txt", "--json", "--who", "R").json["ref"]
    empty = phone.parent / "empty"
    empty.mkdir()
    assert book("attach", "--photos", empty, "--who", "R").out == "There is no photo in the folder.\n"
    (phone / ("x" * 220 + ".jpg")).write_bytes(photo("JPEG", exif(TAKEN, turned=3)))
    last = book("attach", "--photos", phone, "--run", RUN, "--who", "R", "--json").json[-1]
    assert last["outcome"] == "refused" and "characters long" in last["because"]


def test_a_single_photo_gets_its_copy_too(book: Desk, phone: Path) -> None:
    """One that cannot be shown is kept all the same, and it is said; another kind of file has none."""
    book.case("01")
    files = (phone / "a upright.jpg", phone / "d half.jpg", phone / "note.txt")
    said = book("attach", RUN, *files, "--line", "2", "--who", "R")
    assert said.code == 0, said.err
    assert "look again: d half.jpg: it is no photo that can be read; it is kept, and no page can show it" in said.err
    assert len(list((book.folder / "files").iterdir())) == 4
    assert book("verify", "--deep").code == 0
    assert "nothing was changed" in book("attach", RUN, files[0], "--line", "2", "--who", "R").out


def test_a_proof_shows_the_photos_of_its_own_lines(book: Desk, phone: Path, tmp_path: Path) -> None:
    """As copies, beside the hashes of copy and original; a lost copy is said, and another page is issued for it."""
    book.case("01")
    upright = phone / "a upright.jpg"
    assert book("attach", RUN, upright, "--line", "2", "--what", "NE inlet covered", "--who", "R").code == 0
    assert book("proof", JOB, "--out", tmp_path).code == 0
    (page,) = tmp_path.glob("*.html")
    (shown,) = re.findall(rb"base64,([A-Za-z0-9+/=]+)", page.read_bytes())
    copy, original = sha256(b64decode(shown)).hexdigest(), sha256(upright.read_bytes()).hexdigest()
    text = page.read_text(encoding="utf-8")
    assert f"original {original}" in text and f"this copy {copy}" in text and "NE inlet covered" in text
    assert "nothing that it prints has changed" in book("proof", JOB, "--out", tmp_path).out
    (book.folder / "files" / copy).write_bytes(b"another photo")
    assert book("proof", JOB, "--preview", "--out", tmp_path).code == 0
    assert word("photo lost", "en") in next(tmp_path.glob("preview-proof-*.html")).read_text(encoding="utf-8")


def test_a_long_row_of_photos_is_cut_and_counted(book: Desk, phone: Path, tmp_path: Path) -> None:
    """The others are in the list of files."""
    book.case("01")
    for n in range(MOST_PHOTOS + 2):
        (tmp_path / f"{n}.jpg").write_bytes(photo(made=taking.picture(40, 30 + n)))
    assert book("attach", RUN, *sorted(tmp_path.glob("*.jpg")), "--line", "2", "--who", "R").code == 0
    assert book("proof", JOB, "--preview", "--out", tmp_path).code == 0
    text = next(tmp_path.glob("preview-proof-*.html")).read_text(encoding="utf-8")
    assert text.count("<img") == MOST_PHOTOS
    assert f"{MOST_PHOTOS} of {MOST_PHOTOS + 2} photos are printed" in text


def test_how_far_it_got_is_shown_on_a_terminal(book: Desk, phone: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """And nowhere else: a program's stderr holds no carriage return."""
    book.case("01")
    assert "\r" not in book("attach", "--photos", phone, "--who", "R").err
    monkeypatch.setattr(type(sys.stderr), "isatty", lambda self: True, raising=False)
    assert "\rmaking copies for pages: 4 of 4\n" in book("attach", "--photos", phone, "--who", "R").err


def _everything(file: Path) -> bytes:
    """All that can be found in a file that goes out: its bytes, and what is packed in them."""
    data = file.read_bytes()
    if file.suffix == ".xlsx":
        with zipfile.ZipFile(file) as parts:
            return data + b"".join(parts.read(name) for name in parts.namelist())
    if file.suffix == ".pdf":
        from pypdf import PdfReader
        from pypdf.generic import StreamObject

        reader = PdfReader(file)
        objects = (reader.get_object(n) for n in range(1, len(reader.xref[0]) + 1) if n in reader.xref[0])
        streams = (one for one in objects if isinstance(one, StreamObject))
        return data + b"".join(one._data + _unpacked(one) for one in streams)
    return data + b"".join(b64decode(one) for one in re.findall(rb"base64,([A-Za-z0-9+/=]+)", data))


def _unpacked(stream: object) -> bytes:
    try:
        return bytes(stream.get_data())  # type: ignore[attr-defined]
    except Exception:
        return b""


def test_position_and_device_are_in_nothing_that_goes_out(book: Desk, phone: Path) -> None:
    """Proof, month and client pages in every form, the query tables and every listing; the originals have both."""
    book.case("01")
    assert book("attach", "--photos", phone, "--who", "R", "--commit").code == 0
    out = phone.parent / "pages"
    for command in (
        ("proof", JOB), ("month", "2026-09"),
        ("client", "Alder Oven Bakery", "--from", "2026-09-01", "--to", "2026-09-30"),
    ):  # fmt: skip
        assert book(*command, "--out", out).code == 0
    pages = {file.suffix for file in out.iterdir()}
    assert pages == {".pdf", ".html", ".json", ".xlsx"}
    degrees = [f"{part:g}" for angle in taking.POSITION for part in angle[2:]]
    secret = [*taking.WORDS, *degrees, "22:05", "22:06", "GPS", "Exif"]
    files = list(out.iterdir())
    copies = [f for f in (book.folder / "files").iterdir() if b"Quoll" not in f.read_bytes()]
    assert len(copies) >= 2 + len(files)
    for file in [*files, *copies]:
        found = _everything(file)
        assert [word for word in secret if word.encode() in found and word not in ("22:05", "22:06")] == [], file.name
        assert file.suffix != ".pdf" or b"Alder Oven" in found or len(found) > file.stat().st_size
    told = "".join(
        book(*command).out
        for command in (
            ("show", RUN, "--json"),
            ("list", "--json"),
            ("query", "select * from attachments", "--json"),
            ("complete", "--json"),
            ("check", "--json"),
        )
    )
    assert "b.heic" in told and not re.search("Quoll|" + "|".join(map(re.escape, degrees)), told)
    originals = [f for f in (book.folder / "files").iterdir() if b"Quoll" in f.read_bytes()]
    assert len(originals) == 2


def test_the_search_of_a_page_would_find_a_word_that_is_there(book: Desk, tmp_path: Path) -> None:
    """Else the test above would pass on nothing: a client's name is found in each form of a page."""
    book.case("01")
    out = tmp_path / "pages"
    assert book("month", "2026-09", "--out", out).code == 0
    assert book("proof", JOB, "--out", out).code == 0
    for file in out.iterdir():
        if file.suffix != ".pdf":  # its text is set in glyphs; what is hidden in its streams and pictures is bytes
            assert b"Bluebank" in _everything(file), file.name
    (pdf, *_) = out.glob("*.pdf")
    assert len(_everything(pdf)) > 2 * pdf.stat().st_size


# ---- two hand-ins, one tank ----------------------------------------------------------------------------------


def test_two_hand_ins_are_joined_and_taken_apart(book: Desk, typed: Callable[[str], None], tmp_path: Path) -> None:
    """A preview says what they say differently and writes nothing; then they are one run."""
    night = 'rig = "Big Blue"\nlead = "Marisol Vega"\ndate = "2026-09-20"\nwhere = "aboard"\nused = "{}"\n'
    for n, used in enumerate(("200 gal", "250 gal")):
        file = tmp_path / f"{n}.toml"
        file.write_text(night.format(used) + f'[[line]]\nline = "stop"\nsite = "Stop {n}"\n', encoding="utf-8")
        assert book("log", "--from", file).code == 0
    pair = ("2026-09-20-big-blue", "2026-09-20-big-blue-2", "--why", "two tablets", "--who", "Ruth Okafor")
    before = records(book)
    seen = book("join", *pair, "--preview")
    assert "neither stands until it is completed" in seen.err and "Nothing was written" in seen.out
    assert records(book) == before
    assert book("join", pair[0], pair[0], *pair[2:], "--preview").code == 2
    done = book("join", *pair, "--json")
    assert done.code == 0 and records(book) == before + 1
    assert [row["run"] for row in book("list", "runs", "--json").json] == [pair[0]]
    again = book("log", "--from", tmp_path / "1.toml")
    assert "handed in before as 2026-09-20-big-blue; nothing was changed" in again.out
    shown = book("show", pair[1], "--json").json
    assert [line["n"] for line in shown["lines"]] == ["1", "2"] and "used" not in shown["fields"]
    assert book("complete", pair[0], "used", "450 gal", "--who", "R").code == 0
    assert book("show", pair[0], "--json").json["fields"]["used"] == "450 gal"
    assert book("cancel", done.json["record"], "--why", "two after all", "--who", "R").code == 0
    assert len(book("list", "runs", "--json").json) == 2


def test_runs_are_put_in_order_at_a_tank(book: Desk) -> None:
    """An unknown tank is refused with the nearest name."""
    book.case("01")
    book.case("22")
    runs = (RUN, "2026-09-23-little-heron")
    said = book("order", "Big Blue recovery", *runs, "--why", "seen", "--who", "R", "--json")
    assert said.code == 0 and said.json["record"]
    assert "the book says so already" in book("order", "Big Blue recovery", *runs, "--why", "seen", "--who", "R").out
    wrong = book("order", "Big Blue recovry", *runs, "--why", "seen", "--who", "R")
    assert wrong.code == 2 and "did you mean 'Big Blue recovery'?" in wrong.err


def test_what_two_hand_ins_say_differently_is_shown_with_the_run(book: Desk, tmp_path: Path) -> None:
    """Both values, and that nothing stands where neither can."""
    night = 'rig = "Big Blue"\nlead = "{}"\ndate = "2026-09-20"\nwhere = "aboard"\nused = "{}"\n'
    for n, (lead, used) in enumerate((("Marisol Vega", "200 gal"), ("Tom Adlow", "250 gal"))):
        file = tmp_path / f"{n}.toml"
        file.write_text(night.format(lead, used) + f'[[line]]\nline = "stop"\nsite = "Stop {n}"\n', encoding="utf-8")
        assert book("log", "--from", file).code == 0
    pair = ("2026-09-20-big-blue", "2026-09-20-big-blue-2", "--why", "two tablets", "--who", "Ruth Okafor")
    assert book("join", *pair).code == 0
    shown = book("show", pair[0]).out
    assert "said Tom Adlow, says Marisol Vega\n      two tablets\n" in shown
    assert "said 250 gal, says nothing yet\n" in shown
