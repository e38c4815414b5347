"""The proof of recovery: what stands on it, and what never does."""

from __future__ import annotations

import re
from typing import Any

import pytest

from compliance.reports import html, pdf
from compliance.reports.model import Bullets, Cell, Fact, OpenItems, Paragraph, Statement, Table, WaterPath
from compliance.reports.page_json import from_json, to_json
from tests.reports.making import HEAD, Bench, close_month, findings_of, keep_month, pdf_texts, proof, sample, texts
from tests.reports.proofs import (
    ONE_STOP,
    OURS,
    TWO_CLIENTS,
    attach,
    block,
    fact,
    others_names,
    own_night,
    shared_night,
    tables,
    water,
)

LANGUAGES = ("en", "es")


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
    """The signer is the business's own."""
    said = block(proof(one_stop, ONE_STOP), Statement)
    assert said == Statement(
        "These are our records of this job as of October 2, 2026; they do not replace a permit or an inspection; "
        "the local permit governs.",
        "Ruth Okafor",
        "Owner",
        "Oct 2, 2026",
    )
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


def test_a_permission_out_of_force_or_out_of_the_files_says_so() -> None:
    """Expired, unnamed, unfiled and not needed are four different sentences, and none of them is a verdict."""
    registers = {
        **TWO_CLIENTS,
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


def test_two_stops_of_one_night_are_told_apart_by_number() -> None:
    """Several stops of a job on one night carry their numbers."""
    bench = Bench([]).put({**TWO_CLIENTS, "job": [{"name": "big job", "client": "Mine"}]}).put(
        {"id": "n", "rig": "Big Blue", "lead": "Marisol Vega", "date": "2026-09-01", "where": "aboard",
         "line": [{"line": "stop", "site": "my yard", "job": "big job", "agents": [{"agent": "soap"}]},
                  {"line": "stop", "site": "my yard", "job": "big job"}]}
    )  # fmt: skip
    (agents,) = tables(proof(bench, "big job"))
    assert agents == [["Sep 1, 2026, stop 1", "soap", "not recorded yet", "not recorded yet", "not recorded yet",
                       "not recorded yet"]]  # fmt: skip


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
