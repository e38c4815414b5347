"""The proof of recovery: what stands on it, and what never does."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping
from typing import Any

import pytest

from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.reports import html, pdf
from compliance.reports.model import (
    Bullets,
    Cell,
    Fact,
    OpenItems,
    Page,
    PageBreak,
    Paragraph,
    Statement,
    Table,
    WaterPath,
)
from compliance.reports.page_json import from_json, to_json
from tests.reports.making import (
    HEAD,
    Bench,
    close_month,
    findings_of,
    keep_month,
    keep_proof,
    past,
    pdf_texts,
    proof,
    sample,
    texts,
)

ONE_STOP = "Alder Oven dock, September"
LANGUAGES = ("en", "es")


def fact(page: Page, label: str) -> str:
    """The value beside a label at the head of a page."""
    return next(one.value for one in page.facts if one.label == label)


def block(page: Page, kind: type, at: int = 0) -> Any:
    """The at-th block of a kind."""
    return [one for one in page.blocks if isinstance(one, kind)][at]


def water(page: Page) -> Mapping[str, tuple[Cell, ...]]:
    """The water table: what -> amount, how, reader."""
    return {row[0].text: row[1:] for row in block(page, Table, 1).rows}


def first_sheet(page: Page) -> tuple[Any, ...]:
    """The blocks before the first break."""
    blocks = page.blocks
    return blocks[: next(at for at, one in enumerate(blocks) if isinstance(one, PageBreak))]


@pytest.fixture(scope="module")
def one_stop() -> Bench:
    """Case 1."""
    return sample("case-01-one-stop")


@pytest.fixture(scope="module")
def route() -> Bench:
    """Case 2."""
    return sample("case-02-route-night")


# ---- the first sheet -------------------------------------------------------------------------------------------


def test_the_first_sheet_says_who_where_and_when(one_stop: Bench) -> None:
    """Title, number, contractor, client, site, times with their zone, crew, surface, date of issue."""
    page = proof(one_stop, ONE_STOP, replaces="bakery-0")
    assert (page.title, page.number, page.issuer) == ("Proof of recovery", "bakery-1", "Bluebank Wash Recovery")
    assert page.status == "complete: nothing is awaited"
    assert fact(page, "Contractor") == "Bluebank Wash Recovery, 18 Quay Street, Port Alder, Tamarack County, 555-0142"
    assert fact(page, "Client") == "Alder Oven Bakery"
    assert fact(page, "Site") == "Alder Oven, Canal Street, 212 Canal Street, Port Alder"
    assert fact(page, "When").replace("\u00a0", " ") == (
        "Sep 1, 2026, 8:45 pm to 11:20 pm\n(America/Denver, UTC−06:00)"
    )
    assert fact(page, "Rig, crew lead") == "Big Blue, Marisol Vega"
    assert fact(page, "Surface, area") == "concrete loading dock and front walk, 2,400 sq ft"
    assert fact(page, "Issued") == "Oct 2, 2026; replaces bakery-0"


def test_where_the_water_went_has_place_permission_time_ticket_and_receiver(one_stop: Bench) -> None:
    """One row a handover, with our volume and its ±."""
    (row,) = block(proof(one_stop, ONE_STOP), Table).rows
    place, permission, when, ticket, amount = (cell.text.replace("\u00a0", " ") for cell in row)
    assert place == "Alder Oven cleanout (sewer cleanout)\n2 in hose into the cleanout, cap put back"
    assert permission.startswith("written leave: Alder Oven leave, given by Alder Oven Bakery")
    assert permission.endswith("valid that day (Mar 2, 2026 to Mar 1, 2027)")
    assert when == "Sep 1, 2026, 10:45 pm\nby: Marisol Vega\npH 7.4"
    assert ticket == "ticket: not applicable\nreceived by: Nadia Brandvold"
    assert amount == "372.0 ± 8.6 gal"


def test_the_water_table_has_method_reader_and_plus_minus(one_stop: Bench) -> None:
    """Each figure of the hand-worked case stands with the line that a reader can redo."""
    rows = water(proof(one_stop, ONE_STOP))
    used, captured = rows["Used (fresh water drawn)"], rows["Captured in the tank"]
    assert [cell.text for cell in used] == ["437.0 ± 7.6 gal", "meter: 999,307 − 998,870 = 437 gal", "Marisol Vega"]
    assert (used[0].number, used[0].plus_minus) == ("437.00", "7.6")
    assert [cell.text for cell in captured] == [
        "378.6 ± 6.0 gal", "tank levels: 378.57 (26.5 in) − 0.00 (empty) = 378.57", "Dana Whitlock",
    ]  # fmt: skip
    assert rows["the same, by a second method"][0].text == "380 gal (stated, no ±)"
    assert rows["the same, by a second method"][1].text == "stated; agreement: cannot tell"
    assert rows["Handed over"][0].text == "372.0 ± 8.6 gal"
    assert rows["Still aboard"][0].text == "0 gal"
    assert rows["Film on it, an assumption"][0].text == "0 to 150 gal"
    assert rows["Not explained, at the wash"][0].text == "58.4 ± 9.7 gal"
    assert rows["Not explained, at the wash"][1].text == "used − captured: 437 − 378.57 = 58.43"
    assert rows["Not explained, in the tank"][0].text == "7 ± 11 gal"


def test_gallons_are_named_once(one_stop: Bench) -> None:
    """The page says 'US gallon' once and means it everywhere."""
    assert sum(text.count("US gallon") for text in texts(proof(one_stop, ONE_STOP))) == 1
    assert sum(text.count("US gal)") for text in texts(proof(one_stop, ONE_STOP, language="es"))) == 1


def test_the_picture_shows_every_end(one_stop: Bench) -> None:
    """Used, captured, the place, and what is not explained at either place."""
    path = block(proof(one_stop, ONE_STOP), WaterPath)
    assert {node.label: node.amount.text for node in path.nodes} == {
        "Used": "437.0 ± 7.6 gal",
        "Captured": "378.6 ± 6.0 gal",
        "Alder Oven cleanout": "372.0 ± 8.6 gal",
        "Not explained, in the tank": "7 ± 11 gal",
        "Not explained, at the wash": "58.4 ± 9.7 gal",
    }


def test_the_statement_has_sentence_name_role_and_date(one_stop: Bench) -> None:
    """The signer is the business's own unless another is named; without one there is a line to fill in."""
    said = block(proof(one_stop, ONE_STOP), Statement)
    assert said == Statement(
        "These are our records of this job as of October 2, 2026; they do not replace a permit or an inspection; "
        "the local permit governs.",
        "Ruth Okafor",
        "Owner",
        "Oct 2, 2026",
    )
    other = block(proof(one_stop, ONE_STOP, statement_signer=("Priya Lund", "office")), Statement)
    assert (other.name, other.role) == ("Priya Lund", "office")
    spanish = block(proof(one_stop, ONE_STOP, language="es"), Statement)
    assert spanish.sentence.startswith("Estos son nuestros registros de este trabajo al 2 de octubre de 2026;")


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("paper", ["letter", "A4"])
@pytest.mark.parametrize(
    ("case", "job"),
    [
        ("case-01-one-stop", ONE_STOP),
        ("case-02-route-night", "2026-09-03-big-blue.s7"),
        ("case-08-hauler-ticket", "2026-09-07-big-blue.s1"),
        ("case-03-three-nights", "Harbor deck, three nights"),
        ("case-12-overflow", "2026-09-21-big-blue.s1"),
        ("case-22-three-numbers", "2026-09-23-little-heron.s1"),
        ("case-23-unread-dump", "2026-09-24-big-blue.s2"),
    ],
)
def test_an_ordinary_proof_is_signed_on_its_first_sheet(case: str, job: str, language: str, paper: str) -> None:
    """All of the first sheet, the statement included, fits one sheet of paper; three nights still do."""
    bench = sample(case)
    page = proof(bench, job, language=language, paper=paper, findings=findings_of(bench))
    sheets = pdf_texts(pdf.render(page))
    assert {"en": "Signature", "es": "Firma"}[language] in sheets[0]
    assert {"en": "Behind the first sheet", "es": "Detrás de la primera hoja"}[language] in sheets[1]


