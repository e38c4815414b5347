"""The answer pack: a plan that the owner reads, and what it makes; what is withheld is in no byte of it."""

from __future__ import annotations

import io
import json
import re
import zipfile
from datetime import datetime
from hashlib import sha256
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from pypdf import PdfReader

from compliance.reports.pack_parts import PARTS
from tests.cli.conftest import Desk
from tests.cli.test_bulk import _everything
from tests.intake.taking import WORDS, exif, photo

QUESTION = ("--address", "62 Copperleaf Row", "--first", "2026-09-21T19:00", "--until", "2026-09-22T04:00")
RUN = "2026-09-21-big-blue"
ZONE = ZoneInfo("America/Denver")
OF_OTHERS = ("Harbor", "float stuck", "Solano", "planks over concrete")
"""What is written down of the other client's stop of that night."""
TOLD_BY = {
    "letter": ("Subcontractors are not covered",),
    "timeline": ("Start of the run",),
    "water": ("856 − 576", "19696", "15.0 in"),
    "agents": ("Cleaning agent: none used",),
    "places": ("Port Alder receiving station", "3 in cam lock to the station"),
    "tickets": ("R-20960", "night slot, card reader"),
    "drains": ("curb inlet, north end", "mat and berm"),
    "incidents": ("leaked at one edge", "mat reseated", "Sam Ottersley"),
    "corrections": ("2,000 sq ft",),
    "photos": ("the mat, from above",),
    "in force": ("SA-2026-031", "Spill drill"),
    "remarks": ("lamp post",),
    "findings": ("escape-1",),
}
"""Part -> words of the book that it tells."""
BOUND = {"drains": ["incidents"], "incidents": ["water", "places"]}
"""Part -> parts that cannot go without it on that night."""


OTHERS = """
rig = "Big Blue"
lead = "Tomás Ibarra"
date = "2026-09-04"
start = "20:00"
end = "03:00"
where = "see lines"

[[line]]
line = "reading"
of = "Big Blue recovery"
shows = "empty"
at = "20:05"

[[line]]
line = "stop"
site = "Quillon Fish Counter"
arrived = "20:20"
left = "21:00"
used = {method = "meter", meter = "Quillon counter meter", start = "998441", end = "998674"}

[[line]]
line = "reading"
of = "Quillon counter meter"
shows = "998674"
at = "21:02"

[[line]]
line = "hand over"
place = "Fish counter cleanout"
amount = "233 gal"
tank_after = "empty"
at = "21:20"

[[line]]
line = "stop"
site = "Harbor deck"
arrived = "22:00"
left = "23:00"
used = "100 gal"

[[line]]
line = "hand over"
place = "Port Alder receiving station"
amount = "90 gal"
tank_after = "empty"
at = "02:00"
"""
"""A night with a dump between the stops of two clients."""


@pytest.fixture
def asked(book: Desk, tmp_path: Path) -> Desk:
    """The night of the leaking drain cover: a photo, a correction, a trained lead, and a question about it."""
    book.case("12")
    shot = tmp_path / "mat.jpg"
    shot.write_bytes(photo("JPEG", exif(datetime(2026, 9, 21, 21, 45, tzinfo=ZONE))))
    for command in (
        ("attach", RUN, shot, "--line", "2", "--what", "the mat, from above \U0001f9fd", "--who", "R"),
        ("correct", RUN, "area", "2100 ft2", "--line", "2", "--reason", "keyed wrong", "--why",
         "the card was hard to read", "--who", "R"),
        ("complete", RUN, "remark", "the lamp post was dark", "--line", "2", "--who", "R"),
        ("edit", "person", "Tomás Ibarra", "training=Spill drill", "trained_on=2026-03-01", "trained_to=2027-03-01"),
        ("inquiry", "open", "--asked-by", "Lena Ostrow", "--case", "TC-9", *QUESTION, "--who", "R"),
    ):  # fmt: skip
        said = book(*command)
        assert said.code == 0, said.err
    return book


