"""The rows of old books on a summary: a block of their own, stated, in no sum."""

from __future__ import annotations

from typing import Any

from compliance.records import kinds
from compliance.records.envelope import Entry
from compliance.reports.client import client_page
from compliance.reports.imprint import Imprint
from compliance.reports.model import Heading, Page, Table
from compliance.reports.touched import touched
from compliance.reports.words import LANGUAGES
from tests.reports.making import Bench, figures_of, keep, keep_month, sample, texts
from tests.reports.test_month import month

OLD = ("2021-09-01", "2021-09-30")


def with_rows(*rows: dict[str, Any]) -> Bench:
    """The book of case 1, and rows of a spreadsheet from before it."""
    return add(sample("case-01-one-stop"), *rows)


def add(bench: Bench, *rows: dict[str, Any]) -> Bench:
    for row in rows:
        n = len(bench.records) + 1
        held = {"fields": row, "typed": {}, "method": kinds.OLD_METHOD, "file": "old.xlsx", "sha256": "a" * 64,
                "sheet": "2021", "row": n, "mapping": "b" * 64, "who": "Priya Lund"}  # fmt: skip
        bench.add(Entry(f"{n:032x}", kinds.OLD_ROW, row["date"], "2026-09-01T08:00:00-06:00", held), "2026-09-01")
    return bench


def old_table(page: Page, title: str = "From before this book") -> Table:
    at = next(i for i, one in enumerate(page.blocks) if isinstance(one, Heading) and one.text == title)
    found = page.blocks[at + 1]
    assert isinstance(found, Table)
    return found


def cells(page: Page) -> list[list[str]]:
    return [[cell.text for cell in row] for row in old_table(page).rows]


ROWS = (
    {"date": "2021-09-03", "client": "Alder Oven Bakery", "used": "450 gal", "recovered": "400 gal"},
    {"date": "2021-09-10", "client": "alder oven bakery", "used": "~300 gal"},
    {"date": "2021-09-11", "used": "not read", "recovered": "not read"},
    {"date": "2021-10-01", "client": "Alder Oven Bakery", "used": "9 gal"},
)


def test_old_rows_stand_apart_by_month_and_client() -> None:
    """Stated sums, rows without a figure counted and never added, 'about' said; other months are not there."""
    page = month(with_rows(*ROWS), *OLD)
    assert cells(page) == [
        ["Sep 2021", "no client named", "1", "–", "1 not read", "–", "1 not read"],
        ["Sep 2021", "Alder Oven Bakery", "2", "750", "1 said with 'about'", "400", "1 not recorded"],
    ]
    assert old_table(page).note.startswith("Stated in an old file, method unknown.")
    assert "No run is on record." in texts(page)


def test_old_rows_are_in_no_other_figure_of_the_page() -> None:
    """The rest of the page is the same with them and without."""
    rows = ({"date": "2026-09-02", "client": "Alder Oven Bakery", "used": "4500 gal", "recovered": "4000 gal"},)
    with_them, without = month(with_rows(*rows)), month(sample("case-01-one-stop"))
    at = next(i for i, one in enumerate(with_them.blocks) if isinstance(one, Heading) and "before" in one.text)
    assert (*with_them.blocks[:at], *with_them.blocks[at + 2 :]) == without.blocks


def test_a_month_without_old_rows_has_no_block_of_them() -> None:
    """In neither language."""
    for language in LANGUAGES:
        page = month(sample("case-01-one-stop"), language=language)
        assert not any("before this book" in text or "antes de este libro" in text for text in texts(page))


def test_a_client_sees_its_own_old_rows_and_nobody_elses() -> None:
    """With visits in the span and without."""
    bench = with_rows(*ROWS, {"date": "2021-09-04", "client": "Hillrow Hospital", "used": "77 gal"})
    for last in ("2021-09-30", "2026-09-30"):
        page = client_page(bench.state, bench.night, (), "Alder Oven Bakery", "2021-09-01", last,
                           Imprint("a-1", "2026-10-02"))  # fmt: skip
        assert cells(page)[0] == [
            "Sep 2021", "Alder Oven Bakery", "2", "750", "1 said with 'about'", "400", "1 not recorded",
        ]  # fmt: skip
        assert not any("Hillrow" in text or "77" in text for row in cells(page) for text in row)


def test_old_rows_that_are_imported_later_touch_the_pages_that_lacked_them() -> None:
    """A closed month of the old years, a client's summary; each figure as it was printed and as it is."""
    bench = with_rows(ROWS[0])
    owner = keep_month(bench, *OLD)
    client = keep(bench, "client", "Alder Oven Bakery 2021-09-01..2021-09-30", "Alder Oven Bakery",
                  figures_of(bench).of_client("Alder Oven Bakery", *OLD))  # fmt: skip
    add(bench, ROWS[1])
    found = {one.page.number: one.figures for one in touched(figures_of(bench))}
    name = "old/2021-09/Alder Oven Bakery/used"
    assert set(found) == {owner, client}
    assert found[owner][name] == ("450.00 in 1 rows, 0 without", "750.00 in 2 rows, 0 without")
