"""Branch coverage is judged room by room, and rounds nothing up."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from click.testing import CliRunner

from compliance.devtools.__main__ import devtools
from compliance.devtools.rooms import WHOLE, judge, rooms


def file_of(lines: tuple[int, int], branches: tuple[int, int], missing: tuple[int, ...] = ()) -> dict[str, Any]:
    """A file of a report: (hit, all) lines and branches."""
    return {
        "summary": {
            "num_statements": lines[1], "covered_lines": lines[0],
            "num_branches": branches[1], "covered_branches": branches[0],
        },
        "missing_lines": list(missing),
        "missing_branches": [[7, 9], [7, -1]] if branches[0] < branches[1] else [],
    }  # fmt: skip


def report(tmp_path: Path, **changed: Any) -> Path:
    """A report in which every room has what is wanted, but for what is changed."""
    files = {f"compliance/{room}/a.py": file_of((50, 50), (20, 20)) for room in ("records", "water", "rules", "book")}
    files["compliance/cli/a.py"] = file_of((90, 100), (9, 10), (3, 4, 5, 9))
    files["compliance/__init__.py"] = file_of((0, 0), (0, 0))
    files.update(changed.pop("files", {}))
    path = tmp_path / "coverage.json"
    path.write_text(json.dumps({"meta": {"branch_coverage": True}, "files": files} | changed), encoding="utf-8")
    return path


def test_rooms_with_what_is_wanted_pass(tmp_path: Path) -> None:
    """Everything in the four rooms that hold the figures, nine tenths elsewhere."""
    found = CliRunner().invoke(devtools, ["coverage", str(report(tmp_path))])
    assert found.exit_code == 0
    assert "TOO LITTLE" not in found.output and found.output.count("wanted 100 %") == 4


@pytest.mark.parametrize("room", WHOLE)
def test_one_branch_too_few_in_a_room_that_holds_the_figures_fails_and_is_named(room: str, tmp_path: Path) -> None:
    """However many others there are."""
    poor = {f"compliance/{room}/b.py": file_of((99_999, 99_999), (49_999, 50_000))}
    found = CliRunner().invoke(devtools, ["coverage", str(report(tmp_path, files=poor))])
    assert found.exit_code == 1
    assert found.output.count("TOO LITTLE") == 1
    assert f"compliance/{room}/b.py: branches 7->9/exit" in found.output


def test_elsewhere_nine_tenths_of_lines_and_of_branches_are_wanted(tmp_path: Path) -> None:
    """899 of 1,000 lines are too few, and so are 8 of 10 branches."""
    for lines, branches in (((899, 1000), (10, 10)), ((1000, 1000), (8, 10))):
        poor = {"compliance/reports/b.py": file_of(lines, branches, (3, 4, 5, 9))}
        found = {room.name: enough for room, enough in judge(report(tmp_path, files=poor))}
        assert found["reports"] is False and found["cli"] is True
    (room,) = [one for one in rooms(json.loads(report(tmp_path).read_text())) if one.name == "cli"]
    assert room.missing == ["compliance/cli/a.py: lines 3-5, 9; branches 7->9/exit"]


def test_a_report_that_cannot_be_judged_is_refused(tmp_path: Path) -> None:
    """Without branches, or without one of the rooms, it would pass on nothing."""
    with pytest.raises(ValueError, match="without branch coverage"):
        judge_all(report(tmp_path, meta={"branch_coverage": False}))
    path = report(tmp_path)
    kept = json.loads(path.read_text())
    del kept["files"]["compliance/water/a.py"]
    path.write_text(json.dumps(kept))
    with pytest.raises(ValueError, match="holds nothing of water"):
        judge_all(path)


def judge_all(path: Path) -> None:
    """Judge a report to its end."""
    list(judge(path))
