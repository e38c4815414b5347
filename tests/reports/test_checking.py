"""From a page alone its figures and their ± can be made again."""

from __future__ import annotations

import math
import re

from compliance.reports.model import Bullets
from tests.reports.making import Bench, proof, sample, texts
from tests.reports.proofs import ONE_STOP


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