def plan(desk: Desk, out: Path, *changes: tuple[str, str]) -> Path:
    """The plan as it is written, with some lines changed."""
    path = out / "inquiry-1.toml"
    if not path.exists():
        said = desk("inquiry", "pack", "TC-9", "--out", out)
        assert said.code == 0, said.err
    text = path.read_text(encoding="utf-8")
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path.write_text(text, encoding="utf-8")
    return path


def switched(part: str, title: str, go: bool) -> tuple[str, str]:
    """A change of the plan: whether a part goes."""
    head = f'name = "{part}"\ntitle = "{title}"\ngo = '
    return head + ("false" if go else "true"), head + ("true" if go else "false")


def titles(path: Path) -> dict[str, str]:
    import tomllib

    return {one["name"]: one["title"] for one in tomllib.loads(path.read_text(encoding="utf-8"))["part"]}


def packed(desk: Desk, out: Path, path: Path) -> Path:
    said = desk("inquiry", "pack", "TC-9", "--out", out, "--plan", path)
    assert said.code == 0, said.err
    return out / "inquiry-1"


def words_in(folder: Path) -> str:
    """Every word that can be found in a pack: names, texts, the PDF's pages, what is packed in its streams, the ZIP."""
    found = []
    with zipfile.ZipFile(folder.with_suffix(".zip")) as archive:
        members = {name: archive.read(name) for name in archive.namelist()}
    for file in [one for one in folder.rglob("*") if one.is_file()]:
        members[str(file.relative_to(folder))] = _everything(file)
        if file.suffix == ".pdf":
            reader = PdfReader(file)
            found += [page.extract_text() for page in reader.pages]
            found += [str(one.title) for one in _flat(reader.outline)]
    for name, data in members.items():
        found += [name, data.decode("latin-1"), data.decode("utf-8", "ignore")]
    text = "\n".join(found)
    return " ".join(text.split()) + text


def _flat(outline: list) -> list:
    return [one for part in outline for one in (_flat(part) if isinstance(part, list) else [part])]


def test_the_plan_lists_each_part_and_keeps_findings_at_home(asked: Desk, tmp_path: Path) -> None:
    """A file each; it is not written over."""
    path = plan(asked, tmp_path)
    import tomllib

    read = tomllib.loads(path.read_text(encoding="utf-8"))
    assert [one["name"] for one in read["part"]] == list(PARTS)
    assert [one["name"] for one in read["part"] if not one["go"]] == ["findings"]
    assert [(one["part"], one["what"]) for one in read["file"]] == [("photos", "the mat, from above \U0001f9fd")]
    assert "there is a plan already" in asked("inquiry", "pack", "TC-9", "--out", tmp_path).err


def test_a_pack_tells_the_night_and_names_no_other_client(asked: Desk, tmp_path: Path) -> None:
    """Every part in one PDF, JSON, CSV, the photo's copy; nothing of the other stop of that night but its times."""
    folder = packed(asked, tmp_path, plan(asked, tmp_path))
    text = words_in(folder)
    for part, told in TOLD_BY.items():
        assert [words for words in told if words in text] == (list(told) if part != "findings" else []), part
    assert [word for word in (*OF_OTHERS, *WORDS) if word in text] == []
    assert "Another stop, not asked about" in text
    assert "held on Sep 21, 2026, by these dates" in text
    whole = json.loads((folder / "answer.json").read_text(encoding="utf-8"))
    assert whole["withheld"] == ["findings"]
    stop = next(row for row in whole["times"] if row["what"].startswith("Stop"))
    assert (stop["run"], stop["line"], stop["from"]) == (RUN, "2", "2026-09-21T20:40:00-06:00")
    assert "2026-09-21T20:40:00-06:00,2026-09-21T22:25:00-06:00" in (folder / "tables" / "times.csv").read_text()
    assert "R-20960" in json.dumps(whole["parts"]["tickets"])  # though nobody knows how much of it was this job's
    assert "SA-2026-031" in json.dumps(whole["parts"]["in force"])
    clock = [row["from"] for row in whole["times"]]
    assert clock == sorted(clock)
    (night,) = [block for block in whole["parts"]["timeline"]["blocks"] if "rows" in block]
    assert [row[2]["text"] for row in night["rows"]] == [row["what"] for row in whole["times"]]
    method = json.dumps(whole["parts"]["method"])
    assert "on any file of this pack" in method
    assert "report preview" not in method
    kept_out = json.dumps(whole["parts"]["withheld"])
    assert "Not asked for" in kept_out and "of these days" not in kept_out  # no other rig was out
    assert set(whole["parts"]) == {*PARTS, "index", "withheld"} - {"findings"}
    names = {str(one.relative_to(folder)) for one in folder.rglob("*") if one.is_file()}
    assert {
        "letter.txt",
        "answer.pdf",
        "answer.json",
        "hashes.txt",
        "photos/photo-1.jpg",
        "tables/timeline-1.csv",
    } <= names
    for line in (folder / "hashes.txt").read_text().splitlines():
        hash, name = line.split("  ")
        assert sha256((folder / name).read_bytes()).hexdigest() == hash