def test_the_local_permit_governs_on_every_sheet(one_stop: Bench) -> None:
    """The fixed sentence is the foot of each sheet, in the language of the page."""
    for language, sentence in (("en", "The local permit governs."), ("es", "Rige el permiso local.")):
        for sheet in pdf_texts(pdf.render(proof(one_stop, ONE_STOP, language=language))):
            assert sentence in sheet


def test_the_record_code_is_the_last_thing_on_the_page(one_stop: Bench) -> None:
    """Size and root come small and last; what they show, and do not, is said before in words."""
    page = proof(one_stop, ONE_STOP)
    size = one_stop.state.size
    assert page.footer.code == (f"Record code: {size} records, root {HEAD.root}",)
    told = block(page, Bullets, 1).items
    assert any("how many records the book held" in one for one in told)
    assert any(one.startswith("It does not show that a reading was right") for one in told)
    assert any("'washwater verify --page FILE'" in one and "bakery-1" in one for one in told)
    assert proof(one_stop, ONE_STOP, head=None, number="").footer.code == ("Preview: no record code.",)


def test_no_ratio_threshold_or_verdict_stands_on_a_proof(september: Bench) -> None:
    """The only percentages are the coverage, a limit of error that a register states and limits of an assumption;
    nothing is called met, passed or failed.
    """
    found = findings_of(september)
    for run in september.night.runs.values():
        for stop in run.stops:
            page = proof(september, stop.job, findings=found)
            words = " ".join(text for text in texts(page) if "assumption: " not in text)
            without = re.sub(r"(?:limit of error of its table|stated limit of error) [0-9.]+\s%", "", words)
            assert set(re.findall(r"[0-9.]+\u00a0?\s?%", without)) <= {"95\u00a0%"}
            assert not re.search(r"\b(?:met|pass(?:ed)?|fail(?:ed)?|threshold|ratio|score)\b", words, re.IGNORECASE)


def test_a_page_made_again_is_the_same_to_the_byte(route: Bench) -> None:
    """The same records give the same page, PDF and HTML."""
    one, two = (proof(sample("case-02-route-night"), "2026-09-03-big-blue.s3") for _ in range(2))
    assert to_json(one) == to_json(two)
    assert pdf.render(one) == pdf.render(two)
    assert html.render(one) == html.render(two)
    assert from_json(to_json(one)) == one


# ---- water of several clients ----------------------------------------------------------------------------------


def others_names(bench: Bench, client: str) -> set[str]:
    """Everything that the registers and the runs say of clients other than one: names, sites, contacts, addresses."""
    registers = bench.state.registers
    found = set()
    for entry in registers.all("client"):
        if entry["name"] != client:
            found |= {entry["name"], entry.get("contact", ""), entry["address"].split(",")[0]}
    found |= {site["name"] for site in registers.all("site") if site["client"] != client}
    found |= {stop.ref for run in bench.night.runs.values() for stop in run.stops if stop.client != client}
    found |= {job["name"] for job in registers.all("job") if job["client"] != client}
    return found - {""}


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_proof_names_no_other_client(everything: Bench, language: str) -> None:
    """On no proof of any sample job does anything stand that names somebody else's client, site or stop."""
    found = findings_of(everything)
    pages = 0
    for run in everything.night.runs.values():
        for stop in run.stops:
            page = proof(everything, stop.job, language=language, findings=found)
            said = "\n".join([*texts(page), html.render(page), to_json(page)])
            leaked = {name for name in others_names(everything, stop.client) if name in said}
            assert leaked == set(), stop.ref
            pages += 1
    assert pages > 20


def test_a_divided_figure_says_so_and_carries_no_plus_minus(route: Bench) -> None:
    """The ± is printed for the load alone, the share says on what it was worked out, and of how many jobs."""
    page = proof(route, "2026-09-03-big-blue.s1")
    table = block(page, Table)
    assert table.rows[0][4].text == "63.41 gal, worked out, not measured\nof 431 ± 10 gal in all"
    assert table.note == (
        "Load 2026-09-03-big-blue.l1 held water of 8 jobs; this job's part is worked out by metered use, then in "
        "proportion."
    )
    captured = water(page)["Captured in the tank"]
    assert captured[0] == Cell("64.10 gal, worked out, not measured")
    assert captured[1].text == "worked out by metered use, 74 of 503; from 435.7 ± 6.5 gal of 8 stops"
    assert captured[2].text == "Tomás Ibarra"


def test_all_shares_of_a_load_are_the_whole_of_it(route: Bench) -> None:
    """What the eight proofs hand over adds up to the handover, to the hundredth."""
    parts = [block(proof(route, f"2026-09-03-big-blue.s{n}"), Table).rows[0][4].text.split(" ")[0] for n in range(1, 9)]
    assert sum(round(float(part) * 100) for part in parts) == 43100


def test_their_volume_is_a_line_of_its_own(september: Bench) -> None:
    """What the receiver accepted changes nothing of ours; the difference is said beside it."""
    (row,) = block(proof(september, "2026-09-07-big-blue.s1"), Table).rows
    assert row[3].text == (
        "ticket: DF-1187\naccepted: 308 gal\ntheirs − ours: −42 gal\n"
        "received by: Orla Benning; Orla Benning, Dry Fork Hauling"
    )
    assert row[4].text == "350.0 ± 8.1 gal"


REGISTERS: Mapping[str, Any] = {
    "business": {"name": "Bluebank Wash Recovery", "unit": "gal", "zone": "America/Denver"},
    "rig": [{"name": "Big Blue"}],
    "tank": [{"name": "tank", "rig": "Big Blue", "role": "recovery", "capacity": "500 gal"}],
    "client": [{"name": "Mine"}, {"name": "Theirs"}],
    "site": [{"name": "my yard", "client": "Mine"}, {"name": "their yard", "client": "Theirs"}],
    "place": [{"name": "their cleanout", "kind": "sewer cleanout", "site": "their yard", "address": "9 Other Lane"}],
    "permission": [
        {"name": "Theirs, leave", "place": "their cleanout", "kind": "written leave", "given_by": "Theirs",
         "valid_from": "2026-01-01"},
    ],
}  # fmt: skip


def shared_night(**run: Any) -> Bench:
    """A night at two clients, dumped at the site of the second."""
    lines = [
        {"line": "reading", "of": "tank", "shows": "empty"},
        {"line": "stop", "site": "my yard", "arrived": "20:00", "left": "21:00", "remark": "a remark about our side"},
        {"line": "stop", "site": "their yard", "arrived": "21:30", "left": "22:30", "remark": "a remark about theirs"},
        {"line": "escape", "what": "the lid at Theirs flew open", "from_tank": "tank", "amount": "not read",
         "reached": "pavement only"},
        {"line": "hand over", "place": "their cleanout", "amount": "100 gal", "tank_after": "empty", "at": "23:00"},
    ]  # fmt: skip
    night = {"id": "night", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines",
             "recovered": "100 gal", "remark": "Theirs was late with the gate", "line": lines, **run}  # fmt: skip
    return Bench([]).put(REGISTERS).put(night)


