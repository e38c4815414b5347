"""The picture of the water's way: every place drawn once, apart from the others, nothing cut for good."""

from __future__ import annotations

from itertools import pairwise

import pytest

from compliance.reports.model import Cell, WaterFlow, WaterNode, WaterPath
from compliance.reports.picture import Label, Line, Rect, path_table, water_path
from compliance.reports.text import word

from . import sample_pages as samples

WIDTHS = [236, 340, 440, 500, 520]


def _two_rigs() -> WaterPath:
    nodes = [WaterNode("rest", "unexplained", "Not explained", Cell("-3 ± 9 gal", "-3", "gal", "9"))]
    flows = []
    for rig in ("A", "B"):
        nodes += [
            WaterNode(f"bib{rig}", "supply", f"Hydrant {rig}", samples.gal("900")),
            WaterNode(f"used{rig}", "used", f"Used, rig {rig}", samples.gal("900")),
            WaterNode(f"tank{rig}", "captured", f"Tank {rig}", samples.gal("800")),
            WaterNode(f"sewer{rig}", "place", f"Cleanout {rig}", samples.gal("600")),
            WaterNode(f"aboard{rig}", "aboard", f"Aboard {rig}", samples.gal("200")),
        ]
        flows += [
            WaterFlow(f"bib{rig}", f"used{rig}", samples.gal("900")),
            WaterFlow(f"used{rig}", f"tank{rig}", samples.gal("800")),
            WaterFlow(f"tank{rig}", f"sewer{rig}", samples.gal("600")),
            WaterFlow(f"tank{rig}", f"aboard{rig}", samples.gal("200")),
            WaterFlow(f"tank{rig}", f"used{rig}", Cell("used again, not read")),
            WaterFlow(f"used{rig}", "rest", Cell("cannot tell")),
        ]
    return WaterPath("Way", tuple(nodes), tuple(flows))


@pytest.mark.parametrize("path", [samples.water_path(), _two_rigs()])
@pytest.mark.parametrize("width", WIDTHS)
def test_every_place_is_a_box_of_its_own(path, width):
    """As many boxes as places, inside the frame, none over another."""
    drawing = water_path(path, width, "en")
    boxes = [shape for shape in drawing.shapes if isinstance(shape, Rect)]
    assert len(boxes) == len(path.nodes)
    for at, one in enumerate(boxes):
        assert one.x >= 0
        assert one.y >= 0
        assert one.x + one.w <= width
        assert one.y + one.h <= drawing.height
        for other in boxes[at + 1 :]:
            apart_across = one.x + one.w <= other.x or other.x + other.w <= one.x
            apart_down = one.y + one.h <= other.y or other.y + other.h <= one.y
            assert apart_across or apart_down


@pytest.mark.parametrize("width", WIDTHS)
def test_every_label_and_amount_is_drawn(width):
    """The words of a box, its lines joined, are the node's."""
    path = samples.water_path()
    drawn = " ".join(shape.text for shape in water_path(path, width, "en").shapes if isinstance(shape, Label))
    for node in path.nodes:
        assert node.label in drawn
        assert node.amount.text in drawn


@pytest.mark.parametrize("width", WIDTHS)
def test_an_arrow_stays_inside_the_frame_and_is_dashed_when_its_amount_is_not_known(width):
    """One line a flow; dashes are explained in words underneath."""
    path = _two_rigs()
    drawing = water_path(path, width, "en")
    lines = [shape for shape in drawing.shapes if isinstance(shape, Line)]
    assert len(lines) == len(path.flows)
    assert sum(bool(line.dash) for line in lines) == sum(flow.amount.number is None for flow in path.flows)
    assert all(0 <= x <= width and 0 <= y <= drawing.height for line in lines for x, y in line.points)
    assert word("amount unknown", "en") in drawing.notes


def _past_the_tank(*ends: str, captured: str = "Captured") -> WaterPath:
    """Nothing left the tank: what was used reached its ends without it."""
    nodes = [
        WaterNode("used", "used", "Used", samples.gal("300")),
        WaterNode("captured", "captured", captured, Cell("not applicable")),
        *(WaterNode(end, "away", end, Cell("not read")) for end in ends),
    ]
    flows = [WaterFlow("used", other, Cell("not read")) for other in ("captured", *ends)]
    return WaterPath("Way", tuple(nodes), tuple(flows))


@pytest.mark.parametrize(
    "path",
    [
        samples.water_path(),
        _two_rigs(),
        _past_the_tank("Led away"),
        _past_the_tank("Led away", "Not explained, at the wash"),
        _past_the_tank("Led away", captured="Captured in the tank of the trailer that came along, worked out"),
    ],
)
@pytest.mark.parametrize("width", [440, 520])
def test_no_arrow_runs_through_a_box(path, width):
    """What was led away without the tank would seem to come out of it."""
    drawing = water_path(path, width, "en")
    boxes = [shape for shape in drawing.shapes if isinstance(shape, Rect)]
    tracks = [shape for shape in drawing.shapes if isinstance(shape, Line)]
    assert len(tracks) == len(path.flows)
    for track in tracks:
        for (x0, y0), (x1, y1) in pairwise(track.points):
            for box in boxes:
                across = min(x0, x1) < box.x + box.w - 1 and max(x0, x1) > box.x + 1
                down = min(y0, y1) < box.y + box.h - 1 and max(y0, y1) > box.y + 1
                assert not (across and down)


def test_a_label_too_long_for_its_box_stands_in_full_underneath():
    """An ellipsis in the picture, all the words in the notes."""
    long = "Sanitary sewer cleanout " * 12
    path = WaterPath("Way", (WaterNode("a", "place", long, samples.gal("5")),), (), note="A note.")
    drawing = water_path(path, 500, "en")
    assert any(isinstance(shape, Label) and shape.text.endswith("…") for shape in drawing.shapes)
    assert f"{long}: 5 gal" in drawing.notes
    assert "A note." in drawing.notes


def test_a_path_without_places_is_an_empty_drawing():
    """Nothing to draw is not an error."""
    assert water_path(WaterPath("Way", (), ()), 500, "en").shapes == ()


def test_the_picture_as_a_table_names_each_flow_and_each_place_without_one():
    """What the arrows say, in rows."""
    path = WaterPath(
        "Way",
        (*samples.water_path().nodes, WaterNode("rain", "supply", "Rain", Cell("not read"))),
        samples.water_path().flows,
    )
    rows = [[cell.text for cell in row] for row in path_table(path, "en").rows]
    assert ["Used through the guns", "Captured in recovery tank R1", "965 ± 14 gal"] in rows
    assert rows[-1] == ["Rain", "", "not read"]