@pytest.mark.parametrize("part", list(TOLD_BY))
def test_what_is_withheld_is_in_no_byte_of_the_pack(asked: Desk, tmp_path: Path, part: str) -> None:
    """Searched unpacked, with the same words found when the part goes; the pack names the part that was withheld."""
    path = plan(asked, tmp_path)
    title = titles(path)[part]
    if part == "findings":
        plan(asked, tmp_path, switched(part, title, True))
    whole = words_in(packed(asked, tmp_path, path))
    assert any(words in whole for words in TOLD_BY[part])
    assert [word for word in OF_OTHERS if word in whole] == []
    plan(asked, tmp_path, switched(part, title, False))
    for other in sorted({also for one in BOUND.get(part, []) for also in (one, *BOUND.get(one, []))}):
        plan(asked, tmp_path, switched(other, titles(path)[other], False))
    text = words_in(packed(asked, tmp_path / "second", path))
    assert [words for words in TOLD_BY[part] if words in text] == []
    assert f"Withheld: {title}" in text


@pytest.mark.parametrize("home", list(BOUND))
def test_a_part_that_an_account_needs_is_not_withheld_alone(asked: Desk, tmp_path: Path, home: str) -> None:
    """Water that got away is a line of the account; each part that has to stay too is named."""
    path = plan(asked, tmp_path)
    plan(asked, tmp_path, switched(home, titles(path)[home], False))
    said = asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--plan", path)
    assert said.code == 2
    assert [part for part in PARTS if f"'{part}' cannot go without it" in said.err] == sorted(
        BOUND[home], key=PARTS.index
    )
    assert not (tmp_path / "inquiry-1").exists()


def test_what_was_typed_into_a_part_that_stays_is_looked_for_in_all_that_goes(asked: Desk, tmp_path: Path) -> None:
    """A remark that gives a ticket's number, and a letter of one's own: no pack, and it is said where."""
    remark = ("the receiver's slip is R-20960", "--line", "2", "--who", "R")
    assert asked("complete", RUN, "remark", *remark).code != 0  # it has a remark
    assert asked("correct", RUN, "remark", *remark, "--reason", "keyed wrong", "--why", "more of it").code == 0
    letter = tmp_path / "mine.txt"
    letter.write_text("See slip no. R-20960.\n", encoding="utf-8")
    path = plan(asked, tmp_path, ('go = true\n\n[[part]]\nname = "photos"', 'go = false\n\n[[part]]\nname = "photos"'))
    said = asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--plan", path, "--letter", letter)
    assert said.code == 2
    for where in ("letter", "remarks", "corrections"):
        assert (
            "'R-20960' belongs to 'tickets', which is withheld, and still stands in a part that goes\n"
            f"  where: {where}\n" in said.err
        )


def test_where_something_is_withheld_it_is_not_said_that_there_was_nothing(asked: Desk, tmp_path: Path) -> None:
    """Corrections of remarks are silent then, and say so."""
    path = plan(asked, tmp_path)
    plan(asked, tmp_path, switched("remarks", "Remarks", False))
    whole = json.loads((packed(asked, tmp_path, path) / "answer.json").read_text(encoding="utf-8"))
    for part in ("timeline", "corrections", "gaps"):
        assert "Of what belongs to a part that was withheld, nothing is said here." in json.dumps(whole["parts"][part])
    assert "Nothing is awaited" not in json.dumps(whole["parts"]["gaps"])
    assert "2,000 sq ft" in json.dumps(whole["parts"]["corrections"])