def test_a_place_at_another_clients_site_is_described_and_not_named() -> None:
    """The water went there, and that is said; whose site it is stays in the book."""
    (row, *_) = [
        row for row in block(proof(shared_night(), "2026-09-01-big-blue.s1"), Table).rows if "cleanout" in row[0].text
    ]
    assert row[0].text.startswith("sewer cleanout, at another client's site; its name is in our book")
    assert row[1].text.startswith("written leave, held for that place; valid that day")
    theirs = block(proof(shared_night(), "2026-09-01-big-blue.s2"), Table).rows
    assert any(row[0].text.startswith("their cleanout (sewer cleanout)") for row in theirs)


def test_free_text_that_clients_share_stays_in_the_book() -> None:
    """A run's remark, an escape at another stop and a correction's reason may speak of somebody else."""
    bench = shared_night()
    bench.put({"kind": "correct", "id": "c1", "run": "2026-09-01-big-blue", "field": "recovered",
               "value": "90 gal", "reason": "keyed wrong", "why": "that was the figure of Theirs"})  # fmt: skip
    mine, theirs = (" ".join(texts(proof(bench, f"2026-09-01-big-blue.s{n}"))) for n in (1, 2))
    assert "a remark about our side" in mine
    for text in ("Theirs", "a remark about theirs", "flew open", "gate"):
        assert text not in mine, text
    assert "kept in our book: it may speak of other clients' stops" in mine
    assert "100 gal" in mine and "90 gal" in mine
    assert "flew open" in theirs


def test_a_field_that_once_named_another_client_is_not_printed() -> None:
    """A stop keyed to the wrong site is corrected in the open, without the name of the wrong one."""
    bench = shared_night().put(
        {"kind": "correct", "id": "c2", "run": "2026-09-01-big-blue", "line": "2", "field": "site",
         "value": "their yard", "reason": "keyed wrong", "why": "mixed up"}
    )  # fmt: skip
    page = " ".join(texts(proof(bench, "2026-09-01-big-blue.s1")))
    assert "my yard" not in page
    assert "another client's, kept in our book" in page


# ---- what is not known -----------------------------------------------------------------------------------------


def test_an_unread_dump_leaves_both_loads_unknown(september: Bench) -> None:
    """Nothing is divided half and half, and nothing becomes zero."""
    page = proof(september, "2026-09-24-big-blue.s2")
    amounts = [row[4].text for row in block(page, Table).rows]
    assert amounts == ["part not known", "part not known\nof 290.0 ± 6.7 gal in all"]
    rows = water(page)
    assert rows["Captured in the tank"][0].text == "not known"
    assert rows["Handed over"][0].text == "not known"
    assert {node.amount.text for node in block(page, WaterPath).nodes if node.kind == "place"} == {"part not known"}


def test_water_that_escaped_is_shown_openly(september: Bench) -> None:
    """An escape stands on the first sheet, in the picture and under what went wrong, its amount 'not read'."""
    page = proof(september, "2026-09-21-big-blue.s1")
    assert page.status.startswith("water got away; ")
    rows = {row[0].text: row[4].text for row in block(page, Table).rows}
    assert rows["Got away before it was captured; reached: storm drain"] == "not read"
    assert rows["Got away out of the tank"] == "part not known"
    assert water(page)["Got away, not captured"][0].text == "not read"
    assert water(page)["Got away out of the tank"][0].text == "not known"
    wrong = block(page, Bullets).items
    assert any("cover mat on the arcade drain leaked at one edge. Reached: storm drain. Amount: not read" in one
               for one in wrong)  # fmt: skip
    assert any("Water was seen entering the drain 'arcade drain'" in one for one in wrong)
    assert any(node.label == "Got away" for node in block(page, WaterPath).nodes)
    other = proof(september, "2026-09-21-big-blue.s2")
    assert "Got away, not captured" not in water(other)
    assert not any("0 gal" in row[4].text for row in block(other, Table).rows)


def test_a_clean_night_says_that_nothing_is_recorded(one_stop: Bench) -> None:
    """What went wrong: nothing recorded, and what the crew answered when asked."""
    page = proof(one_stop, ONE_STOP)
    said = [one.text for one in page.blocks if isinstance(one, Paragraph)]
    assert "Nothing recorded." in said
    assert "Did water get away? The crew: saw none." in said


def test_what_nobody_recorded_is_awaited_and_not_read_is_not(september: Bench) -> None:
    """'Not recorded yet' makes an open item, 'not read' is an answer; the status counts what is awaited."""
    page = proof(september, "2026-09-23-little-heron.s1", findings=findings_of(september))
    items = block(page, OpenItems).items
    assert page.status == f"{len(items)} items awaited"
    assert "Stop of Sep 23, 2026: Area, Arrived, Left, Surface" in items
    assert any(one.startswith("Handover at Alder Oven cleanout") and "Kind of connection" in one for one in items)
    complete = proof(september, "2026-09-14-big-blue.s1", findings=findings_of(september))
    assert "not read" in fact(complete, "Surface, area")
    assert block(complete, OpenItems).items == (
        "Handover at Port Alder receiving station (receiving station), Sep 14, 2026: Accepted by them",
    )


def test_in_a_closed_month_not_recorded_yet_is_not_recorded() -> None:
    """Once its month was closed nothing of a night is 'not yet' any more; a summary alone does not close it."""
    bench = sample("case-22-three-numbers", "case-05-no-meter")
    keep_month(bench, "2026-09-01", "2026-09-30")
    before = " ".join(texts(proof(bench, "2026-09-23-little-heron.s1")))
    close_month(bench, "2026-09")
    after = " ".join(texts(proof(bench, "2026-09-23-little-heron.s1")))
    assert "not recorded yet" in before
    assert "not recorded yet" not in after and "not recorded" in after
    found = findings_of(bench)
    page = proof(bench, "2026-09-23-little-heron.s1", findings=found)
    items = block(page, OpenItems).items
    assert page.status == f"{len(items)} open items"
    assert "Stop of Sep 23, 2026, not recorded: Area, Arrived, Left, Surface" in items
    assert any(
        "sin anotar: " in one
        for one in block(proof(bench, "2026-09-23-little-heron.s1", findings=found, language="es"), OpenItems).items
    )
    assert "not read" in " ".join(texts(proof(bench, "2026-09-14-big-blue.s1")))


def test_water_still_aboard_and_a_ticket_to_come_are_open_items() -> None:
    """Both are awaited without any finding: the water until it is handed over, the ticket until it arrives."""
    bench = Bench([]).put(REGISTERS).put(
        {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
         "recovered": "100 gal", "line": [
             {"line": "reading", "of": "tank", "shows": "empty"},
             {"line": "stop", "site": "my yard"},
             {"line": "hand over", "place": "a hauler", "amount": "40 gal", "ticket": "later", "at": "23:00"},
         ]}
    )  # fmt: skip
    items = [one.replace("\u00a0", " ") for one in block(proof(bench, "2026-09-01-big-blue.s1"), OpenItems).items]
    assert items == [
        "Ticket of a hauler, Sep 1, 2026, 11:00 pm",
        "Water still aboard, not handed over yet: 60 gal (stated, no ±)",
    ]


