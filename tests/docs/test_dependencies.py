"""The table of dependencies in DEVELOPERS.md is that of pyproject.toml."""

from __future__ import annotations

import re
import tomllib

from compliance.devtools.here import ROOT

_ROW = re.compile(
    r"^\| (?:\*\w+:\* )?(?P<name>[a-z][\w-]*) \| (?P<why>.+?) \| (?P<licence>.+?) \| >= (?P<least>[\d.]+)", re.M
)


def test_every_dependency_stands_there_with_why_licence_and_the_same_range() -> None:
    """Those of use, of tests, of development and of the build; and none that is asked for no more."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
    asked = [
        *project["project"]["dependencies"],
        *(one for group in project["project"]["optional-dependencies"].values() for one in group),
        *project["build-system"]["requires"],
    ]
    table = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").partition("## Dependencies")[2].partition("\n## ")[0]
    told = {row["name"]: row["least"] for row in _ROW.finditer(table)}
    assert told == dict(one.split(">=") for one in asked)