def test_a_photo_can_be_withheld_alone(asked: Desk, tmp_path: Path) -> None:
    """It is counted and not named; a copy that the book lost is counted too."""
    path = plan(asked, tmp_path)
    text = path.read_text(encoding="utf-8")
    head, tail = text.split("[[file]]")
    path.write_text(head + "[[file]]" + tail.replace("go = true", "go = false"), encoding="utf-8")
    folder = packed(asked, tmp_path, path)
    said = words_in(folder)
    assert "from above" not in said
    assert "Withheld: 1 file" in said
    assert not (folder / "photos").exists()
    path.write_text(text, encoding="utf-8")
    for file in (asked.folder / "files").iterdir():
        file.unlink()
    assert "1 file could not be put in" in words_in(packed(asked, tmp_path / "second", path))


def test_each_line_of_the_clock_in_a_chart_of_the_night_has_its_label(asked: Desk, tmp_path: Path) -> None:
    """A night of eleven hours: a label was dropped here and there, where two would have touched."""
    said = asked(
        "correct", RUN, "end", "2026-09-22T07:30", "--reason", "keyed wrong", "--why", "the card", "--who", "R"
    )
    assert said.code == 0, said.err
    folder = packed(asked, tmp_path, plan(asked, tmp_path))
    blocks = json.loads((folder / "answer.json").read_text(encoding="utf-8"))["parts"]["timeline"]["blocks"]
    (chart,) = [block for block in blocks if "ticks" in block]
    assert chart["length"] >= 600
    text = PdfReader(folder / "answer.pdf").pages[2].extract_text()
    labels = [tick["text"].replace("\u00a0", " ") for tick in chart["ticks"]]
    assert [label for label in labels if label not in text.replace("\u00a0", " ").splitlines()] == []


def test_the_same_pack_is_the_same_bytes(asked: Desk, tmp_path: Path) -> None:
    """Made twice from one plan and one book."""
    path = plan(asked, tmp_path)
    first, second = packed(asked, tmp_path / "a", path), packed(asked, tmp_path / "b", path)
    assert first.with_suffix(".zip").read_bytes() == second.with_suffix(".zip").read_bytes()


def test_the_pdf_has_bookmarks_and_page_labels(asked: Desk, tmp_path: Path) -> None:
    """A bookmark a part in their order, and its sheets labelled by a letter and a number."""
    folder = packed(asked, tmp_path, plan(asked, tmp_path))
    reader = PdfReader(io.BytesIO((folder / "answer.pdf").read_bytes()))
    top = [str(one.title) for one in reader.outline if not isinstance(one, list)]
    assert top[:3] == ["Answer to an inquiry", "What is in this pack", "The night, to the minute"]
    assert top[-1] == "What was withheld, and what was not asked for"
    assert reader.page_labels[:3] == ["A-1", "B-1", "C-1"]
    for label, sheet in zip(reader.page_labels, reader.pages, strict=True):
        assert label in sheet.extract_text().split("\n")
        assert "page 1 of" not in sheet.extract_text()
    assert len(reader.page_labels) == len(set(reader.page_labels)) == len(reader.pages)


def test_a_pack_is_not_made_while_a_forbidden_word_stands_in_it(asked: Desk, tmp_path: Path) -> None:
    """Whatever its case and accents; it says in which part."""
    path = plan(asked, tmp_path, ("never = []", 'never = ["TOMAS", "zebra"]'))
    said = asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--plan", path)
    assert said.code == 2
    assert "'TOMAS' still stands in a part that goes\n  where: " in said.err
    assert "zebra" not in said.err
    assert not (tmp_path / "inquiry-1").exists()


def test_an_edited_letter_goes_as_it_was_left(asked: Desk, tmp_path: Path) -> None:
    """And a pack that is there is not written over."""
    letter = tmp_path / "mine.txt"
    letter.write_text("Dear Ms Ostrow,\n\nsee the pages.\n", encoding="utf-8")
    path = plan(asked, tmp_path)
    said = asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--plan", path, "--letter", letter)
    assert said.code == 0, said.err
    assert "written anew" not in said.out
    assert (tmp_path / "inquiry-1" / "letter.txt").read_text(encoding="utf-8").startswith("Dear Ms Ostrow,")
    assert "there is a pack already" in asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--plan", path).err