def test_a_permission_out_of_force_or_out_of_the_files_says_so() -> None:
    """Expired, unnamed, unfiled and not needed are four different sentences, and none of them is a verdict."""
    registers = {
        **REGISTERS,
        "place": [{"name": "plant", "kind": "treatment plant"}],
        "permission": [
            {"name": "P-1", "place": "plant", "kind": "permit", "given_by": "the plant", "valid_from": "2025-01-01",
             "valid_to": "2025-12-31"},
            {"name": "P-0", "place": "plant", "kind": "not needed", "because": "the plant is ours"},
            {"name": "P-2", "place": "plant", "kind": "permit", "given_by": "the plant"},
            {"name": "L-1", "place": "my lawn", "kind": "written leave", "valid_from": "2025-01-01"},
        ],
    }  # fmt: skip

    def said(**line: str) -> str:
        bench = Bench([]).put(registers).put(
            {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines",
             "recovered": "100 gal", "line": [
                 {"line": "reading", "of": "tank", "shows": "empty"},
                 {"line": "stop", "site": "my yard"},
                 {"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty", **line},
             ]}
        )  # fmt: skip
        return str(block(proof(bench, "2026-09-01-big-blue.s1"), Table).rows[0][1].text)

    assert said(permission="P-1") == "permit: P-1, given by the plant; NOT valid that day (Jan 1, 2025 to Dec 31, 2025)"
    assert said(permission="P-2") == "permit: P-2, given by the plant; its dates are not on file"
    assert said(permission="P-0") == "not needed, because: the plant is ours"
    assert said(permission="P-9") == "P-9 (not on file)"
    assert said(permission="L-1") == "L-1, which is on file for another place: my lawn"
    assert said(permission="not applicable") == "not applicable"
    assert said() == "not needed, because: the plant is ours (on file for the place, not named that night)"


# ---- the sheets behind -----------------------------------------------------------------------------------------


def tables(page: Page) -> list[list[list[str]]]:
    """All tables after the first sheet, as texts."""
    return [
        [[cell.text.replace("\u00a0", " ") for cell in row] for row in one.rows]
        for one in page.blocks[len(first_sheet(page)) :]
        if isinstance(one, Table)
    ]


def test_drains_agents_and_filters_stand_line_by_line(one_stop: Bench) -> None:
    """Each drain with its times and what was seen, each product with its dilution, each stage in its order."""
    drains, agents, filters = tables(proof(one_stop, ONE_STOP))
    assert drains[0] == ["dock drain", "cover mat and berm", "8:55 pm", "11:05 pm", "none seen", "no"]
    assert agents == [["house degreaser", "degreaser", "1 part of concentrate to 40 parts of water", "16 fl oz", "yes"]]
    assert filters[2] == ["cartridge", "25 µm", "372 gal", "same"]


def test_a_correction_shows_both_values(one_stop: Bench) -> None:
    """Before, now, why and by whom; a completion says that nothing stood there."""
    bench = sample("case-01-one-stop").put(
        {"kind": "correct", "id": "c", "handed_in": "2026-09-05T09:00-06:00", "run": "2026-09-01-big-blue",
         "line": "3", "field": "shows", "value": "27.0 in", "reason": "read wrong", "why": "read at an angle",
         "who": "Dana Whitlock"}
    ).put(
        {"kind": "complete", "id": "d", "handed_in": "2026-09-06T09:00-06:00", "run": "2026-09-01-big-blue",
         "field": "remark", "value": "dry night", "who": "Priya Lund"}
    )  # fmt: skip
    *_, changes = tables(proof(bench, ONE_STOP))
    assert changes == [
        ["Sep 5, 2026, 9:00 am", "It shows", "26.5 in", "27.0 in", "read wrong; read at an angle; Dana Whitlock"],
        ["Sep 6, 2026, 9:00 am", "Remark", "not recorded yet", "dry night", "completed later; Priya Lund"],
    ]
    assert "No corrections." in texts(proof(one_stop, ONE_STOP))


def test_a_late_night_and_a_late_ticket_say_when_they_came(september: Bench) -> None:
    """When a night was handed in and when its ticket arrived stand with the days between."""
    said = [one.replace("\u00a0", " ") for one in texts(proof(september, "2026-09-07-big-blue.s1"))]
    assert "Run of Sep 7, 2026: handed in Sep 8, 2026, 8:20 am" in said
    assert "Ticket DF-1187: received Sep 29, 2026, 10:15 am" in said
    late = Bench([]).put(REGISTERS).put(
        {"id": "n", "handed_in": "2026-09-09T10:00-06:00", "rig": "Big Blue", "lead": "Marisol Vega",
         "date": "2026-09-01", "where": "not known", "line": [{"line": "stop", "site": "my yard"}]}
    )  # fmt: skip
    said = [one.replace("\u00a0", " ") for one in texts(proof(late, "2026-09-01-big-blue.s1"))]
    assert "Run of Sep 1, 2026: handed in Sep 9, 2026, 10:00 am, 8 days after it ended" in said


def attach(bench: Bench, about: str, line: str, name: str, sha256: str) -> None:
    """Keep a file with a record."""
    held = {"record": about, "line": line, "name": name, "sha256": sha256, "size": 9, "media": "image/jpeg",
            "what": "photo"}  # fmt: skip
    bench.add(Entry(sha256[:32], kinds.ATTACH, "2026-09-02", "2026-09-02T08:00:00-06:00", held), "2026-09-02")


def test_files_are_listed_with_their_hash_and_only_ours() -> None:
    """A file of one of our stops, or of a run that is ours alone; not one of a run that others share."""
    bench = sample("case-01-one-stop", "case-02-route-night")
    alone, shared = (run.record for run in bench.state.runs)
    attach(bench, alone, "", "whole night.jpg", "a" * 64)
    attach(bench, alone, "2", "dock.jpg", "b" * 64)
    attach(bench, shared, "2", "walk.jpg", "c" * 64)
    attach(bench, shared, "", "route.jpg", "d" * 64)
    attach(bench, shared, "3", "fish.jpg", "e" * 64)
    mine = [row for table in tables(proof(bench, ONE_STOP)) for row in table]
    assert ["whole night.jpg", "photo", "a" * 64] in mine and ["dock.jpg", "photo", "b" * 64] in mine
    said = " ".join(texts(proof(bench, "2026-09-03-big-blue.s1")))
    assert "walk.jpg" in said and "c" * 64 in said
    assert "route.jpg" not in said and "fish.jpg" not in said


def test_a_stop_not_worked_says_why(september: Bench) -> None:
    """No water, no figures, and the reason on the first sheet and under what went wrong."""
    page = proof(september, "2026-09-17-big-blue.s2")
    assert "not worked, because: gate locked, nobody with a key until morning" in fact(page, "When")
    assert isinstance(first_sheet(page)[1], Paragraph)
    assert any("not worked, because: gate locked" in item for item in block(page, Bullets).items)


def test_a_job_of_several_nights_has_its_sums(september: Bench) -> None:
    """One row a night, the sum with its ± carried by source, and a correlation that a plain sum would miss."""
    rows = {row[0].text: row[1].text for row in block(proof(september, "Harbor deck, three nights"), Table, 1).rows}
    assert rows["Used (fresh water drawn): Sep 8, 2026"] == "105.6 ± 6.1 gal"
    assert rows["Used (fresh water drawn): sum"] == "264 ± 15 gal"
    assert rows["Captured in the tank: sum"] == "245.4 ± 7.7 gal"


def test_a_division_that_changed_after_it_was_printed_is_version_two() -> None:
    """A late correction makes a second version of the load's division; the page says so and names nobody."""
    bench = sample("case-02-route-night")
    page = proof(bench, "2026-09-03-big-blue.s1")
    stop = next(iter(bench.night.runs.values())).stops[0]
    number = keep_proof(bench, stop.job)
    assert "version" not in block(proof(bench, stop.job), Table).note
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-03-big-blue", "line": "3", "field": "used",
               "value": {"method": "meter", "meter": "Big Blue supply meter", "start": "999381", "end": "999412"},
               "reason": "keyed wrong", "why": "a digit", "who": "Priya Lund"})  # fmt: skip
    changed = proof(bench, stop.job, replaced=past(bench, number))
    assert "(version 2 of its division; an earlier page printed another)" in block(changed, Table).note
    assert block(changed, Table).rows[0][4].text != block(page, Table).rows[0][4].text
    assert not any("Quillon" in text for text in texts(changed))
    first_of_another = proof(bench, "2026-09-03-big-blue.s5")
    assert "version" not in block(first_of_another, Table).note


