"""What a meter at the site counted of two rigs stands on every page of its work, and in the figure of neither rig."""

from __future__ import annotations

from typing import Any

import pytest

from compliance.cli.balances import of_run
from compliance.reports.model import Page, Table
from tests.cases import book_of, office_folders
from tests.reports.making import Bench, figures_of, keep, proof, texts
from tests.reports.test_client import summary
from tests.reports.test_month import month, rows, table
from tests.reports.test_watertable import REGISTERS, night, stop

JOB, CLIENT, FIRST, LAST = "Hillrow garage, two rigs", "Hillrow Hospital", "2026-11-01", "2026-11-30"
LABEL = "Used at the site, by its own meter"
NOTE = "which rig drew how much was not recorded"


@pytest.fixture(scope="module")
def two_rigs() -> Bench:
    """Case 4: 412 gal by the bib's meter, for two rigs."""
    (folder,) = [one for one in office_folders() if one.name.startswith("case-04")]
    return Bench(book_of(folder))


def row(page: Page, label: str = LABEL) -> list[str]:
    """The cells of the first row of that name."""
    tables = [one for one in page.blocks if isinstance(one, Table)]
    found = next(one for table in tables for one in table.rows if one[0].text == label)
    return [cell.text.replace("\u00a0", " ") for cell in found]


def test_a_proof_says_how_and_when_the_meter_at_the_site_was_read(two_rigs: Bench) -> None:
    """The line stands under the stops of either rig, which have no figure, and above their sum."""
    label, amount, how, reader = row(proof(two_rigs, JOB, issued="2026-11-20"))
    assert (label, amount, reader) == (LABEL, "412.0 ± 9.5 gal", "Tomás Ibarra")
    assert how == ("Hillrow bib meter: 4,822 − 4,410 = 412 gal; read Nov 12, 2026, 8:30 pm, 11:10 pm; " + NOTE)
    spanish = row(
        proof(two_rigs, JOB, issued="2026-11-20", language="es"), "Utilizada en el sitio, según su propio medidor"
    )
    assert spanish[2].endswith("no se anotó cuánta tomó cada camión")


def test_a_month_has_it_in_its_sums_and_beside_every_split_of_what_was_used(two_rigs: Bench) -> None:
    """Both runs are 'not read' in 'used'; the 412 stand on a line of their own, by client and by site too."""
    page = month(two_rigs, FIRST, LAST)
    water = rows(table(page, "Water of the span"))
    assert water[LABEL]["measured"].startswith("412.0 ± 9.5")
    assert water["Used (fresh water drawn)"]["no figure"] == "2 not read"
    for heading in ("By client", "By site"):
        assert rows(table(page, heading))[LABEL]["measured"].startswith("412.0 ± 9.5")
    assert any(NOTE in text for text in texts(page))
    assert not any(LABEL in text or NOTE in text for text in texts(month(two_rigs, "2026-10-01", "2026-10-31")))


def test_a_client_has_it_where_all_that_drew_is_this_clients(two_rigs: Bench) -> None:
    """The hospital has it; the diner, which one of the rigs went on to, hears nothing of it."""
    mine = summary(two_rigs, CLIENT, first=FIRST, last=LAST, issued="2026-12-01")
    assert row(mine)[1] == "412.0 ± 9.5"
    assert any(NOTE in text for text in texts(mine))
    theirs = summary(two_rigs, "Lantern Street Diner", first=FIRST, last=LAST, issued="2026-12-01")
    assert not any(LABEL in text or NOTE in text for text in texts(theirs))


def test_a_look_at_the_bib_that_is_corrected_touches_the_pages_that_printed_it() -> None:
    """The end was 4832: the job's proof, the client's summary and the month are listed, the diner's is not."""
    (folder,) = [one for one in office_folders() if one.name.startswith("case-04")]
    bench = Bench(book_of(folder))
    figures = figures_of(bench)
    first = next(run.record for run in bench.night.runs.values() if run.rig == "Slow Otter")
    keep(bench, "proof", JOB, JOB, figures.of_job(JOB), day="2026-11-20")
    keep(bench, "client", f"{CLIENT} {FIRST} {LAST}", CLIENT, figures.of_client(CLIENT, FIRST, LAST), day="2026-11-30")
    before = figures.of_month(FIRST, LAST)
    bench.put({"kind": "correct", "run": first, "line": "4", "field": "shows", "value": "4832",
               "reason": "read wrong", "why": "the photo shows 4832", "who": "Priya Lund"})  # fmt: skip
    now = figures_of(bench)
    changed = {name for name, text in now.of_job(JOB).items() if figures.of_job(JOB)[name] != text}
    assert changed == {"2026-11-12-slow-otter.s1/at site"}
    assert {name for name, text in now.of_month(FIRST, LAST).items() if before[name] != text} == {
        "sum/at_site/measured"
    }
    assert now.of_client("Lantern Street Diner", FIRST, LAST) == figures.of_client("Lantern Street Diner", FIRST, LAST)
    assert len(now.differing(bench.state.issued[0])) == 1


def test_a_balance_says_it_of_the_run_that_read_it(two_rigs: Bench) -> None:
    """It is on a line of its own, and not in the run's used."""
    (said,) = [
        [line for line in of_run(run, "gal", two_rigs.night.loads) if "at the site" in line]
        for run in two_rigs.night.runs.values() if run.rig == "Slow Otter"
    ]  # fmt: skip
    assert said == [
        "  used at the site by its own meter, with other rigs: 412.0 ± 9.5 gal  [meter: 4,822 - 4,410 = 412 gal]"
    ]


def test_two_looks_at_one_bib_that_differ_are_an_answer_without_a_figure() -> None:
    """One crew read 4410 and 4822, the other 4500 and 4822: nobody knows which of them brackets the work."""
    bib = {"name": "bib", "site": "my yard", "kind": "meter", "measures": "supply", "unit": "gal"}

    def crew(rig: str, start: str) -> dict[str, Any]:
        looks = [{"line": "reading", "of": "bib", "shows": shows} for shows in (start, "4822")]
        return night(looks[0], stop(job="both rigs", used="not read"), looks[1], id=rig, rig=rig)

    bench = Bench([]).put({**REGISTERS, "instrument": [bib]})
    for one in (crew("Big Blue", "4410"), crew("Little Heron", "4500")):
        bench.put(one)
    assert row(proof(bench, "both rigs"))[1:3] == [
        "not known", "two rigs read the meter at the site, and their figures differ",
    ]  # fmt: skip
    assert row(month(bench))[-1] == "1 not known"