def test_a_pack_of_nothing_near_says_so(asked: Desk, tmp_path: Path) -> None:
    """A place without a stop: the letter, and parts that say that no job is; of other jobs much is written down."""
    assert asked("inquiry", "open", "--case", "TC-10", "--address", "7 Elm St", *QUESTION[2:], "--who", "R").code == 0
    assert asked("inquiry", "pack", "TC-10", "--out", tmp_path).code == 0
    path = tmp_path / "inquiry-2.toml"
    said = asked("inquiry", "pack", "TC-10", "--out", tmp_path, "--plan", path)
    assert said.code == 0, said.err
    assert "show no work by our rigs" in words_in(tmp_path / "inquiry-2")
    text = words_in(tmp_path / "inquiry-2")
    assert "No job near there is written down of that time" in text
    assert "Nothing is written down of this." not in text
    none = asked("inquiry", "pack", "TC-9", "--plan", tmp_path / "none.toml")
    assert "the plan cannot be read: No such file or directory\n" in none.err
    wrong = asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--plan", path)
    assert "this plan is of inquiry-2" in wrong.err


@pytest.mark.parametrize(
    ("change", "what"),
    [
        (('name = "letter"', 'name = "leter"'), "says something that is no part of it"),
        (("go = false", 'go = "no"'), "says something that is no part of it"),
        (("sha256 = ", "sha = "), "says something that is no part of it"),
        (('inquiry = "inquiry-1"', "inquiry = 1"), "names no inquiry"),
        (('language = "en"', 'language = "fr"'), "language is 'fr', not one of: en, es"),
        (('paper = "letter"', "paper = 4"), "paper is 4, not one of: letter, A4"),
        (("never = []", "never = 7"), "'never' is no list of words"),
        (("never = []", "never = [7]"), "'never' is no list of words"),
        (("never = []", 'never = []\npart = "all"\n[[x]]'), "cannot be read"),
        (("never = []", "never = ["), "cannot be read"),
    ],
)
def test_a_plan_that_cannot_be_followed_is_refused(
    asked: Desk, tmp_path: Path, change: tuple[str, str], what: str
) -> None:
    """Nothing is made of it."""
    path = plan(asked, tmp_path, change)
    said = asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--plan", path)
    assert said.code == 2
    assert what in said.err


def test_a_pack_can_be_had_in_spanish(asked: Desk, tmp_path: Path) -> None:
    """Its plan says so, and its PDF to a voice that reads it; a row of the chart has a short label."""
    assert asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--lang", "es", "--paper", "A4").code == 0
    folder = packed(asked, tmp_path, tmp_path / "inquiry-1.toml")
    text = words_in(folder)
    reader = PdfReader(folder / "answer.pdf")
    assert reader.metadata is not None and reader.metadata.title == "Respuesta a una pregunta inquiry-1"
    assert reader.trailer["/Root"]["/Lang"] == "es"
    chart = reader.pages[2].extract_text()
    assert "Desagües pluviales" in chart
    assert "…" not in chart
    assert "Qué hay en este paquete" in text
    assert "Otra parada, no se preguntó por ella" in text


def test_what_the_rules_found_is_told_in_the_language_of_the_pack(asked: Desk, tmp_path: Path) -> None:
    """Title and what was seen; what the crew typed stays as it was typed."""
    assert asked("inquiry", "pack", "TC-9", "--out", tmp_path, "--lang", "es").code == 0
    path = tmp_path / "inquiry-1.toml"
    folder = packed(asked, tmp_path, plan(asked, tmp_path, switched("findings", titles(path)["findings"], True)))
    told = json.loads((folder / "answer.json").read_text(encoding="utf-8"))["parts"]["findings"]
    (table,) = [block for block in told["blocks"] if "rows" in block]
    cells = [[cell["text"] for cell in row] for row in table["rows"]]
    title, _, seen = next(row for row in cells if "escape-1" in row[0])
    assert title == "Actuar ya: Se vio que se escapó agua (escape-1)"
    assert seen.startswith("cover mat on the arcade drain leaked at one edge: llegó a un desagüe pluvial; cantidad: ")