# ---- the worst and the emptiest --------------------------------------------------------------------------------


def worst(remark: str) -> Bench:
    """Three nights, two rigs, twelve drains, a long remark, readings that are missing and a stated dump."""
    bench = sample()
    for night in range(3):
        for rig, tank in (("Big Blue", "Big Blue recovery"), ("Little Heron", "Little Heron recovery")):
            first = night == 0 and rig == "Big Blue"
            drains = [{"name": f"drain {i}", "method": "mat", "on": "20:05", "off": "23:00", "seen": "not watched"}
                      for i in range(12 if first else 0)]  # fmt: skip
            lines: list[dict[str, Any]] = [
                {"line": "reading", "of": tank, "shows": "empty" if night == 0 else "not read"},
                {"line": "stop", "job": "Harbor deck, three nights", "client": "Port Alder Harbor Trust",
                 "site": "Harbor deck", "arrived": "20:05", "left": "23:30", "drain_list": drains},
                {"line": "reading", "of": tank, "shows": f"{10 + 5 * night} in"},
            ]  # fmt: skip
            if first:
                lines[1]["remark"] = remark
            if night == 2:
                lines.append({"line": "hand over", "place": "Port Alder receiving station", "tank_after": "empty",
                              "amount": "~430 gal", "ticket": "later", "at": "23:50"})  # fmt: skip
            bench.put({"id": f"{night} {rig}", "rig": rig, "lead": "Marisol Vega", "date": f"2026-09-{10 + night}",
                       "where": "aboard" if night < 2 else "see lines", "line": lines})  # fmt: skip
    return bench


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_worst_page_loses_no_character(language: str) -> None:
    """Three nights, two rigs, twelve drains and 20,000 characters of remark, markup among them, all arrive on paper."""
    remark = ("The gate was locked & the <b>guard</b> came late; 5 > 3, =SUM(A1). " * 400)[:20_000].strip()
    bench = worst(remark)
    page = proof(bench, "Harbor deck, three nights", language=language, findings=findings_of(bench))
    paper = re.sub(r"\s", "", "".join(_between_feet(sheet) for sheet in pdf_texts(pdf.render(page))))
    assert re.sub(r"\s", "", remark) in paper
    assert all(f"drain{i}" in paper for i in range(12))
    assert "<b>guard" not in html.render(page)


def _between_feet(sheet: str) -> str:
    """The text of a sheet without its foot."""
    foot = re.compile(r"The local permit governs|Rige el permiso local|page \d|página \d|Bluebank Wash Recovery ·|\d+$")
    return "\n".join(line for line in sheet.splitlines() if not foot.match(line.strip()))


@pytest.mark.parametrize("language", LANGUAGES)
def test_the_emptiest_page_is_a_page(language: str) -> None:
    """A night of which nothing is known but its five answers says so everywhere, and nothing on it is zero."""
    bench = Bench([]).put({"business": {"name": "B", "unit": "gal", "zone": "America/Denver"}}).put(
        {"id": "n", "rig": "a rig", "lead": "somebody", "date": "2026-09-01", "where": "not known",
         "line": [{"line": "stop", "site": "somewhere"}]}
    )  # fmt: skip
    page = proof(bench, "2026-09-01-a-rig.s1", language=language, findings=findings_of(bench), number="", head=None)
    rows = [cell.text for row in block(page, Table).rows for cell in row]
    assert not any(re.match(r"0(?:\.0+)? gal", text) for text in rows)
    assert len(pdf_texts(pdf.render(page))) == 2
    said = block(page, Statement)
    assert (said.name, said.role) == ("", "")
    assert Fact("Client" if language == "en" else "Cliente",
                "not recorded yet" if language == "en" else "todavía sin anotar") in page.facts  # fmt: skip


# ---- less ordinary nights --------------------------------------------------------------------------------------


def own_night(*lines: Mapping[str, Any], **run: Any) -> Bench:
    """A night of one client, with these lines after an empty tank and one stop."""
    given = {"id": "night", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines",
             "used": "120 gal", "recovered": "100 gal", **run}  # fmt: skip
    first = [{"line": "reading", "of": "tank", "shows": "empty"}, {"line": "stop", "site": "my yard"}]
    return Bench([]).put(REGISTERS).put({**given, "line": [*first, *lines]})


OURS = "2026-09-01-big-blue.s1"


def test_water_led_away_has_its_row_and_its_permission() -> None:
    """It never was in our tank: place, permission, and the amount as it was recorded."""
    page = proof(own_night({"line": "led away", "place": "my lawn", "amount": "15 gal"}), OURS)
    row = next(row for row in block(page, Table).rows if "Led away" in row[0].text)
    assert row[0].text == "Led away, not through our tank: my lawn"
    assert row[1].text == "none named, none on file"
    assert row[4].text == "15 gal (stated, no ±)"
    assert water(page)["Led away, not through our tank"][0].text == "15 gal (stated, no ±)"


def test_an_escape_without_a_line_of_its_own_is_said() -> None:
    """'Yes, water got away' with nothing more is shown, as not recorded yet."""
    page = proof(own_night(got_away="yes"), OURS)
    row = next(row for row in block(page, Table).rows if row[0].text.startswith("Got away"))
    said = [one.replace("\u00a0", " ") for one in texts(page)]
    assert "Nothing recorded." not in said
    assert any("what, where it went and how much are not written down" in one for one in said)
    assert "Stop of Sep 1, 2026: what got away, where it went and how much" in said
    assert (row[0].text, row[4].text) == ("Got away; nothing more is recorded", "not recorded yet")


def test_water_used_again_goes_back_in_the_picture() -> None:
    """It leaves the tank and is applied once more."""
    page = proof(own_night({"line": "use again", "amount": "30 gal", "at": "21:00"}), OURS)
    row = next(row for row in block(page, Table).rows if row[0].text == "Used again on the rig")
    assert row[4].text == "30 gal (stated, no ±)"
    flows = block(page, WaterPath).flows
    assert any(one.source.startswith("captured") and one.target.startswith("used") for one in flows)


def test_a_refused_load_is_said_and_stays_aboard() -> None:
    """The refusal stands under what went wrong; the water is still ours."""
    refused = {"line": "hand over", "place": "plant", "amount": "100 gal", "refused": "pH too high"}
    page = proof(own_night(refused, where="aboard"), OURS)
    assert "plant refused the water: pH too high" in block(page, Bullets).items
    assert water(page)["Still aboard"][0].text == "100 gal (stated, no ±)"


def test_water_that_left_a_tank_by_accident_is_a_share_of_the_tank() -> None:
    """A measured overflow of our own load carries its figure."""
    page = proof(own_night({"line": "escape", "what": "lid", "from_tank": "tank", "amount": "5 gal",
                            "reached": "pavement only"}), OURS)  # fmt: skip
    assert water(page)["Got away out of the tank"][0].text == "5 gal (stated, no ±)"
    assert "Got away, not captured" not in water(page)


def test_a_line_added_later_stands_with_the_corrections() -> None:
    """A forgotten handover is added, in the open."""
    bench = own_night(where="not known").put(
        {"kind": "complete", "id": "c", "run": "2026-09-01-big-blue", "add_after": "2", "who": "Priya Lund",
         "line_values": {"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty"}}
    )  # fmt: skip
    *_, changes = tables(proof(bench, OURS))
    assert changes[0][1:4] == ["Handover: line added", "no such line", "Handover"]
    assert changes[0][4] == "completed later; Priya Lund"


def test_a_ticket_for_several_handovers_is_said_to_be() -> None:
    """Its one figure is not held against either of our volumes."""
    bench = own_night(
        {"line": "hand over", "place": "plant", "amount": "40 gal"},
        {"line": "hand over", "place": "plant", "amount": "60 gal", "tank_after": "empty"},
    ).put({"kind": "ticket", "id": "t", "number": "T-9", "accepted": "95 gal",
           "handovers": [{"run": "2026-09-01-big-blue", "line": n} for n in ("3", "4")]})  # fmt: skip
    attach(bench, bench.state.tickets[0].record, "", "ticket.jpg", "9" * 64)
    page = proof(bench, OURS)
    for row in block(page, Table).rows:
        assert "accepted: 95 gal for 2 handovers together" in row[3].text
        assert "theirs − ours" not in row[3].text
    assert "ticket.jpg" in texts(page)


def test_an_absent_permission_is_awaited_by_name() -> None:
    """A handover without any permission on file is an open item of its own."""
    bench = own_night({"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty"})
    items = block(proof(bench, OURS, findings=findings_of(bench)), OpenItems).items
    assert any("Handover at plant" in one and "without a permission on file" in one for one in items)


def test_two_stops_of_one_night_are_told_apart_by_number() -> None:
    """Several stops of a job on one night carry their numbers."""
    bench = Bench([]).put({**REGISTERS, "job": [{"name": "big job", "client": "Mine"}]}).put(
        {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
         "line": [{"line": "stop", "site": "my yard", "job": "big job", "agents": [{"agent": "soap"}]},
                  {"line": "stop", "site": "my yard", "job": "big job"}]}
    )  # fmt: skip
    (agents,) = tables(proof(bench, "big job"))
    assert agents == [["Sep 1, 2026, stop 1", "soap", "not recorded yet", "not recorded yet", "not recorded yet",
                       "not recorded yet"]]  # fmt: skip


def test_a_corrected_ticket_shows_both_values() -> None:
    """Under its number, each time it was corrected."""
    bench = sample("case-08-hauler-ticket")
    change = {"kind": "correct", "run": "ticket DF-1187", "field": "accepted", "value": "312 gal",
              "handed_in": "2026-10-01T09:00-06:00", "reason": "keyed wrong", "why": "the 8 is a 12",
              "who": "Ruth Okafor"}  # fmt: skip
    bench.put(change).put({**change, "value": "308 gal", "why": "it is an 8 after all", "id": "back"})
    page = proof(bench, "2026-09-07-big-blue.s1")
    *_, changes = tables(page)
    assert [row[1:] for row in changes] == [
        ["Accepted, ticket DF-1187", "308 gal", "312 gal", "keyed wrong; the 8 is a 12; Ruth Okafor"],
        ["Accepted, ticket DF-1187", "312 gal", "308 gal", "keyed wrong; it is an 8 after all; Ruth Okafor"],
    ]


def test_jugs_counted_for_a_night_are_said_to_be_of_all_its_stops() -> None:
    """A jug without a size says so; a night without jugs says nothing of them."""
    night = own_night({"line": "agent jugs", "agent": "soap", "jugs": "2"})
    said = (
        "Counted for the whole night of Sep 1, 2026, all its stops together: soap, jugs: 2, in each: not recorded yet."
    )
    assert said in [one.replace("\u00a0", " ") for one in texts(proof(night, OURS))]
    assert not any("Counted for the whole night" in one for one in texts(proof(own_night(), OURS)))


def test_a_night_that_no_rule_judges_still_says_what_it_lacks() -> None:
    """Nothing is called complete only because it is older than the book."""
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-06-01", "where": "not known",
             "line": [{"line": "stop", "site": "my yard"}]}  # fmt: skip
    bench = Bench([]).put(REGISTERS).put(night)
    assert bench.state.judged_from > "2026-06-01"
    page = proof(bench, "2026-06-01-big-blue.s1")
    (items,) = [one for one in page.blocks if isinstance(one, OpenItems)]
    assert page.status == "2 items awaited" and len(items.items) == 2
    assert "Run of Jun 1, 2026: " in items.items[0].replace("\u00a0", " ") and "Used" in items.items[0]


def handed_over_on_anothers_night(**theirs: Any) -> Bench:
    """Our water stays aboard, and leaves on the next night, which is another client's and says next to nothing."""
    ours = {"id": "n1", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
            "used": "120 gal", "recovered": "100 gal", "line": [{"line": "stop", "site": "my yard"}]}  # fmt: skip
    next_night = {"id": "n2", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-02", "where": "plant",
                  "line": [{"line": "stop", "site": "their yard"}], **theirs}  # fmt: skip
    return Bench([]).put(REGISTERS).put(ours).put(next_night)


def test_the_gaps_of_another_clients_night_stand_on_no_page_of_ours() -> None:
    """Of the night on which our water left, only the handover is ours: its place, its gaps, when it was recorded."""
    bench = handed_over_on_anothers_night()
    bench.put({"kind": "correct", "id": "c", "run": "2026-09-02-big-blue", "field": "lead", "value": "Eli Sandoval",
               "reason": "keyed wrong", "why": "another hand"})  # fmt: skip
    bench.put({"kind": "correct", "id": "d", "run": "2026-09-02-big-blue", "field": "where", "value": "a hauler",
               "reason": "keyed wrong", "why": "the wrong place"})  # fmt: skip
    page = proof(bench, OURS, findings=findings_of(bench))
    said = [one.replace("\u00a0", " ") for one in texts(page)]
    assert not any("Run of Sep 2" in one for one in said)
    items = [one.replace("\u00a0", " ") for one in block(page, OpenItems).items]
    assert any(
        one.startswith("Handover at a hauler, Sep 2, 2026: Handover without a permission on file") for one in items
    )
    assert "Handover at a hauler, Sep 2, 2026: recorded Dec 1, 2026, 12:00 pm, 90 days after it ended" in said
    *_, changes = tables(page)
    assert [row[2:4] for row in changes] == [["plant", "a hauler"]]


def in_tank(bench: Bench, job: str) -> tuple[str, str]:
    """What a proof says of 'not explained, in the tank': amount, how."""
    rows = [row for one in proof(bench, job).blocks if isinstance(one, Table) for row in one.rows]
    (row,) = [row for row in rows if row[0].text == "Not explained, in the tank"]
    return row[1].text, row[2].text


def test_what_is_not_explained_in_the_tank_is_always_said(everything: Bench) -> None:
    """At zero, below zero, as a share, and where nobody can know it."""
    assert in_tank(everything, "Harbor deck, three nights") == ("0.0 ± 4.4 gal", "captured − left: 245.35 − 245.35 = 0")
    assert in_tank(everything, "2026-09-17-big-blue.s1") == ("−3.0 ± 8.9 gal", "captured − left: 300 − 303 = −3")
    assert in_tank(everything, "2026-09-03-big-blue.s1") == (
        "0.69 gal, worked out, not measured",
        "sum of the worked-out parts",
    )
    assert in_tank(everything, "2026-09-21-big-blue.s1") == ("not known", "what was captured is not read")
    assert in_tank(everything, "2026-09-17-big-blue.s2") == ("0 gal", "nothing of it was in a tank")


def test_where_nothing_is_said_of_the_water_nothing_is_said_of_the_tank() -> None:
    """No figure of what was captured: there is none of what is left over, and zero is not said."""
    silent = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "not known",
              "line": [{"line": "stop", "site": "my yard"}]}  # fmt: skip
    bench = Bench([]).put(REGISTERS).put(silent)
    assert in_tank(bench, OURS) == ("not known", "what was captured is not recorded yet")