def test_the_ticket_of_a_handover_goes_along_as_it_is_kept(book: Desk, tmp_path: Path) -> None:
    """A document as it came; one that belongs to no part stays at home, and is counted, unless the owner says so."""
    book.case("08")
    day = book("list", "runs", "--json").json[0]["date"]
    ticket = next(row["record"] for row in book("query", "select record from tickets", "--json").json)
    paper, note = tmp_path / "ticket.txt", tmp_path / "note.txt"
    paper.write_text("the ticket of the hauler")
    note.write_text("stairs were wet")
    assert book("attach", ticket, paper, "--what", "the ticket", "--who", "R").code == 0
    run = book("list", "runs", "--json").json[0]["run"]
    assert book("attach", run, note, "--what", "a note", "--who", "R").code == 0
    site = book("query", "select site from stops", "--json").json[0]["site"]
    question = ("--site", site, "--first", day, "--until", f"{day[:8]}30", "--who", "R", "--case", "TC-9")
    assert book("inquiry", "open", *question).code == 0
    path = plan(book, tmp_path)
    folder = packed(book, tmp_path, path)
    assert (folder / "tickets" / "ticket-1.txt").read_text() == "the ticket of the hauler"
    assert "Withheld: 1 file" in words_in(folder)
    assert "stairs were wet" not in words_in(folder)
    text = path.read_text(encoding="utf-8")
    head, tail = text.rsplit("go = false", 1)
    path.write_text(f"{head}go = true{tail}", encoding="utf-8")
    folder = packed(book, tmp_path / "second", path)
    assert (folder / "papers" / "paper-2.txt").read_text() == "stairs were wet"


def test_a_data_sheet_and_a_permission_go_with_their_parts(asked: Desk, tmp_path: Path) -> None:
    """And stay with them; a picture of a ticket stays with the tickets, on the page of photos too."""
    kept = {
        "data sheet": ("sheet.txt", b"boots and gloves", "agents"),
        "the permit, page 1": ("permit.txt", b"no oil, no grit", "in force"),
        "ticket, as a photo": ("ticket.jpg", photo("PNG", exif(datetime(2026, 9, 22, 2, 0, tzinfo=ZONE))), "tickets"),
    }
    for what, (name, data, _) in kept.items():
        (tmp_path / name).write_bytes(data)
        said = asked("attach", RUN, tmp_path / name, "--line", "2", "--what", what, "--who", "R")
        assert said.code == 0, said.err
    path = plan(asked, tmp_path)
    folder = packed(asked, tmp_path, path)
    names = sorted(
        str(one.relative_to(folder)) for one in folder.rglob("*") if one.parent.name in ("papers", "tickets")
    )
    assert names == ["papers/data-sheet-2.txt", "papers/in-force-3.txt", "tickets/ticket-4.jpg"]
    assert (folder / "papers" / "data-sheet-2.txt").read_bytes() == b"boots and gloves"
    assert "ticket, as a photo" in words_in(folder)
    named = titles(path)
    plan(asked, tmp_path, *(switched(part, named[part], False) for _, _, part in kept.values()))
    folder = packed(asked, tmp_path / "second", path)
    said = words_in(folder)
    assert not (folder / "papers").exists()
    assert not any(word in said for word in ("boots and gloves", "no oil, no grit", "ticket, as a photo"))


def test_tickets_stay_at_home_though_one_names_the_place_that_goes(asked: Desk, tmp_path: Path) -> None:
    """Its number and who received the water are nowhere; without the places its place is nowhere either."""
    number = asked("query", "select line from handovers", "--json").json[0]["line"]
    paper = tmp_path / "ticket.toml"
    paper.write_text(
        'kind = "ticket"\nnumber = "R-20960"\nplace = "Port Alder receiving station"\naccepted = "480 gal"\n'
        f'received_by = "Lowell Pruitt"\nhandovers = [{{run = "{RUN}", line = "{number}"}}]\n'
    )
    assert asked("log", "--from", paper).code == 0
    path = plan(asked, tmp_path, switched("tickets", "Tickets", go=False))
    words = words_in(packed(asked, tmp_path, path))
    assert "Port Alder receiving station" in words
    assert "R-20960" not in words
    assert "Pruitt" not in words
    home = [switched(part, title, go=False) for part, title in titles(path).items() if part in ("places", "in force")]
    said = asked("inquiry", "pack", "TC-9", "--out", tmp_path / "more", "--plan", plan(asked, tmp_path, *home))
    assert said.code == 0, said.err
    assert "Port Alder receiving station" not in words_in(tmp_path / "more" / "inquiry-1")