def test_a_job_of_a_load_of_its_own_and_a_shared_one_adds_what_both_leave_over() -> None:
    """The figure of its own load and its part of the shared one, said to be worked out."""
    night = {"rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "see lines", "id": "n"}
    job = {"name": "both", "client": "Mine"}
    lines = [
        {"line": "reading", "of": "tank", "shows": "empty"},
        {"line": "stop", "site": "my yard", "job": "both"},
        {"line": "reading", "of": "tank", "shows": "200 gal"},
        {"line": "hand over", "place": "plant", "amount": "203 gal", "tank_after": "empty"},
        {"line": "stop", "site": "my yard", "job": "both", "recovered": "100 gal"},
        {"line": "stop", "site": "their yard", "recovered": "100 gal"},
        {"line": "reading", "of": "tank", "shows": "200 gal"},
        {"line": "hand over", "place": "plant", "amount": "190 gal", "tank_after": "empty"},
    ]
    bench = Bench([]).put({**REGISTERS, "job": [job]}).put({**night, "line": lines})
    amount, how = in_tank(bench, "both")
    assert (amount, how) == ("2.00 gal, worked out, not measured", "sum of the worked-out parts")


def film(bench: Bench, job: str, **options: Any) -> tuple[str, str]:
    """What a proof says of the film: amount, how."""
    rows = [row for one in proof(bench, job, **options).blocks if isinstance(one, Table) for row in one.rows]
    (row,) = [row for row in rows if row[0].text == "Film on it, an assumption"]
    return row[1].text, row[2].text


@pytest.mark.parametrize(
    ("area", "said"),
    [
        (None, ("not recorded yet", "the area is not recorded yet")),
        ("not read", ("not read", "the area is not read")),
        ("not applicable", ("not applicable", "the area is not applicable")),
        ("at least 900 sq ft", ("not known", "no single area on record")),
        ("1000 sq ft", ("0 to 62 gal", "area × 0 to 0.10 in, from rain")),
    ],
)
def test_the_film_says_which_answer_stands_for_the_area(area: str | None, said: tuple[str, str]) -> None:
    """Four answers, not one: an area that is only not recorded yet is not called unknown."""
    stop = {"line": "stop", "site": "my yard", **({"area": area} if area else {})}
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard"}
    assert film(Bench([]).put(REGISTERS).put({**night, "line": [stop]}), OURS) == said


def test_after_the_month_was_closed_the_area_is_not_recorded(september: Bench) -> None:
    """What was 'not yet' is so no more; work that was not done has no film at all."""
    assert film(september, "2026-09-23-little-heron.s1", closed=True) == ("not recorded", "the area is not recorded")
    assert film(september, "2026-09-18-big-blue.s1") == ("not applicable", "no work was done")


def test_the_film_of_a_book_in_litres_is_in_litres() -> None:
    """100 m² × 2.54 mm is 254 L, as a reader works it out."""
    registers = {**REGISTERS, "business": {"name": "B", "unit": "L", "zone": "America/Denver"}}
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
             "line": [{"line": "stop", "site": "my yard", "area": "100 m2"}]}  # fmt: skip
    assert film(Bench([]).put(registers).put(night), OURS)[0] == "0 to 254 L"


def test_what_is_not_recorded_says_what_it_is_that_is_not() -> None:
    """'Wharf Hall lot, not recorded yet' leaves a reader to guess; two of them in a row say nothing at all."""
    bench = sample().put({"place": [{"name": "Mole station", "kind": "receiving station"}]})
    line = [{"line": "stop", "site": "Wharf Hall lot"},
            {"line": "hand over", "place": "Mole station", "amount": "90 gal"}]  # fmt: skip
    bench.put({"rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-20", "where": "see lines", "line": line})
    page = proof(bench, "2026-09-20-big-blue.s1")
    facts = {fact.label: fact.value for fact in page.facts}
    assert facts["Site"] == "Wharf Hall lot, address: not recorded yet"
    assert facts["Surface, area"] == "surface: not recorded yet, area: not recorded yet"
    assert any("kind of connection: not recorded yet" in text for text in texts(page))


def test_a_reader_has_the_sizes_of_the_tank_whose_marks_were_read(one_stop: Bench) -> None:
    """26.5 in × 66 in × 50 in ÷ 231 is what stands as captured, and its ± is 2 √(3.786² + 3.571²) ÷ √3 = 6.0."""
    said = "\n".join(
        one for block_ in proof(one_stop, ONE_STOP).blocks if isinstance(block_, Bullets) for one in block_.items
    )
    assert (
        "Big Blue recovery: rectangle, inside length 66 in, inside width 50 in, inside depth 35 in, "
        "smallest mark 0.5 in, limit of error of its table 1 %. 231 cubic inches are a gallon."
        in said.replace("\u00a0", " ")
    )
    assert "the limit of error of what measured it, and half of its smallest step at each reading" in said


def test_a_reader_can_make_the_plus_minus_of_a_metered_figure_again(one_stop: Bench) -> None:
    """From the page alone: 437 gal between two readings of a meter of 1.5 % whose smallest step is 1 gal, ± 7.6."""
    page = proof(one_stop, ONE_STOP)
    said = " ".join(texts(page)).replace("\u00a0", " ")
    by = re.search(r"Big Blue supply meter \(stated limit of error ([0-9.]+) %; smallest step ([0-9.]+) gal\)", said)
    assert by is not None
    limit, step = float(by[1]) / 100, float(by[2])
    doubt = math.sqrt((437 * limit) ** 2 + 2 * (step / 2) ** 2)
    assert f"437.0 ± {2 * doubt / math.sqrt(3):.1f} gal" in said


def test_a_meter_of_another_clients_site_is_not_named() -> None:
    """The run as a whole was measured by it; its own client reads its name, the other does not."""
    meter = {"name": "Quillon counter meter", "kind": "meter", "measures": "supply", "unit": "gal"}
    bench = sample().put({"site": [{"name": "Wharf Hall"}], "instrument": [{**meter, "site": "Quillon Fish Counter"}]})
    stops = [{"line": "stop", "site": "Quillon Fish Counter", "client": "Quillon"},
             {"line": "stop", "site": "Wharf Hall", "client": "Wharf"}]  # fmt: skip
    used = {"method": "meter", "meter": "Quillon counter meter", "start": "10", "end": "90"}
    bench.put({"rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-20", "where": "aboard", "used": used,
               "line": stops})  # fmt: skip
    own, other = (" ".join(texts(proof(bench, f"2026-09-20-big-blue.s{n}"))) for n in (1, 2))
    assert "Quillon counter meter (" in own
    assert "Quillon" not in other


def test_each_kind_of_instrument_says_what_its_figures_are_made_of(everything: Bench) -> None:
    """A flow test has a flow and no step, a vessel a size; one that nothing is stated of says so."""
    jobs = {stop.job for run in everything.night.runs.values() for stop in run.stops}
    said = "\n".join(text for job in jobs for text in texts(proof(everything, job))).replace("\u00a0", " ")
    for told in (
        "Little Heron flow test (flow found by the test",
        "25-gal tub (size of the vessel 25 gal; stated limit of error 2 %)",
        "receiving station scale (stated limit of error 0.5 %; smallest step 20 lb)",
    ):
        assert told in said


def test_a_reader_can_make_the_plus_minus_of_a_sum_again(everything: Bench) -> None:
    """Three nights by one flow test of 5 %: 264 ± 15, and not the ± 8.9 of three that share nothing."""
    said = " ".join(texts(proof(everything, "Harbor deck, three nights"))).replace("\u00a0", " ")
    assert "what two figures share (one instrument, one reading) is added or taken off before it is squared" in said
    by = re.search(
        r"Little Heron flow test \(flow found by the test 4.8 gal/min; stated limit of error ([0-9.]+) %", said
    )
    assert by is not None
    shared = sum(one * float(by[1]) / 100 for one in (105.6, 76.8, 81.6))
    assert f"264 ± {2 * shared / math.sqrt(3):.0f} gal" in said


def test_a_reader_can_make_the_plus_minus_of_fills_to_the_float_again(everything: Bench) -> None:
    """From the page alone: three fills, and twice a full tank; the repeat counts at each, the limit of error once."""
    page = proof(everything, "2026-09-23-slate-gull.s1")
    said = " ".join(texts(page)).replace("\u00a0", " ")
    made = {}
    for tank in ("fresh", "recovery"):
        by = re.search(
            rf"Slate Gull {tank} \(capacity to the float ([0-9.]+) gal; repeat of the float ([0-9.]+) gal; "
            r"limit of error of its table ([0-9.]+) %\)",
            said,
        )
        assert by is not None
        made[tank] = [float(by[1]), float(by[2]), float(by[3]) / 100]
    assert "the repeat of the float counts at each fill" in said
    for (capacity, repeat, limit), times in ((made["fresh"], 3), (made["recovery"], 2)):
        doubt = math.sqrt((times * capacity * limit) ** 2 + times * repeat**2)
        assert f"{times * capacity:.0f} ± {2 * doubt / math.sqrt(3):.0f} gal" in said


def test_a_float_is_told_only_where_it_measured_something(one_stop: Bench) -> None:
    """Elsewhere a capacity is no part of any sum on the page; a tank of no stated limits says so."""
    assert "to the float" not in " ".join(texts(proof(one_stop, ONE_STOP)))
    bench = sample().put({"tank": [{"name": "Drum", "rig": "Big Blue", "role": "fresh", "capacity": "50 gal"}]})
    bench.put({"rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-20", "where": "aboard",
               "used": {"method": "fills", "tank": "Drum", "times": "2"},
               "line": [{"line": "stop", "site": "Old Depot Market"}]})  # fmt: skip
    said = " ".join(texts(proof(bench, "2026-09-20-big-blue.s1"))).replace("\u00a0", " ")
    assert (
        "Drum (capacity to the float 50 gal; repeat of the float not recorded yet; "
        "limit of error of its table not recorded yet)" in said
    )


def test_a_load_that_its_ticket_refuses_is_said_and_awaited() -> None:
    """The tank is empty, and the other side says that it took nothing: no page calls that complete."""
    bench = sample("case-08-hauler-ticket")
    refused = {"kind": "ticket", "number": "DF-1", "place": "Dry Fork Hauling", "refused": "foam", "who": "Ruth Okafor",
               "handovers": [{"run": "2026-09-07-big-blue", "line": "3"}]}  # fmt: skip
    bench.put(refused)
    page = proof(bench, "2026-09-07-big-blue.s1", findings=findings_of(bench))
    assert any("refused the water: foam" in text for text in texts(page))
    (items,) = [one for one in page.blocks if isinstance(one, OpenItems)]
    assert any("A load was refused" in item for item in items.items)


def drains(bench: Bench, job: str) -> str:
    """The sentence under 'Storm drains'."""
    said = [one.text for one in proof(bench, job).blocks if isinstance(one, Paragraph)]
    return next(one for one in said if one.startswith("Storm drains: "))


def test_the_drains_say_what_holds_at_this_stop(september: Bench) -> None:
    """'Except' is an answer of the whole night; a page of one stop says whether the exception was there."""
    assert drains(september, "2026-09-21-big-blue.s1") == (
        "Storm drains: not as planned at this stop; each drain is listed here."
    )
    assert drains(september, "2026-09-21-big-blue.s2") == (
        "Storm drains: as planned at this stop; the exception that night was at another."
    )


@pytest.mark.parametrize(
    ("stop", "said"),
    [
        ({}, "as planned with an exception; at which stop: not recorded yet"),
        ({"drains": "except"}, "not as planned at this stop; what was different: not recorded yet"),
        ({"drains": "except", "remark": "the north mat was short"},
         "not as planned at this stop: the north mat was short"),
        ({"drains": "none there"}, "none there"),
    ],
)  # fmt: skip
def test_an_exception_without_a_stop_or_without_a_word_says_what_is_missing(stop: Mapping[str, str], said: str) -> None:
    """Nothing is called as planned that might have been the exception."""
    night = {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
             "drains": "except", "line": [{"line": "stop", "site": "my yard", **stop}]}  # fmt: skip
    assert drains(Bench([]).put(REGISTERS).put(night), OURS) == f"Storm drains: {said}."


def accepted_items(bench: Bench, **options: Any) -> list[str]:
    """What is awaited of what a place accepted."""
    items = block(proof(bench, OURS, **options), OpenItems).items
    return [one.replace("\u00a0", " ") for one in items if one.endswith("Accepted by them")]


@pytest.mark.parametrize(
    ("told", "waits"),
    [
        ({"ticket": "R-1"}, True),
        ({"ticket": "R-1", "accepted": "98 gal"}, False),
        ({"ticket": "R-1", "accepted": "not applicable"}, False),
        ({"ticket": "later"}, False),
        ({"ticket": "not applicable"}, False),
        ({"ticket": "R-1", "refused": "foam"}, False),
        ({}, False),
    ],
)
def test_a_ticket_without_their_volume_is_awaited(told: Mapping[str, str], waits: bool) -> None:
    """'Accepted: not recorded yet' and 'nothing is awaited' do not stand on one page."""
    gone = {"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty"}
    bench = own_night({**gone, **told})
    assert accepted_items(bench) == ["Handover at plant, Sep 1, 2026: Accepted by them"] * waits
    if waits:
        assert block(proof(bench, OURS, closed=True), OpenItems).items == (
            "Handover at plant, Sep 1, 2026, not recorded: Accepted by them",
        )


def test_a_ticket_that_came_later_answers_for_their_volume_or_waits_too() -> None:
    """A paper without an amount is still waited for; the line's own figure is enough beside it."""
    gone = {"line": "hand over", "place": "plant", "amount": "100 gal", "tank_after": "empty", "ticket": "later"}
    paper = {"kind": "ticket", "number": "T-1", "handovers": [{"run": "2026-09-01-big-blue", "line": "3"}]}
    assert accepted_items(own_night(gone).put(paper)) == ["Handover at plant, Sep 1, 2026: Accepted by them"]
    assert accepted_items(own_night(gone).put({**paper, "accepted": "97 gal"})) == []
    bench = own_night({**gone, "accepted": "98 gal"}).put(paper)
    assert accepted_items(bench) == []
    assert "accepted: 98 gal\n" in block(proof(bench, OURS), Table).rows[0][3].text


@pytest.mark.parametrize(
    ("typed", "how"), [("300 L", "stated: 300 L"), ("~0.3 m3", "stated: ~0.3 m³"), ("80 gal", "stated")]
)
def test_what_was_stated_in_another_unit_is_printed_as_it_was_typed(typed: str, how: str) -> None:
    """The amount stands in the unit of the book, and beside it what somebody wrote."""
    night = own_night(where="aboard", used=typed)
    assert water_of(night)["Used (fresh water drawn)"] == how


def water_of(bench: Bench) -> Mapping[str, str]:
    """What -> how it was read."""
    rows = [row for one in proof(bench, OURS).blocks if isinstance(one, Table) for row in one.rows if len(row) == 4]
    return {row[0].text: row[2].text for row in rows}