def test_a_job_of_several_nights_is_told_whole(book: Desk, tmp_path: Path) -> None:
    """Its water adds up over all of them; the timeline is of the night that was asked about."""
    book.case("03")
    second = book("list", "runs", "--json").json[1]["date"]
    question = ("--site", "Harbor deck", "--first", second, "--until", second, "--who", "R", "--case", "TC-9")
    assert book("inquiry", "open", *question).code == 0
    whole = json.loads((packed(book, tmp_path, plan(book, tmp_path)) / "answer.json").read_text(encoding="utf-8"))
    runs = [row["run"] for row in book("list", "runs", "--json").json]
    assert len(runs) == 3
    told = json.dumps(whole["parts"]["timeline"])
    assert [run in told for run in runs] == [False, True, False]
    assert "Harbor deck, three nights" in json.dumps(whole["parts"]["water"])


def test_the_night_tells_no_more_of_other_water_than_that_it_moved(book: Desk, tmp_path: Path) -> None:
    """A dump before the stop that was asked about, a meter at another's site: no place, amount or name of them."""
    for command in (
        ("add", "place", "Fish counter cleanout", "kind=sewer cleanout", "site=Quillon Fish Counter", "--who", "R"),
        ("add", "instrument", "Quillon counter meter", "kind=meter", "measures=supply", "site=Quillon Fish Counter",
         "unit=gal", "step=1", "--who", "R"),
    ):  # fmt: skip
        said = book(*command)
        assert said.code == 0, said.err
    night = tmp_path / "night.toml"
    night.write_text(OTHERS, encoding="utf-8")
    said = book("log", "--from", night)
    assert said.code == 0, said.err
    question = (
        "--site",
        "Harbor deck",
        "--first",
        "2026-09-04",
        "--until",
        "2026-09-05",
        "--who",
        "R",
        "--case",
        "TC-9",
    )
    assert book("inquiry", "open", *question).code == 0
    text = words_in(packed(book, tmp_path, plan(book, tmp_path)))
    assert [word for word in ("Quillon", "Fish", "233 gal", "998441", "998674") if word in text] == []
    assert "Handover" in text


def test_a_job_whose_address_is_only_alike_has_no_pages_unless_the_owner_says_so(asked: Desk, tmp_path: Path) -> None:
    """The letter tells of it as of one that may not be meant; its client is in no byte of the pack."""
    question = ("--address", "60 Copperleaf Lane", *QUESTION[2:], "--case", "TC-20", "--who", "R")
    assert asked("inquiry", "open", *question).code == 0
    assert asked("inquiry", "pack", "TC-20", "--out", tmp_path).code == 0
    path = tmp_path / "inquiry-2.toml"
    job = '[[job]]\nname = "2026-09-21-big-blue.s1"\nwhat = "Copperleaf Row Owners, Copperleaf Row north"\ngo = '
    assert job + "false" in path.read_text(encoding="utf-8")
    assert asked("inquiry", "pack", "TC-20", "--out", tmp_path, "--plan", path).code == 0
    text = words_in(tmp_path / "inquiry-2")
    assert "it may be another street" in text
    assert "Withheld: the pages of 1 job near there" in text
    assert [
        word for word in ("Copperleaf Row Owners", "856 − 576", "R-20960", "the mat, from above") if word in text
    ] == []
    assert "The pages of the jobs near there were withheld" in text
    assert "Nothing is written down of this." not in text
    path.write_text(path.read_text(encoding="utf-8").replace(job + "false", job + "true"), encoding="utf-8")
    assert asked("inquiry", "pack", "TC-20", "--out", tmp_path / "b", "--plan", path).code == 0
    whole = words_in(tmp_path / "b" / "inquiry-2")
    assert "Copperleaf Row Owners" in whole
    assert "Withheld: the pages" not in whole


def test_the_night_calls_a_stop_whose_pages_stay_at_home_no_stop_that_was_not_asked_about(
    asked: Desk, tmp_path: Path
) -> None:
    """The letter tells of it; what a part does not tell of it is not said to be unwritten."""
    asked("edit", "site", "Harbor deck", "address=66 Copperleaf Row, Port Alder", "--who", "R")
    path = plan(asked, tmp_path, ('Harbor deck"\ngo = true', 'Harbor deck"\ngo = false'))
    whole = json.loads((packed(asked, tmp_path, path) / "answer.json").read_text(encoding="utf-8"))["parts"]
    night = json.dumps(whole["timeline"])
    assert "A stop whose pages were withheld" in night
    assert "not asked about" not in night
    assert "Nothing is written down of this." not in json.dumps(whole)


def test_a_plan_without_jobs_takes_all_of_them(asked: Desk, tmp_path: Path) -> None:
    """As plans were written before; one that lists some keeps the others at home."""
    path = plan(asked, tmp_path)
    text = path.read_text(encoding="utf-8")
    start = text.index("[[job]]")
    end = text.index("[[part]]", start)
    assert "go = true" in text[start:end]
    path.write_text(text[:start] + text[end:], encoding="utf-8")
    assert "856 − 576" in words_in(packed(asked, tmp_path, path))
    path.write_text(text[:start] + text[start:end].replace(".s1", ".s9") + text[end:], encoding="utf-8")
    assert "856 − 576" not in words_in(packed(asked, tmp_path / "b", path))


def test_the_last_sheet_denies_of_no_run_that_it_was_near_and_sends_nobody_to_what_stays_at_home(
    asked: Desk, tmp_path: Path
) -> None:
    """A rig that was out that night, at a place that nobody wrote down, was not elsewhere."""
    night = tmp_path / "night.toml"
    night.write_text(
        'rig = "Little Heron"\nlead = "Tomás Ibarra"\ndate = "2026-09-21"\nwhere = "aboard"\n'
        '[[line]]\nline = "stop"\nsite = "Some yard"\n',
        encoding="utf-8",
    )
    assert asked("log", "--from", night).code == 0
    path = plan(asked, tmp_path)
    text = words_in(packed(asked, tmp_path / "all", path))
    assert "Rig Little Heron: out, and where is not written down" in text
    assert "1 run of these days that these records do not show near there" in text
    assert "elsewhere, off, cancelled, or its place not written down. The letter names them" in text
    of = titles(path)
    text = words_in(packed(asked, tmp_path / "some", plan(asked, tmp_path, *(
        switched(part, of[part], False) for part in ("letter", "water"))
    )))  # fmt: skip
    assert "The letter names them" not in text
    assert "a count and an amount stand with the water" not in text
    assert "Other jobs whose water was in the same loads; no client is named." in text


def test_no_sheet_promises_what_the_plan_keeps_at_home(asked: Desk, tmp_path: Path) -> None:
    """Without tickets and permissions the sheet of the places names neither in its title, and tells of no copy."""
    path = plan(asked, tmp_path)
    whole = json.loads((packed(asked, tmp_path / "all", path) / "answer.json").read_text(encoding="utf-8"))
    assert "Copies of the tickets that were kept stand among" not in json.dumps(whole["parts"]["tickets"])
    assert "Where a copy of a ticket was kept and goes along" in json.dumps(whole["parts"]["tickets"])
    of = titles(path)
    plan(asked, tmp_path, *(switched(part, of[part], False) for part in ("tickets", "in force")))
    whole = json.loads((packed(asked, tmp_path / "some", path) / "answer.json").read_text(encoding="utf-8"))
    title = whole["parts"]["places"]["title"]
    assert title == of["places"]
    assert not re.search("ticket|permission", title, re.IGNORECASE)
    assert "Of what this pack tells, nothing is awaited." in json.dumps(whole["parts"]["gaps"])
